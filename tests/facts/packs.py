"""Profiles as plain data, changed by path and validated again."""

from functools import cache
from typing import Any

from bmslint.data import rules_dir
from bmslint.facts import Facts, derive
from bmslint.limits import load_limits
from bmslint.settings import Document, read, revalidated

FOLDER = rules_dir().parent / "profiles"
PROFILES = sorted(path.stem for path in FOLDER.glob("*.yaml"))


@cache
def of_profile(stem: str) -> Document:
    document = read(FOLDER / f"{stem}.yaml")
    assert document.problems == ()
    return document


def changed(document: Document, changes: dict[str, Any]) -> Document | None:
    """Give the document with values changed, None where the format refuses them."""
    result = revalidated(document, changes)
    return None if result.problems else result


def derived(document: Document | None) -> Facts:
    assert document is not None
    return derive(document.data, load_limits(document.data))


def numbers(document: Document) -> list[tuple[str, float]]:
    """Every number of the settings with its path."""
    found: list[tuple[str, float]] = []

    def walk(node: Any, path: str) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                walk(value, f"{path}.{key}" if path else key)
        elif isinstance(node, list):
            for index, value in enumerate(node):
                walk(value, f"{path}[{index}]")
        elif isinstance(node, float):
            found.append((path, node))

    walk(document.data, "")
    return found
