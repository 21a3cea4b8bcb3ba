"""The ladder of voltages: what one cell may have, and where board, charger and balancing act."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from bmslint.judge.paths import Nothing, walk
from bmslint.output.report.figures.plot import LINE_HEIGHT, figure, line, words
from bmslint.output.report.markup import Markup, joined, tag
from bmslint.output.report.scale import Scale, round_steps, spread, widened

AXIS_X, MARK_X, NAME_X = 44.0, 62.0, 118.0

LIMIT, TRIP, RELEASE, LEVEL = "limit", "trip", "release", "level"

RUNGS = (
    ("limits.charge_max_V", "cell maximum", LIMIT, False),
    ("protection.second_overvoltage.trip_above_V", "second over-voltage trips", TRIP, False),
    ("protection.cell_overvoltage.trip_above_V", "over-voltage trips", TRIP, False),
    ("protection.pack_overvoltage.trip_above_V", "pack over-voltage trips", TRIP, True),
    ("full_charge.cell_above_V", "full charge is noticed", LEVEL, False),
    ("charger.bulk_V", "charger, bulk", LEVEL, True),
    ("protection.cell_overvoltage.release_below_V", "over-voltage releases", RELEASE, False),
    ("protection.pack_overvoltage.release_below_V", "pack over-voltage releases", RELEASE, True),
    ("balancing.start_above_V", "balancing starts", LEVEL, False),
    ("charger.float_V", "charger, float", LEVEL, True),
    ("protection.cell_undervoltage.release_above_V", "under-voltage releases", RELEASE, False),
    ("protection.pack_undervoltage.release_above_V", "pack under-voltage releases", RELEASE, True),
    ("protection.cell_undervoltage.trip_below_V", "under-voltage trips", TRIP, False),
    ("protection.pack_undervoltage.trip_below_V", "pack under-voltage trips", TRIP, True),
    ("limits.discharge_min_V", "cell minimum", LIMIT, False),
)
"""Path, words, kind, and whether the value is the whole pack's and is shown for one of its cells."""


class Rung(NamedTuple):
    """One voltage of a cell: `shared` says that it is the pack's, divided by its cells in series."""

    volts: float
    name: str
    kind: str
    shared: bool
    path: str


def rungs(settings: Mapping[str, Any], limits: Mapping[str, Any]) -> list[Rung]:
    """Collect every voltage that is described.

    Args:
        settings: validated settings.
        limits: what a cell may endure.

    Returns:
        The rungs, highest first.
    """
    series = walk(settings, "pack.series")
    found = []
    for path, name, kind, shared in RUNGS:
        value = walk({**settings, "limits": limits}, path)
        if isinstance(value, Nothing) or not isinstance(value, int | float):
            continue
        if shared and not (isinstance(series, int | float) and series > 0):
            continue
        volts = value / series if shared and isinstance(series, int | float) else value
        found.append(Rung(float(volts), name, kind, shared, path))
    return sorted(found, key=lambda rung: -rung.volts)


def ladder(name: str, steps: Sequence[Rung]) -> Markup:
    """Draw the ladder.

    Args:
        name: id of the figure.
        steps: at least two rungs, highest first.

    Returns:
        The figure.
    """
    height = 46.0 + max(len(steps) * (LINE_HEIGHT + 3.0), 260.0)
    least, most = widened(steps[-1].volts - 0.03, steps[0].volts + 0.03, 8)
    scale = Scale(least, most, height - 14.0, 32.0)
    marked = [
        joined(
            line([(AXIS_X - 5, scale.at(volts)), (AXIS_X, scale.at(volts))], "axis"),
            words(AXIS_X - 8, scale.at(volts) + 4, f"{volts:.1f}", "tick", "end"),
        )
        for volts in round_steps(least, most, 8)
    ]
    places = [scale.at(rung.volts) for rung in steps]
    texts = spread(places, LINE_HEIGHT + 3.0, 32.0, height - 14.0)
    drawn = [_rung(rung, at, text) for rung, at, text in zip(steps, places, texts, strict=True)]
    told = "; ".join(f"{rung.name} {_volts(rung)}" for rung in steps)
    return figure(
        name,
        "Voltages of one cell",
        f"From the highest to the lowest: {told}.",
        [
            words(4.0, 18.0, "V for each cell", "axis-name"),
            line([(AXIS_X, scale.start), (AXIS_X, scale.end)], "axis"),
            *marked,
            *drawn,
        ],
        height,
        [
            "Bars are what the cell bears. Filled triangles trip and open ones release, diamonds are levels "
            "of charging. Where it says pack, the pack's voltage is shown for one of its cells."
        ],
    )


def _rung(rung: Rung, at: float, text: float) -> Markup:
    lead = line([(MARK_X + 12, at), (NAME_X - 16, text), (NAME_X - 5, text)], "lead")
    volts = tag("tspan", _volts(rung), class_="strong")
    told = tag("text", volts, f"  {rung.name}", x=NAME_X, y=text + 4, class_="name")
    return joined(_mark(rung, at), lead, told)


def _mark(rung: Rung, at: float) -> Markup:
    """A shape for each kind; triangles point to where the voltage goes when they act."""
    x, over = MARK_X, "over" in rung.name
    if rung.kind == LIMIT:
        return tag("rect", x=AXIS_X, y=at - 2.0, width=MARK_X + 12 - AXIS_X, height=4, class_="mark limit")
    if rung.kind == LEVEL:
        return tag("path", d=f"M{x:g} {at - 6:.1f}l6 6l-6 6l-6 -6z", class_="mark level")
    up = over == (rung.kind == TRIP)
    shape = f"M{x - 6:g} {at + 5:.1f}h12l-6 -10z" if up else f"M{x - 6:g} {at - 5:.1f}h12l-6 10z"
    return tag("path", d=shape, class_=f"mark {rung.kind}")


def _volts(rung: Rung) -> str:
    return f"{rung.volts:.3f}".rstrip("0").ljust(4, "0") + " V"
