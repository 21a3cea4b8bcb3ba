"""Permitted and borne charge current as lines over temperature, for drawing and telling them."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.limits import Limits, allowed_current_A

# The span of temperature that is told, wider where a step or a limit lies outside (degC).
COLDEST_DEGC, HOTTEST_DEGC = -10.0, 60.0
# How far before a step its left side is read (K), and how far apart a sloping line is read (K).
BEFORE_K, SLOPE_K = 1e-6, 1.0

Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class CurrentLines:
    """Corners of both lines, ascending: temperature (degC) and current (A, whole pack).

    Args:
        permitted: what the settings let flow at a sensor's reading, nothing while charging is inhibited.
        borne: what the cells bear at their temperature.
    """

    permitted: Line
    borne: Line


def current_lines(data: Mapping[str, Any], limits: Limits) -> CurrentLines | None:
    """Give both lines.

    Args:
        data: the validated settings.
        limits: what the cells may endure.

    Returns:
        The lines over one span of temperature; None where one of them is not known.
    """
    from bmslint.facts.charging import charge_current

    inputs = Inputs(data, limits)
    rows = limits.data.get("charge_current")
    try:
        current = charge_current(inputs)
    except LackingError:
        return None
    if not rows or (not isfinite(current.most_A) and not current.steps):
        return None
    parallel = float(inputs.find("pack.parallel") or 1.0)
    low = inputs.find("protection.charge_cold.inhibit_below_degC")
    high = inputs.find("protection.charge_hot.inhibit_above_degC")
    starts = [float(row["from_degC"]) for row in (*rows, *current.steps)]
    inhibits = [float(each) for each in (low, high) if each is not None]
    first = min(COLDEST_DEGC, *(each - 5.0 for each in (*starts, *inhibits)))
    last = max(HOTTEST_DEGC, *(each + 5.0 for each in (*starts, *inhibits)))

    def permitted_A(degC: float) -> float:
        inhibited = (low is not None and degC < low) or (high is not None and degC > high)
        return 0.0 if inhibited else current.permitted_A(degC)

    def borne_A(degC: float) -> float:
        return float(allowed_current_A(rows, degC)) * parallel

    places = {first, last}
    for start in (*starts, *inhibits):
        places |= {start - BEFORE_K, start, start + BEFORE_K}
    if current.linear:
        places |= {first + SLOPE_K * number for number in range(int((last - first) / SLOPE_K))}
    ordered = sorted(places)
    return CurrentLines(
        _corners([(degC, permitted_A(degC)) for degC in ordered]),
        _corners([(degC, borne_A(degC)) for degC in ordered]),
    )


def _corners(points: list[tuple[float, float]]) -> Line:
    """Leave out points on a level between two others, and tell both sides of a step at one temperature."""
    kept = [
        point
        for number, point in enumerate(points)
        if number in (0, len(points) - 1) or not points[number - 1][1] == point[1] == points[number + 1][1]
    ]
    return tuple((round(degC, 3), amperes) for degC, amperes in kept)
