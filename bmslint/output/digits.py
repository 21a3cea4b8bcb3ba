"""How many digits of a number to show, by how well it is known."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from math import floor, log10

# Digits of a number that nothing limits, digits that are always told so that sums come out as they are shown,
# and decimals beyond which none is worth reading.
EXACT_DIGITS, LEAST_DIGITS, MOST_DECIMALS = 4, 3, 3
NONE = -99
"""So few decimals that no number has fewer."""


def decimals(
    value: float,
    low: float,
    high: float,
    apart_from: float | None = None,
    bounds: tuple[int, int] = (NONE, MOST_DECIMALS),
) -> int:
    """Say how many decimals a value deserves.

    The distance to the farther end of its range counts as its error. Where the three highest digits of the
    error lie between 100 and 354 its second digit is still told, otherwise its first one alone.

    Args:
        value: the value.
        low: the lower end of its range, in the same unit.
        high: the upper end.
        apart_from: a number that it is held against; while both would be shown alike, more decimals are
            given.
        bounds: fewest and most decimals of a number of its kind, whatever its range.

    Returns:
        Decimals; below 0 the places before the point that are rounded away.

    Source: Particle Data Group, Review of Particle Physics, Phys. Rev. D 98 (2018) 030001, Introduction 5.3
        (read as quoted by others); the distance to one end as an error, and the bounds, are our own.
    """
    error = max(high - value, value - low, 0.0)
    if error > 0.0:
        wanted = -_leading(error) + (1 if _highest_three(error) <= 354 else 0)
    else:
        wanted = EXACT_DIGITS - 1 - _leading(value)
    fewest, most = bounds
    wanted = min(max(wanted, fewest, min(LEAST_DIGITS - 1 - _leading(value), 0)), most)
    if apart_from is not None and value != apart_from:
        while wanted < MOST_DECIMALS and _at(value, wanted) == _at(apart_from, wanted):
            wanted += 1
    return wanted


def rounded(
    value: float,
    low: float,
    high: float,
    apart_from: float | None = None,
    bounds: tuple[int, int] = (NONE, MOST_DECIMALS),
) -> str:
    """Write a number with the digits that it deserves.

    Args:
        value: the value.
        low: the lower end of its range, in the same unit.
        high: the upper end.
        apart_from: a number that it is held against.
        bounds: fewest and most decimals of a number of its kind, whatever its range.

    Returns:
        The number without its unit; one that nothing limits without zeros at its end.
    """
    places = decimals(value, low, high, apart_from, bounds)
    text = f"{_at(value, places):f}"
    if low == high and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.removeprefix("-") if not text.strip("-0.") else text


def _at(value: float, places: int) -> Decimal:
    """Round a number as it is written, halves away from nought."""
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def _leading(number: float) -> int:
    """The power of ten of a number's first digit; of 0 that of 1."""
    return floor(log10(abs(number))) if number else 0


def _highest_three(error: float) -> int:
    """The three highest digits of an error."""
    return round(error / 10.0 ** _leading(error) * 100.0)
