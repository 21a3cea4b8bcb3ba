"""Tells a change in a base once, however many files it reaches; a program gets it told of each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from bmslint.gate.directions import DIRECTIONS
from bmslint.output.comparison.words import how_many

if TYPE_CHECKING:
    from bmslint.gate.compare import FileComparison

T = TypeVar("T")

AsToldOf = dict[str, dict[str, list[Any]]]
"""By the file that it was told of first: what a later file shares with it, by kind."""


def told_once(files: Iterable[FileComparison]) -> Iterator[tuple[FileComparison, list[tuple[str, str]]]]:
    """Take out of each file what was told of one before it.

    Args:
        files: in the order in which they are told.

    Yields:
        The file without settings and findings that came or went at the same place and in the same way in
        one before it, and then without facts that moved just as there; and for each such file its name and
        what is as told of it.
    """
    once = _Once()
    for file in files:
        shared: AsToldOf = {}
        rest = file._replace(
            settings=once.new(file.name, "settings", file.settings, shared),
            came=once.new(file.name, "came", file.came, shared),
            went=once.new(file.name, "went", file.went, shared),
        )
        facts = once.new(file.name, "facts", file.facts, shared if shared else {})
        if shared:
            rest = rest._replace(facts=facts)
        yield rest, [(name, _told(kinds)) for name, kinds in sorted(shared.items())]


class _Once:
    """What was told, and of which file."""

    def __init__(self) -> None:
        self._first: dict[tuple[str, str], str] = {}

    def new(self, file: str, kind: str, items: Sequence[T], shared: AsToldOf) -> tuple[T, ...]:
        """Give those that were not told before, and note the others."""
        fresh = []
        for each in items:
            teller = self._first.setdefault((kind, repr(each)), file)
            if teller == file:
                fresh.append(each)
            else:
                shared.setdefault(teller, {}).setdefault(kind, []).append(each)
        return tuple(fresh)


def _told(kinds: dict[str, list[Any]]) -> str:
    parts = []
    if settings := kinds.get("settings"):
        towards = [each.direction for each in settings]
        counts = ", ".join(f"{towards.count(each)} {each}" for each in DIRECTIONS if each in towards)
        parts.append(f"{len(settings)} setting{'' if len(settings) == 1 else 's'} ({counts})")
    for kind in ("came", "went"):
        if findings := kinds.get(kind):
            parts.append(f"{how_many(findings)} that {kind}")
    if facts := kinds.get("facts"):
        parts.append(f"{len(facts)} fact{'' if len(facts) == 1 else 's'} that moved")
    return ", ".join(parts)
