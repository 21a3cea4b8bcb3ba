"""A warm-up drawn with plain characters: what the sensor reads, the coldest and the hottest cell, over time.

Each curve is drawn with a letter of its own, so that nothing rests on colour.
"""

from __future__ import annotations

from bisect import bisect_right
from math import floor, log10
from typing import TYPE_CHECKING, NamedTuple

from bmslint.judge.template import show, visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bmslint.facts.course import Course

LEAST_WIDTH, MOST_WIDTH, LEAST_ROWS, MOST_ROWS = 40, 100, 14, 24
# Columns that a mark on the time axis takes with the gap to the next.
MARK_COLUMNS = 9
# Instants in a column at which the heater is looked at.
LOOKS = 16


class Signs(NamedTuple):
    """The characters that lines are drawn with."""

    upright: str
    corner: str
    level: str
    mark: str
    release: str
    inhibit: str
    limit: str
    instant: str
    on: str
    partly: str


DRAWN = Signs("│", "└", "─", "┬", "╌", "·", "═", "┃", "█", "▒")
PLAIN = Signs("|", "+", "-", "+", "-", ".", "=", "!", "#", "~")
"""For a terminal that cannot show the others."""

MOST_OF_UNIT = 240.0
TIME_UNITS = (("min", 60.0), ("h", 3600.0), ("days", 86400.0))
"""Units of the time axis, each for up to so much of it."""


class Piece(NamedTuple):
    """Some characters of one kind: `sensor`, `coldest`, `hottest`, `line`, or plain `text`."""

    text: str
    kind: str


Row = tuple[Piece, ...]


class _Level(NamedTuple):
    """A temperature with a line across the picture."""

    name: str
    degC: float
    sign: str


def picture(course: Course, width: int, signs: Signs) -> tuple[Row, ...]:
    """Draw a warm-up.

    Args:
        course: the warm-up over time.
        width: columns to draw in; less than 40 is drawn as 40.
        signs: the characters for lines.

    Returns:
        Rows from the top, then the heater, the time axis and what the letters mean.
    """
    width = min(max(width, LEAST_WIDTH), MOST_WIDTH)
    levels = _levels(course, signs)
    low, high, rows = _span(course, levels)
    labels = _labels(levels, low, high, rows)
    margin = max(len(text) for text in labels.values()) + 1
    canvas = _Canvas(width - margin - 2, rows, low, high, course.times_s[-1])
    for level in levels:
        canvas.across(level)
    if course.released is not None:
        canvas.upright(course.released.time_s, signs.instant)
    curves = {"hottest": course.hottest_degC, "coldest": course.coldest_degC, "sensor": course.reading_degC}
    for kind, values in curves.items():
        canvas.curve(kind, course.times_s, values)
    drawn = [
        (Piece(f"{labels.get(row, ''):>{margin}} {signs.upright}", "text"), *canvas.row(row))
        for row in range(rows)
    ]
    lead = " " * (margin + 1)
    axis, marks = _axis(course.times_s[-1], canvas.columns, signs)
    drawn += [(Piece(f"{lead}{signs.corner}{axis}", "text"),), (Piece(f"{lead} {marks}".rstrip(), "text"),)]
    heater = _heater(course, canvas, signs) if course.run == "heated_warmup" else ""
    if heater:
        drawn.append((Piece(f"{'heater':>{margin}}  {heater}".rstrip(), "text"),))
    head = (Piece(f"{'degC':>{margin}}", "text"),)
    return (head, *drawn, (), *_key(course, canvas, heater, signs))


def _levels(course: Course, signs: Signs) -> list[_Level]:
    levels = [
        _Level("inhibit", course.inhibit_degC, signs.inhibit),
        _Level("release", course.release_degC, signs.release),
    ]
    if course.least_degC is not None:
        levels.insert(0, _Level("limit", course.least_degC, signs.limit))
    return levels


def _span(course: Course, levels: Sequence[_Level]) -> tuple[float, float, int]:
    """Give the lowest and highest temperature, and how many rows keep the levels apart."""
    known = [
        *course.coldest_degC,
        *course.hottest_degC,
        *course.reading_degC,
        *(each.degC for each in levels),
    ]
    low, high = floor(min(known)), max(known) + 1e-9
    high = max(high, low + 1.0)
    gaps = [b.degC - a.degC for a in levels for b in levels if b.degC > a.degC]
    wanted = (high - low) / min(gaps) if gaps else 0.0
    return low, high, int(min(max(wanted + 2, LEAST_ROWS), MOST_ROWS))


def _row_of(degC: float, low: float, high: float, rows: int) -> int:
    """The row of a temperature, counted from the top."""
    share = (degC - low) / (high - low)
    return rows - 1 - min(max(round(share * (rows - 1)), 0), rows - 1)


def _labels(levels: Sequence[_Level], low: float, high: float, rows: int) -> dict[int, str]:
    """Name the levels at their rows, and give a temperature at others."""
    labels: dict[int, str] = {}
    for level in levels:
        row = _row_of(level.degC, low, high, rows)
        told = f"{level.name} {show(level.degC)}"
        labels[row] = f"{labels[row]}, {told}" if row in labels else told
    step = _round_step((high - low) / (rows / 4))
    tick = step * floor(low / step)
    while tick <= high:
        row = _row_of(tick, low, high, rows)
        if tick >= low and all(abs(row - other) > 1 for other in labels):
            labels[row] = show(round(tick, 6))
        tick += step
    return labels


