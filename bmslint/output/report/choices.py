"""What can be chosen on the page, the answers to it, and the runs as the page carries them.

`live.js` looks up and answers as `Response.at` and `answer` here do; tests hold that they never differ.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from math import floor
from typing import TYPE_CHECKING, NamedTuple

from bmslint.facts.quantity import Quantity

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.facts.response import Released, Response
    from bmslint.output.report.scale import Scale

RELEASE_STEP_K, RELEASES = 0.5, 61
"""Releases that can be chosen: from the inhibit upwards."""
HOLDS_MIN = (0, 1, 2, 5, 10, 15, 20, 30, 45, 60, 75, 90, 105, 120, 150, 180, 240, 300, 360, 480, 600, 720)
"""Hold times that can be chosen."""


class Choice(NamedTuple):
    """What can be chosen for a run: releases (degC), hold times (s), and which are the file's own."""

    releases: tuple[float, ...]
    holds: tuple[float, ...]
    release: int
    hold: int


def rounded(response: Response) -> Response:
    """Give a run as the page carries it: times to 0.1 s, temperatures to 1 mK.

    Args:
        response: a run.

    Returns:
        The same with rounded numbers.
    """
    return replace(
        response,
        times_s=tuple(round(each * 10) / 10 for each in response.times_s),
        coldest_degC=tuple(round(each * 1000) / 1000 for each in response.coldest_degC),
        readings_degC=tuple(
            tuple(round(each * 1000) / 1000 for each in row) for row in response.readings_degC
        ),
    )


def choice(response: Response, facts: Facts | None) -> Choice:
    """Choose what can be chosen.

    Args:
        response: a run.
        facts: what was derived, for the release and the hold time that would be safe.

    Returns:
        Round values, the file's own, and those that would be safe.
    """
    found = [
        facts.find(f"{response.run}.{name}") if facts else None
        for name in ("safe_release_degC", "safe_hold_s")
    ]
    safe = [float(each.value) if isinstance(each, Quantity) else None for each in found]
    releases = {response.inhibit_degC + RELEASE_STEP_K * number for number in range(RELEASES)}
    releases |= {response.release_degC}
    if safe[0] is not None and releases and response.inhibit_degC <= safe[0] <= max(releases):
        releases.add(safe[0])
    holds = {each * 60.0 for each in HOLDS_MIN} | {response.hold_s}
    if safe[1] is not None and safe[1] <= max(holds):
        holds.add(safe[1])
    ordered, waits = tuple(sorted(releases)), tuple(sorted(holds))
    return Choice(ordered, waits, ordered.index(response.release_degC), waits.index(response.hold_s))


def answer(response: Response, found: Released | None) -> str:
    """Say what a release gives, in the words of `live.js`.

    Args:
        response: the run.
        found: the instant of release, None if there is none.

    Returns:
        A sentence or two.
    """
    if found is None:
        end = f"Charging is not released within {duration(response.times_s[-1])}"
        chatters = ", after which the heater has switched too often to be followed."
        return end + (chatters if response.chatters else ".")
    told = (
        f"Charging is released after {duration(found.time_s)}. The coldest point is then at "
        f"{_one_decimal(found.coldest_degC)} °C"
    )
    if response.least_degC is None:
        return f"{told}; what the cells bear is not known."
    over = found.coldest_degC - response.least_degC
    how = (
        f"warm enough: {_one_decimal(over)} K above"
        if over >= 0
        else f"too cold: {_one_decimal(-over)} K below"
    )
    return f"{told}, {how} the limit of {_one_decimal(response.least_degC)} °C."


def _one_decimal(value: float) -> str:
    """Write a number as `live.js` does, halves away from nought."""
    size = floor(abs(value) * 10 + 0.5) / 10
    return ("\u2212" if value < 0 and size > 0 else "") + f"{size:.1f}".removesuffix(".0")


def duration(seconds: float) -> str:
    """Write a time as `live.js` does.

    Args:
        seconds: the time (s).

    Returns:
        Minutes; from two hours on hours and minutes.
    """
    minutes = floor(seconds / 60 + 0.5)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"


def carried(response: Response, chosen: Choice, x: Scale, y: Scale) -> dict[str, object]:
    """Give a run as the page carries it.

    Args:
        response: the run, rounded.
        chosen: what can be chosen.
        x: the drawing's scale of releases.
        y: its scale of temperatures.

    Returns:
        Plain data; lists of times in 0.1 s and of temperatures in mK, each as differences.
    """
    return {
        "inhibit": response.inhibit_degC,
        "least": response.least_degC,
        "chatters": response.chatters,
        "releases": chosen.releases,
        "holds": chosen.holds,
        "release": chosen.release,
        "hold": chosen.hold,
        "frame": [*x, *y],
        "times": _differences(response.times_s, 10),
        "coldest": _differences(response.coldest_degC, 1000),
        "readings": [_differences(each, 1000) for each in response.readings_degC],
    }


def _differences(values: Iterable[float], unit: int) -> list[int]:
    """Write numbers as whole units, each as its distance from the one before."""
    whole = [round(value * unit) for value in values]
    return [b - a for a, b in zip([0, *whole], whole, strict=False)]


def safe_json(data: object) -> str:
    """Write data so that nothing in it can end the element that it stands in.

    Args:
        data: plain data.

    Returns:
        JSON without angle brackets and ampersands.
    """
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
