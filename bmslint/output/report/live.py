"""The part of the page that answers: another release, hold time or sensor, and how cold the core would be.

The runs are carried as data, each list as the differences of whole numbers, which is short and loses
nothing. `live.js` looks releases up in them as `Response.at` does. Without scripts the page shows the answer
for the file's own settings, the curve over all releases, and the curve as a table.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.output.report.choices import Choice, answer, carried, choice, duration, rounded, safe_json
from bmslint.output.report.figures.plot import Label, axes, figure, line, named
from bmslint.output.report.markup import Markup, degrees, tag
from bmslint.output.report.scale import Scale, widened

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.facts.response import Place, Response

SCRIPT = (Path(__file__).parent / "live.js").read_text(encoding="utf-8")

TOLD_EVERY_K = 2.0
LEFT, RIGHT, TOP, BOTTOM, HEIGHT = 36.0, 292.0, 28.0, 200.0, 244.0

RUNS = {"heated_warmup": "warmed by the heater", "ambient_warmup": "brought into warmer air"}
PLACES = {
    "between_cells": "between cells",
    "cell_face": "on a cell's face",
    "heated_face": "under the heater film",
    "terminal": "on a terminal",
    "busbar": "on a busbar",
    "case": "on the case",
    "board": "on the board",
    "ambient": "in the air outside",
}


def live(name: str, responses: Sequence[Response], facts: Facts | None) -> Markup:
    """Write the part.

    Args:
        name: beginning of its ids on the page.
        responses: the file's runs, at least one.
        facts: what was derived.

    Returns:
        Controls, which a script shows; the answer, a drawing and a table for each run.
    """
    runs = [(rounded(each), choice(each, facts)) for each in responses]
    frames = [_frame(*run) for run in runs]
    first, chosen = runs[0]
    found = first.at(0, first.release_degC, first.hold_s)
    data = [carried(*run, *frame) for run, frame in zip(runs, frames, strict=True)]
    return tag(
        "div",
        tag("script", Markup(safe_json(data)), type="application/json"),
        tag(
            "div",
            _controls(name, runs, chosen),
            tag("p", answer(first, found), class_="answer", data_part="answer", role="status"),
        ),
        tag(
            "div",
            (
                tag("div", _drawing(f"{name}-{number}", *run, *frame), data_drawn=number)
                for number, (run, frame) in enumerate(zip(runs, frames, strict=True))
            ),
        ),
        tag("details", tag("summary", "The curve as a table"), (_table(*run) for run in runs)),
        class_="try",
    )


def _controls(name: str, runs: Sequence[tuple[Response, Choice]], chosen: Choice) -> Markup:
    parts = []
    if len(runs) > 1:
        options = (tag("option", RUNS[each.run]) for each, _ in runs)
        parts.append(
            _labelled(f"{name}-run", "The pack is", tag("select", options, id=f"{name}-run", data_part="run"))
        )
    for number, (each, _) in enumerate(runs):
        options = (tag("option", text) for text in _sensors(each))
        select = tag("select", options, id=f"{name}-sensor-{number}", data_sensors=number)
        parts.append(_labelled(f"{name}-sensor-{number}", "Sensor that releases charging", select))
    parts.append(_slider(name, "release", "Release above", len(chosen.releases), chosen.release))
    parts.append(_slider(name, "hold", "Hold time", len(chosen.holds), chosen.hold))
    return tag("div", parts, class_="controls", hidden=True)


def _labelled(target: str, text: str, control: Markup) -> Markup:
    return tag("div", tag("label", text, for_=target), control)


def _slider(name: str, part: str, text: str, count: int, value: int) -> Markup:
    target = f"{name}-{part}"
    told = tag("output", for_=target, data_part=f"{part}-told")
    control = tag("input", type="range", id=target, min=0, max=count - 1, value=value, data_part=part)
    return tag("div", tag("label", text, for_=target), " ", told, control)


def _sensors(response: Response) -> list[str]:
    names = ", ".join(response.sensors)
    several = f" ({response.decided_by} of them)" if len(response.sensors) > 1 else ""
    return [f"as in the file: {names}{several}", *map(_place, response.places)]


def _place(place: Place) -> str:
    where = place.position or place.face
    return f"{PLACES[place.place]}, {where}" if where else PLACES[place.place]


def _frame(response: Response, chosen: Choice) -> tuple[Scale, Scale]:
    """Scales of the drawing: the release to the right, the coldest point upwards."""
    x = Scale(chosen.releases[0], chosen.releases[-1], LEFT, RIGHT)
    least = response.coldest_degC[0] if response.least_degC is None else response.least_degC
    low = min(*response.coldest_degC, least)
    high = max(min(max(response.coldest_degC), chosen.releases[-1]), least)
    return x, Scale(*widened(low, high, 6), BOTTOM, TOP)


def _drawing(name: str, response: Response, chosen: Choice, x: Scale, y: Scale) -> Markup:
    points = [
        (x.at(release), y.at(found.coldest_degC))
        for release in chosen.releases
        if (found := response.at(0, release, response.hold_s)) is not None
    ]
    now = response.at(0, response.release_degC, response.hold_s)
    labels, levels = [], []
    if response.least_degC is not None:
        at = y.at(response.least_degC)
        levels.append(line([(LEFT, at), (RIGHT, at)], "level least"))
        labels.append(Label(at, f"limit {degrees(response.least_degC)}", "least"))
    told = f"{answer(response, now)} The table below tells the curve."
    dot = tag(
        "circle",
        cx=x.at(response.release_degC),
        cy=BOTTOM if now is None else y.at(now.coldest_degC),
        r=6,
        class_="dot answered",
        data_part="dot",
        visibility="hidden" if now is None else "visible",
    )
    curve = "".join(f"{'L' if i else 'M'}{at_x:.1f} {at_y:.1f}" for i, (at_x, at_y) in enumerate(points))
    return figure(
        name,
        f"Coldest point at release, {RUNS[response.run]}",
        told,
        [
            axes(x, y, "release above, °C", "coldest point, °C"),
            *levels,
            tag("path", d=curve or None, class_="curve answered", data_part="curve"),
            dot,
            named(labels, RIGHT, TOP, BOTTOM),
        ],
        HEIGHT,
        ["Each release setting and how cold the coldest point would then be; the dot is the setting chosen."],
    )


def _table(response: Response, chosen: Choice) -> Markup:
    rows = []
    for release in chosen.releases:
        own = release == response.release_degC
        if not own and (release - chosen.releases[0]) % TOLD_EVERY_K:
            continue
        found = response.at(0, release, response.hold_s)
        mark = " (the file's)" if own else ""
        head = f"{degrees(release)}{mark}" if found else f"{degrees(release)}{mark} and above"
        cells = (degrees(found.coldest_degC), duration(found.time_s)) if found else ("not released", "")
        rows.append(tag("tr", tag("th", head, scope="row"), (tag("td", each) for each in cells)))
        if found is None:
            break
    heads = ("Release above", "Coldest point then", "After")
    return tag(
        "table",
        tag("caption", f"{RUNS[response.run].capitalize()}, the file's own sensors and hold time"),
        tag("thead", tag("tr", (tag("th", head, scope="col") for head in heads))),
        tag("tbody", rows),
        class_="curve-table",
    )
