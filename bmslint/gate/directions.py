"""Which way a setting is safer: the table `rules/directions.yaml`, and what it says of a change."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from bmslint.data import rules_dir
from bmslint.gate.curves import allows_more, trips_later
from bmslint.settings.tree import parse

Direction = Literal["less safe", "depends", "safer", "no effect"]
DIRECTIONS: tuple[Direction, ...] = ("less safe", "depends", "safer", "no effect")
"""What a change does; the first asks for most attention."""

OPPOSITE: Mapping[Direction, Direction] = MappingProxyType(
    {"less safe": "safer", "safer": "less safe", "depends": "depends", "no effect": "no effect"}
)
NONE = "none"
PUT_IN = "it was left out, that is not described, and now is"
EXCHANGED = "some entries came and others went"
LEFT_OUT = "left out is not described, so nothing is judged on it"


class Absent(NamedTuple):
    """Stands for a setting that a file leaves out."""


ABSENT = Absent()


class Row(NamedTuple):
    """What the table says of a setting; its head describes the keys."""

    safer: str | Sequence[Any]
    why: str
    none: Direction | None = None
    where: Mapping[str, str] = MappingProxyType({})


@cache
def table() -> Mapping[str, Row]:
    """Give the table.

    Returns:
        Rows by path, `[]` for an entry of a list and `*` for a free name.
    """
    path = rules_dir() / "directions.yaml"
    rows = parse(path.read_bytes(), path.name).data["rows"]
    return {
        name: Row(row["safer"], row["why"], row.get("none"), row.get("where", {}))
        for row in rows
        for name in row["settings"]
    }


def row_of(path: str) -> Row:
    """Give the row of a setting.

    Args:
        path: with places or names of entries, such as `sensors.skin.lag_s`, `charge_paths[1].obeys`.

    Returns:
        The row.

    Raises:
        KeyError: the table has none; a test holds that every setting of the format is in it.
    """
    pattern = re.sub(r"\[\d+\]", "[]", path)
    head, _, rest = pattern.partition(".")
    if head == "sensors" and rest:
        pattern = ".".join(["sensors", "*", *rest.split(".")[1:]])
    return table()[pattern]


def direction(
    row: Row, was: Any, now: Any, beside: Sequence[Mapping[str, Any]] = ()
) -> tuple[Direction, str]:
    """Say what a change does to safety.

    Args:
        row: of the setting.
        was: the value before, ABSENT where it was left out.
        now: the value after.
        beside: the mapping that the setting stands in, before and after; for `where`.

    Returns:
        The direction, and why.
    """
    if row.safer in ("depends", "no effect"):
        return ("depends" if row.safer == "depends" else "no effect"), row.why
    if row.safer in ("there", "earlier trips") and (_lacking(was) or _lacking(now)):
        if _lacking(was) and _lacking(now):
            return "depends", PUT_IN if was is ABSENT else LEFT_OUT
        return ("safer" if _lacking(was) else "less safe"), row.why
    if was is ABSENT or now is ABSENT:
        return "depends", PUT_IN if was is ABSENT else LEFT_OUT
    if row.none is not None and NONE in (was, now):
        return (row.none if now == NONE else OPPOSITE[row.none]), row.why
    if any(each.get(key) != value for each in beside for key, value in row.where.items()):
        return "depends", f"{row.why}; that is not so here"
    towards = _ranked(row, was, now, beside)
    exchanged = towards == "depends" and row.safer in ("more entries", "fewer entries")
    return towards, EXCHANGED if exchanged else row.why


def _lacking(value: Any) -> bool:
    return value is ABSENT or value == NONE


def _ranked(row: Row, was: Any, now: Any, beside: Sequence[Mapping[str, Any]]) -> Direction:
    """Compare by the row's own measure; what cannot be compared depends."""
    if isinstance(row.safer, list):
        return _by(_rank(row.safer, now), _rank(row.safer, was))
    if isinstance(was, list) and isinstance(now, list):
        return _of_lists(row, was, now, beside)
    if type(was) is not type(now) or not isinstance(now, float | str):
        return "depends"
    higher = _by(now > was, now < was)
    return higher if row.safer == "lower" else OPPOSITE[higher]


def _of_lists(row: Row, was: list[Any], now: list[Any], beside: Sequence[Mapping[str, Any]]) -> Direction:
    if row.safer in ("less current", "earlier trips"):
        straight = [each.get("between_steps") == "linear" for each in beside] or [False, False]
        apart = (
            trips_later(was, now)
            if row.safer == "earlier trips"
            else allows_more(was, now, (straight[0], straight[-1]))
        )
        if apart == (False, False):
            return "no effect"
        return _by(*apart) if apart else "depends"
    more = _by(set(now) < set(was), set(now) > set(was))
    return more if row.safer == "more entries" else OPPOSITE[more]


def _by(worse: Any, better: Any) -> Direction:
    """Name the side that is greater; neither, and it depends."""
    if worse == better:
        return "depends"
    return "less safe" if worse > better else "safer"


def _rank(order: Sequence[Any], value: Any) -> int:
    places = [
        i for i, each in enumerate(order) if value == each or (isinstance(each, list) and value in each)
    ]
    return places[0] if places else len(order)