def _round_step(least: float) -> float:
    """The next of 1, 2, 5 times a power of ten."""
    power = 10.0 ** floor(log10(least))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= least - 1e-9)


class _Canvas:
    """A grid of characters over time and temperature."""

    def __init__(self, columns: int, rows: int, low: float, high: float, end_s: float) -> None:
        self.columns, self.rows, self.low, self.high, self.end_s = columns, rows, low, high, end_s
        self._lines = [[" "] * columns for _ in range(rows)]
        self.curves: dict[tuple[int, int], list[str]] = {}

    def column(self, time_s: float) -> int:
        """The column of a time."""
        return min(max(round(time_s / self.end_s * (self.columns - 1)), 0), self.columns - 1)

    def across(self, level: _Level) -> None:
        """Draw a temperature over all times."""
        self._lines[_row_of(level.degC, self.low, self.high, self.rows)] = [level.sign] * self.columns

    def upright(self, time_s: float, sign: str) -> None:
        """Draw an instant over all temperatures."""
        for row in self._lines:
            row[self.column(time_s)] = sign

    def curve(self, kind: str, times: Sequence[float], values: Sequence[float]) -> None:
        """Draw a curve; every row that it passes in a column is marked."""
        before: int | None = None
        for time, value in zip(times, values, strict=True):
            column, row = self.column(time), _row_of(value, self.low, self.high, self.rows)
            for passed in _between(row if before is None else before, row):
                kinds = self.curves.setdefault((passed, column), [])
                if kind not in kinds:
                    kinds.append(kind)
            before = row

    def row(self, row: int) -> Row:
        """Give a row in pieces of one kind, without blanks at its end; curves that meet take turns."""
        pieces: list[Piece] = []
        for column, line in enumerate(self._lines[row]):
            kinds = self.curves.get((row, column))
            kind = kinds[column % len(kinds)] if kinds else "line" if line.strip() else "text"
            sign = kind[0] if kinds else line
            if pieces and pieces[-1].kind == kind:
                pieces[-1] = Piece(pieces[-1].text + sign, kind)
            else:
                pieces.append(Piece(sign, kind))
        if pieces[-1].kind == "text":
            pieces[-1] = Piece(pieces[-1].text.rstrip(), "text")
        return tuple(pieces)


def _between(start: int, end: int) -> range:
    """The rows passed on the way to another one, that one included and the one left behind not."""
    if start == end:
        return range(end, end + 1)
    return range(start + 1, end + 1) if end > start else range(end, start)


def _axis(end_s: float, columns: int, signs: Signs) -> tuple[str, str]:
    """Draw the time axis and write its marks, the unit behind the last one."""
    unit, factor = next(
        each for each in TIME_UNITS if end_s < MOST_OF_UNIT * each[1] or each == TIME_UNITS[-1]
    )
    end = end_s / factor
    step = _round_step(end / max(columns / MARK_COLUMNS, 1.0))
    axis, marks = [signs.level] * columns, [" "] * columns
    for number in range(int(end / step) + 1):
        column = round(number * step / end * (columns - 1))
        text = show(round(number * step, 6))
        if (number + 1) * step > end:
            text = f"{text} {unit}"
        axis[column] = signs.mark
        start = min(column, columns - len(text))
        marks[start : start + len(text)] = text
    return "".join(axis), "".join(marks)


def _heater(course: Course, canvas: _Canvas, signs: Signs) -> str:
    """Draw when the heater is on, by the share of each column's time."""
    drawn = []
    for column in range(canvas.columns):
        on = 0
        for part in range(LOOKS):
            share = (column - 0.5 + (part + 0.5) / LOOKS) / (canvas.columns - 1)
            index = bisect_right(course.times_s, max(share, 0.0) * canvas.end_s) - 1
            on += course.heating[index]
        drawn.append(" " if on <= LOOKS // 8 else signs.on if on >= LOOKS - LOOKS // 8 else signs.partly)
    return "".join(drawn)


def _key(course: Course, canvas: _Canvas, heater: str, signs: Signs) -> list[Row]:
    """Say what the letters and lines mean."""
    sensors = visible(", ".join(course.sensors))
    rows: list[Row] = [
        (Piece("s", "sensor"), Piece(f"  what the deciding sensor reads ({sensors})", "text")),
        (Piece("c", "coldest"), Piece("  coldest point inside any cell", "text")),
        (Piece("h", "hottest"), Piece("  hottest point of any cell", "text")),
    ]
    if any(len(kinds) > 1 for kinds in canvas.curves.values()):
        rows.append((Piece("   where curves meet, their letters take turns", "text"),))
    if signs.partly in heater:
        rows.append(
            (
                Piece(f"{signs.on}", "line"),
                Piece(f"  heater on;  {signs.partly}  on for part of the time", "text"),
            )
        )
    if course.released is not None:
        at = course.released
        rows.append((Piece(signs.instant, "line"), Piece(f"  {_released(at.time_s)}", "text")))
        told = (
            f"sensor {at.reading_degC:.1f}, coldest {at.coldest_degC:.1f}, hottest {at.hottest_degC:.1f} degC"
        )
        rows.append((Piece(f"   {told.replace('-0.0', '0.0')}", "text"),))
    else:
        rows.append((Piece("   charging does not resume in this run", "text"),))
    return rows


def _released(time_s: float) -> str:
    from bmslint.output.story.teller import number

    return f"charging resumes after {number(time_s / 60.0, 'min', 'course')}:"
