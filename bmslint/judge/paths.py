"""Dotted paths with brackets, walked through plain data."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, reduce
from typing import Any, NamedTuple

_STEP = re.compile(r"(?:^|\.)([^.\[\]]+)|\[(\d+|\*)\]")


@cache
def steps(path: str) -> tuple[str | int, ...]:
    """Split a path.

    Args:
        path: such as `charge_current.steps[0].max_A`; `*` and `[*]` stay as `"*"` and -1.

    Returns:
        Keys as text, list positions counted from 0, -1 for every item of a list.
    """
    return tuple(
        match.group(1) or (-1 if match.group(2) == "*" else int(match.group(2)))
        for match in _STEP.finditer(path)
    )


class Nothing(NamedTuple):
    """There is no value at a path; `none_at` names the part that the file declares as `none`."""

    none_at: str | None = None


def walk(data: Any, path: str) -> Any | Nothing:
    """Look up a path.

    Args:
        data: plain mappings and lists.
        path: a path without wildcards.

    Returns:
        The value, or Nothing.
    """
    here = data
    for number, step in enumerate(steps(path)):
        if isinstance(here, dict):
            there = step in here
        else:
            there = isinstance(here, list) and isinstance(step, int) and step < len(here)
        if not there:
            return Nothing(reduce(joined, steps(path)[:number], "") if here == "none" else None)
        here = here[step]
    return here


def joined(path: str, step: str | int) -> str:
    """Append one step to a path.

    Args:
        path: a path, may be empty.
        step: a key, or a list position counted from 0.

    Returns:
        The longer path.
    """
    if isinstance(step, int):
        return f"{path}[{step}]"
    return f"{path}.{step}" if path else step


def matches(data: Any, pattern: str) -> Iterator[tuple[str, str | float, Any]]:
    """Find every place that a path with wildcards names.

    Args:
        data: plain mappings and lists.
        pattern: a path in which `*` stands for any key of a mapping and `[*]` for any item of a list.

    Yields:
        Path, last key (a list position as a float, as the engine wants) and value, in file order.
    """
    yield from _match(data, steps(pattern), "", "")


def _match(
    data: Any, rest: tuple[str | int, ...], path: str, key: str | float
) -> Iterator[tuple[str, str | float, Any]]:
    if not rest:
        yield path, key, data
        return
    step, after = rest[0], rest[1:]
    if step == "*" and isinstance(data, dict):
        for name, value in data.items():
            yield from _match(value, after, joined(path, name), name)
    elif step == -1 and isinstance(data, list):
        for i, value in enumerate(data):
            yield from _match(value, after, joined(path, i), float(i))
    elif isinstance(data, dict) and step in data:
        yield from _match(data[step], after, joined(path, step), str(step))
    elif isinstance(data, list) and isinstance(step, int) and 0 <= step < len(data):
        yield from _match(data[step], after, joined(path, step), float(step))


def fixed_part(pattern: str) -> str:
    """Give the part of a pattern before its first wildcard.

    Args:
        pattern: such as `sensors.*` or `charge_paths[*].obeys`.

    Returns:
        The path, such as `sensors`.
    """
    path = ""
    for step in steps(pattern):
        if step in ("*", -1):
            break
        path = joined(path, step)
    return path
