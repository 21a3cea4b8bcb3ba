"""Dotted paths: `charge_current.steps[0].max_A`."""

import re
from collections.abc import Iterable
from typing import Any

_PART = re.compile(r"\[(\d+)\]|([^.\[\]]+)")


def split(path: str) -> tuple[str | int, ...]:
    """Give the keys and list indices of a path.

    Args:
        path: Dotted path, list items in brackets counted from 0; "" for the whole document.

    Returns:
        Keys as text, indices as whole numbers.
    """
    return tuple(int(index) if index else key for index, key in _PART.findall(path))


def join(parts: Iterable[str | int]) -> str:
    """Write keys and list indices as a path.

    Args:
        parts: Keys as text, indices as whole numbers.

    Returns:
        The dotted path.
    """
    path = ""
    for part in parts:
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            path += f".{part}" if path else part
    return path


def parent(path: str) -> str:
    """Give the path of what a value stands in.

    Args:
        path: Dotted path.

    Returns:
        The path without its last key or index; "" for a first-level key.
    """
    return path[: max(path.rfind("."), path.rfind("["), 0)]


def copied(value: Any) -> Any:
    """Copy mappings and lists of plain data, so that a change does not reach the original.

    Args:
        value: Plain data.

    Returns:
        Its copy.
    """
    if isinstance(value, dict):
        return {key: copied(inner) for key, inner in value.items()}
    return [copied(inner) for inner in value] if isinstance(value, list) else value


def put(data: dict[str, Any], path: str, value: object) -> None:
    """Put a value at a path of plain data; whole floats become ints, for counts are whole.

    Args:
        data: The data, changed in place; mappings that are missing on the way are created.
        path: Dotted path.
        value: The new value.

    Raises:
        KeyError: if the path leads through something else than a mapping, or beyond a list.
    """
    *way, last = split(path)
    at: Any = data
    for part in way:
        if isinstance(part, str) and isinstance(at, dict):
            at = at.setdefault(part, {})
        elif isinstance(part, int) and isinstance(at, list) and part < len(at):
            at = at[part]
        else:
            raise KeyError(path)
    fits = isinstance(at, dict) if isinstance(last, str) else isinstance(at, list) and last < len(at)
    if not fits:
        raise KeyError(path)
    at[last] = int(value) if isinstance(value, float) and value.is_integer() else copied(value)
