"""Patterns that leave files out: `profiles/base`, `profiles/*/draft-*.yaml`, `**/old`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path, PurePath
from typing import NamedTuple


class Exclusion(NamedTuple):
    """A pattern, and the folder that it starts from."""

    pattern: str
    folder: Path


def is_excluded(path: Path, exclusions: Sequence[Exclusion]) -> bool:
    """Say whether a file or folder is left out.

    Args:
        path: the file or folder, relative to the working directory or absolute.
        exclusions: what is left out, with everything below it.

    Returns:
        Whether any pattern matches the whole path from its folder.
    """
    if not exclusions:
        return False
    place = Path.cwd() / path
    return any(_matches(place, each) for each in exclusions)


def _matches(place: Path, exclusion: Exclusion) -> bool:
    import os.path

    whole = os.path.relpath(place, Path.cwd() / exclusion.folder)
    return _expression(exclusion.pattern).fullmatch(PurePath(whole).as_posix()) is not None


@cache
def _expression(pattern: str) -> re.Pattern[str]:
    """`*` and `?` stay within one name, `**` stands for any number of folders."""
    *before, last = [step for step in pattern.split("/") if step not in ("", ".")] or ["**"]
    text = "".join("(?:[^/]+/)*" if step == "**" else f"{_name(step)}/" for step in before)
    return re.compile(text + (".+" if last == "**" else _name(last)), re.DOTALL)


def _name(step: str) -> str:
    signs = {"*": "[^/]*", "?": "[^/]"}
    return "".join(signs.get(sign) or re.escape(sign) for sign in step)
