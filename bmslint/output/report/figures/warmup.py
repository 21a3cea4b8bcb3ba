"""The warm-up over time: sensor, coldest and hottest point, and the thresholds they cross."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bmslint.output.report.figures.plot import Label, area, axes, figure, line, named, words
from bmslint.output.report.markup import Markup, degrees, joined, number, tag
from bmslint.output.report.scale import Scale, widened

if TYPE_CHECKING:
    from bmslint.facts.course import Course

LEFT, RIGHT, TOP, BOTTOM, HEIGHT = 36.0, 286.0, 28.0, 228.0, 290.0
HOURS_FROM_S = 3 * 3600.0
"""Length from which time is told in hours instead of minutes."""

TITLES = {
    "heated_warmup": "Warm-up with the heater",
    "ambient_warmup": "Warm-up in warmer air",
}


def warmup(name: str, course: Course) -> Markup:
    """Draw a course.

    Args:
        name: id of the figure.
        course: the warm-up.

    Returns:
        The figure.
    """
    unit_s, unit = (3600.0, "h") if course.times_s[-1] >= HOURS_FROM_S else (60.0, "min")
    curves = {
        "hottest": course.hottest_degC,
        "reading": course.reading_degC,
        "coldest": course.coldest_degC,
    }
    levels = _levels(course)
    every = [degC for curve in curves.values() for degC in curve] + [degC for _, degC in levels.values()]
    x = Scale(0.0, course.times_s[-1] / unit_s, LEFT, RIGHT)
    y = Scale(*widened(min(every), max(every), 7), BOTTOM, TOP)
    labels = [Label(y.at(degC), f"{text} {degrees(degC)}", kind) for kind, (text, degC) in levels.items()]
    names = {"hottest": "hottest", "reading": "sensor reads", "coldest": "coldest"}
    labels += [Label(y.at(curve[-1]), names[kind], kind) for kind, curve in curves.items()]
    lines = [
        line(
            [(x.at(s / unit_s), y.at(degC)) for s, degC in zip(course.times_s, curve, strict=True)],
            f"curve {kind}",
        )
        for kind, curve in curves.items()
    ]
    return figure(
        name,
        TITLES[course.run],
        told(course),
        [
            _too_cold(course, x, y),
            axes(x, y, f"time since the start, {unit}", "°C"),
            *(
                line([(LEFT, y.at(degC)), (RIGHT, y.at(degC))], f"level {kind}")
                for kind, (_, degC) in levels.items()
            ),
            *lines,
            _release(course, x, y, unit_s),
            named(labels, RIGHT, TOP, BOTTOM),
            _heating(course, x, unit_s),
        ],
        HEIGHT,
        _caption(course),
    )


def told(course: Course) -> str:
    """Say in words what the drawing shows.

    Args:
        course: the warm-up.

    Returns:
        Sentences.
    """
    start = f"The pack starts at {degrees(course.starts_degC)}, in air of {degrees(course.air_degC)}."
    if course.released is None:
        return f"{start} Charging is never released."
    at = course.released
    return (
        f"{start} Charging is released after {at.time_s / 60.0:.0f} min: the sensor then reads "
        f"{degrees(at.reading_degC)}, the coldest point is at {degrees(at.coldest_degC)} and the hottest at "
        f"{degrees(at.hottest_degC)}."
    )


def _levels(course: Course) -> dict[str, tuple[str, float]]:
    """The level lines by class: their words and temperature (degC)."""
    levels = {"release": ("release", course.release_degC), "inhibit": ("inhibit", course.inhibit_degC)}
    if course.least_degC is not None:
        levels["least"] = ("cell limit", course.least_degC)
    return levels


def _too_cold(course: Course, x: Scale, y: Scale) -> Markup:
    if course.least_degC is None or course.least_degC <= y.low:
        return Markup("")
    top, bottom = y.at(course.least_degC), y.at(y.low)
    return area([(x.start, top), (x.end, top), (x.end, bottom), (x.start, bottom)], "too-cold")


def _release(course: Course, x: Scale, y: Scale, unit_s: float) -> Markup:
    """The moment of release: a line, and a dot on each curve."""
    if course.released is None:
        return Markup("")
    at = course.released
    place = x.at(at.time_s / unit_s)
    left = place > (x.start + x.end) / 2
    dots = [
        tag("circle", cx=place, cy=y.at(degC), r=4, class_=f"dot {kind}")
        for kind, degC in (
            ("hottest", at.hottest_degC), ("reading", at.reading_degC), ("coldest", at.coldest_degC),
        )
    ]  # fmt: skip
    return joined(
        line([(place, y.start), (place, y.end)], "moment"),
        dots,
        words(
            place + (-6 if left else 6), y.end - 8, "charging released", "strong", "end" if left else "start"
        ),
    )


def _heating(course: Course, x: Scale, unit_s: float) -> Markup:
    """A bar below the axis where the heater is on."""
    if not any(course.heating):
        return Markup("")
    spans: list[str] = []
    begun: float | None = None
    for time_s, on in zip(course.times_s, (*course.heating[:-1], False), strict=True):
        if on and begun is None:
            begun = time_s
        elif not on and begun is not None:
            start, end = x.at(begun / unit_s), x.at(time_s / unit_s)
            spans.append(
                f"M{number(start)} {number(BOTTOM + 42)}h{number(max(end - start, 0.4))}v7H{number(start)}z"
            )
            begun = None
    return joined(
        tag("path", d="".join(spans), class_="heating"),
        words(RIGHT + 16, BOTTOM + 50, "heater on", "name"),
    )


def _caption(course: Course) -> Sequence[str]:
    sensors = ", ".join(course.sensors)
    several = f" ({course.decided_by} of them)" if len(course.sensors) > 1 else ""
    hold = f" and stays there for {course.hold_s / 60.0:g} min" if course.hold_s else ""
    return [
        f"Charging is released when {sensors}{several} reads {degrees(course.release_degC)}{hold}. "
        "Nominal properties; the heat of the charge current is left out. The shaded band is below what the "
        "cells bear."
    ]
