"""Lists that stand for a curve: charging current by temperature, and time to the trip by current."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import inf
from typing import Any

Rows = Sequence[Mapping[str, Any]]
JUST_BELOW_K = 1e-6
"""How far below a row's temperature the row before it is read."""


def allows_more(was: Rows, now: Rows, straight: tuple[bool, bool]) -> tuple[bool, bool] | None:
    """Compare two tables of current by temperature.

    Args:
        was: rows with `from_degC` and `max_A`; below the first no current is allowed.
        now: the same after the change.
        straight: whether a straight line joins the rows, before and after; else a row holds to the next.

    Returns:
        Whether the second allows more anywhere, and whether less; None where a row lacks a key.
    """
    if not _whole((*was, *now), "from_degC", "max_A"):
        return None
    knots = {row["from_degC"] for row in (*was, *now)}
    points = sorted(knots | {knot - JUST_BELOW_K for knot in knots})
    pairs = [(_allowed(was, at, straight[0]), _allowed(now, at, straight[1])) for at in points]
    return _apart(pairs, JUST_BELOW_K * max(row["max_A"] for row in (*was, *now)) if pairs else 0.0)


def trips_later(was: Rows, now: Rows) -> tuple[bool, bool] | None:
    """Compare two sets of levels of over-current.

    Args:
        was: levels with `trip_above_A` and `delay_s` or `delay_ms`.
        now: the same after the change.

    Returns:
        Whether the second trips later at any current, and whether sooner; None where a level lacks a key.
    """
    levels = (*was, *now)
    if not _whole(levels, "trip_above_A") or any(_delay_s(level) is None for level in levels):
        return None
    currents = sorted({level["trip_above_A"] for level in levels})
    return _apart([(_time(was, at), _time(now, at)) for at in currents], 0.0)


def _whole(rows: Iterable[Mapping[str, Any]], *keys: str) -> bool:
    return all(isinstance(row.get(key), float) for row in rows for key in keys)


def _apart(pairs: Iterable[tuple[float, float]], slack: float) -> tuple[bool, bool]:
    known = list(pairs)
    return any(now > was + slack for was, now in known), any(now < was - slack for was, now in known)


def _allowed(rows: Rows, at: float, straight: bool) -> float:
    ordered = sorted(rows, key=lambda row: float(row["from_degC"]))
    below = [row for row in ordered if row["from_degC"] <= at]
    if not below:
        return 0.0
    here, after = below[-1], ordered[len(below) :]
    if not straight or not after:
        return float(here["max_A"])
    share = (at - here["from_degC"]) / (after[0]["from_degC"] - here["from_degC"])
    return float(here["max_A"] + share * (after[0]["max_A"] - here["max_A"]))


def _delay_s(level: Mapping[str, Any]) -> float | None:
    if isinstance(level.get("delay_s"), float):
        return float(level["delay_s"])
    return level["delay_ms"] / 1000.0 if isinstance(level.get("delay_ms"), float) else None


def _time(levels: Rows, current: float) -> float:
    """Time until a current just above this one trips, by the quickest level that it reaches."""
    times = (_delay_s(level) for level in levels if level["trip_above_A"] <= current)
    return min((time for time in times if time is not None), default=inf)
