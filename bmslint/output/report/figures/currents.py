"""Charge current over temperature: what the settings permit, held against what the cells bear."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from bmslint.output.report.figures.plot import (
    LINE_HEIGHT,
    Points,
    area,
    axes,
    figure,
    hatch,
    line,
    words,
)
from bmslint.output.report.markup import Markup
from bmslint.output.report.scale import Scale, widened

LEFT, RIGHT, TOP, BOTTOM, HEIGHT = 40.0, 388.0, 40.0, 232.0, 276.0


class Currents(NamedTuple):
    """Corners of both step lines, ascending in temperature (degC), with the whole pack's current (A)."""

    permitted: Points
    borne: Points


def currents(name: str, lines: Currents) -> Markup:
    """Draw both lines, and hatch where more is permitted than borne.

    Args:
        name: id of the figure.
        lines: both over the same span of temperature.

    Returns:
        The figure.
    """
    every = [*lines.permitted, *lines.borne]
    low, high = every[0][0], max(degC for degC, _ in every)
    x = Scale(low, high, LEFT, RIGHT)
    y = Scale(0.0, widened(0.0, max(max(amperes for _, amperes in every), 1.0), 6)[1], BOTTOM, TOP)
    too_much = [
        area(
            [(x.at(a), y.at(top)), (x.at(b), y.at(top)), (x.at(b), y.at(least)), (x.at(a), y.at(least))],
            "over",
        )
        for a, b, top, least in excess(lines)
    ]
    pattern = f"{name}-hatch"
    return figure(
        name,
        "Charge current over temperature",
        told(lines),
        [
            hatch(pattern),
            axes(x, y, "temperature, °C", "A, whole pack"),
            *too_much,
            line([(x.at(degC), y.at(amperes)) for degC, amperes in lines.borne], "curve borne"),
            line([(x.at(degC), y.at(amperes)) for degC, amperes in lines.permitted], "curve permitted"),
            *_names(lines, x, y),
        ],
        HEIGHT,
        [
            "Permitted goes by what the sensor reads, borne by how cold or warm the cell is; here both are "
            "taken as one. Where more is permitted than borne the area is hatched."
        ],
    )


def excess(lines: Currents) -> list[tuple[float, float, float, float]]:
    """Find where more is permitted than borne.

    Args:
        lines: both lines.

    Returns:
        For each stretch its two temperatures (degC), what is permitted at its middle and what is borne (A).
    """
    corners = sorted({degC for degC, _ in (*lines.permitted, *lines.borne)})
    found = []
    for a, b in pairwise(corners):
        middle = (a + b) / 2
        permitted, borne = _at(lines.permitted, middle), _at(lines.borne, middle)
        if permitted > borne + 1e-9:
            found.append((a, b, permitted, borne))
    return found


def told(lines: Currents) -> str:
    """Say in words what the drawing shows.

    Args:
        lines: both lines.

    Returns:
        Sentences.
    """
    permitted = "; ".join(f"{_span(a, b)} {amperes:g} A" for a, b, amperes in _stretches(lines.permitted))
    borne = "; ".join(f"{_span(a, b)} {amperes:g} A" for a, b, amperes in _stretches(lines.borne))
    over = excess(lines)
    verdict = (
        "More is permitted than borne " + "; ".join(_span(a, b) for a, b, _, _ in over) + "."
        if over
        else "Nowhere is more permitted than borne."
    )
    return f"Permitted: {permitted}. Borne: {borne}. {verdict}"


def _stretches(points: Points) -> list[tuple[float, float, float]]:
    """The level stretches of a line, and sloping ones by their end."""
    return [(a, b, right) for (a, _), (b, right) in pairwise(points) if b > a]


def _span(a: float, b: float) -> str:
    return f"from {a:g} to {b:g} °C"


def _at(points: Points, degC: float) -> float:
    for (a, left), (b, right) in pairwise(points):
        if a <= degC <= b and b > a:
            return left + (right - left) * (degC - a) / (b - a)
    return 0.0


def _names(lines: Currents, x: Scale, y: Scale) -> list[Markup]:
    """Name each line above its highest stretch; below it where the other line's name stands there."""
    taken: list[float] = []
    names = []
    for points, text, kind in (
        (lines.borne, "the cells bear", "borne"),
        (lines.permitted, "permitted", "permitted"),
    ):
        a, b, amperes = max(_stretches(points), key=lambda stretch: stretch[2])
        at = y.at(amperes) - 6
        if any(abs(at - other) < LINE_HEIGHT for other in taken):
            at += LINE_HEIGHT + 8
        taken.append(at)
        names.append(words((x.at(a) + x.at(b)) / 2, at, text, f"name {kind}", "middle"))
    return names
