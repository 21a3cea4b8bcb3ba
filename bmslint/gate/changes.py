"""Which settings differ between two files, and what each change does to safety."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.gate.directions import ABSENT, DIRECTIONS, OPPOSITE, Direction, direction, row_of
from bmslint.judge.identity import entry_names
from bmslint.judge.paths import joined

if TYPE_CHECKING:
    from bmslint.settings.places import Position
    from bmslint.settings.reader import Document

CURVES = ("less current", "earlier trips")
KEPT_BY_THE_FILE = ("accepted", "not_applicable")
"""Lists of the file's own entries; left out they are empty."""


class SettingChange(NamedTuple):
    """A setting that differs; a value is None where the setting is left out.

    `path` calls entries of lists by their names; `place` is where the setting stands in the new file, or
    stood in the old one where it is gone.
    """

    path: str
    was: Any
    now: Any
    direction: Direction
    why: str
    place: Position
    in_new: bool


_Match = tuple[str, int | None, int | None]
"""What an entry of a list is called, and its place before and after; None where it was not there."""

_Beside = tuple[Mapping[str, Any], Mapping[str, Any]]
"""What a setting stands in, before and after."""


class _Here(NamedTuple):
    """A path as it is told, and as it leads into each of the two files."""

    named: str
    old: str
    new: str

    def below(self, key: str) -> _Here:
        return _Here(*(joined(path, key) for path in self))

    def entry(self, name: str, old: int | None, new: int | None) -> _Here:
        """An entry of a list; its place in each file, None where the file has it not."""
        at_old, at_new = (self.old if old is None else joined(self.old, old)), self.new
        return _Here(f"{self.named}[{name}]", at_old, at_new if new is None else joined(at_new, new))


def changed_settings(old: Document, new: Document) -> tuple[SettingChange, ...]:
    """Compare two settings files as they hold with what they extend.

    Args:
        old: before; without problems.
        new: after; without problems.

    Returns:
        Every setting that differs, least safe first, then by path. A section that only one of them has is
        one change; so is a list that stands for a curve and got or lost a row.
    """
    pair = _Pair(old, new)
    found = list(pair.between(old.data, new.data, _Here("", "", ""), ({}, {})))
    return tuple(sorted(found, key=lambda each: (DIRECTIONS.index(each.direction), each.path)))


class _Pair:
    """The walk over two documents side by side."""

    def __init__(self, old: Document, new: Document) -> None:
        self.old = old
        self.new = new

    def between(self, was: Any, now: Any, here: _Here, beside: _Beside) -> Iterator[SettingChange]:
        """Give the changes between two values at a path; `beside` is what each stands in."""
        if was == now:
            return
        if isinstance(was, dict) and isinstance(now, dict):
            for key in sorted(was.keys() | now.keys()):
                yield from self.between(
                    was.get(key, ABSENT), now.get(key, ABSENT), here.below(key), (was, now)
                )
            return
        if here.named in KEPT_BY_THE_FILE:
            was, now = ([] if each is ABSENT else each for each in (was, now))
        if _of_mappings(was) and _of_mappings(now):
            matches = _matches(was, now, here.old)
            if row_of(here.new).safer not in CURVES:
                yield from self._entries(was, now, here, matches)
                return
            if _same_rows(was, now, matches):
                for name, before, after in matches:
                    if before is not None and after is not None:
                        inner = here.entry(name, before, after)
                        yield from self.between(was[before], now[after], inner, beside)
                return
        yield self._change(was, now, here, beside)

    def _entries(
        self, was: list[Any], now: list[Any], here: _Here, matches: list[_Match]
    ) -> Iterator[SettingChange]:
        """Entries that came or went as such, and what differs in the others."""
        row = row_of(here.new)
        came: Direction = "less safe" if row.safer == "fewer entries" else "safer"
        for name, before, after in matches:
            inner = here.entry(name, before, after)
            if before is not None and after is not None:
                yield from self.between(was[before], now[after], inner, ({}, {}))
            elif after is not None:
                place = self._place(inner, True)
                yield SettingChange(inner.named, None, now[after], came, row.why, place, True)
            elif before is not None:
                place = self._place(inner, False)
                yield SettingChange(inner.named, was[before], None, OPPOSITE[came], row.why, place, False)

    def _change(self, was: Any, now: Any, here: _Here, beside: _Beside) -> SettingChange:
        in_new = now is not ABSENT
        row = row_of(here.new if in_new else here.old)
        towards, why = direction(row, was, now, beside)
        before, after = (None if each is ABSENT else each for each in (was, now))
        return SettingChange(here.named, before, after, towards, why, self._place(here, in_new), in_new)

    def _place(self, here: _Here, in_new: bool) -> Position:
        return self.new.position(here.new) if in_new else self.old.position(here.old)


def _of_mappings(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, dict) for each in value)


def _matches(was: list[dict[str, Any]], now: list[dict[str, Any]], path: str) -> list[_Match]:
    """Match entries by what they are called, or by their places where the list has no names."""
    before, after = (
        {name or str(i): i for i, name in enumerate(entry_names(path, each))} for each in (was, now)
    )
    return [(name, before.get(name), after.get(name)) for name in dict.fromkeys((*before, *after))]


def _same_rows(was: list[dict[str, Any]], now: list[dict[str, Any]], matches: list[_Match]) -> bool:
    """Whether each row has its partner in the same place, with the same keys."""
    return all(
        before is not None and before == after and was[before].keys() == now[before].keys()
        for _, before, after in matches
    )
