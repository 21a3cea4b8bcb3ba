"""How values are written on the page: units by their signs, numbers with the digits that they deserve."""

from __future__ import annotations

from bmslint.facts.quantity import Quantity
from bmslint.judge.template import show
from bmslint.output.digits import decimals, rounded

UNITS = {
    "degC": "°C",
    "K": "K",
    "W/(m K)": "W/(m K)",
    "m2": "m²",
    "kg/m3": "kg/m³",
    "1/h": "per hour",
    "A2s": "A²s",
}


TEMPERATURES = ("degC", "K")
"""Units of which no sensor here resolves more than a tenth."""


def unit_told(unit: str) -> str:
    """Write a unit for a person.

    Args:
        unit: as facts and rules have it.

    Returns:
        The unit by its sign.
    """
    return UNITS.get(unit, unit)


def amount(value: object, unit: str = "") -> str:
    """Write a value that nothing limits, with its unit.

    Args:
        value: a number, a word or a truth value.
        unit: of a number.

    Returns:
        At most four digits, a true minus, the unit.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return show(value) if value != "" else "none"
    return _with_unit(rounded(value, value, value), unit)


def quantity(each: Quantity) -> str:
    """Write the value of a quantity with the digits that its range deserves.

    Args:
        each: a derived quantity.

    Returns:
        The value with its unit.
    """
    value = each.value
    if isinstance(value, bool | str):
        return amount(value)
    return _with_unit(_number(value, each), each.unit)


def span(each: Quantity) -> str:
    """Write the range of a quantity.

    Args:
        each: a derived quantity.

    Returns:
        Both ends; empty where there is no range, or none that could be told from the value.
    """
    low, high = each.low, each.high
    if low == high:
        return ""
    if isinstance(low, bool | str) or isinstance(high, bool | str):
        return f"{amount(low)} or {amount(high)}"
    ends = [_signed(_number(end, each)) for end in (low, high)]
    return "" if ends[0] == ends[1] else _with_unit(" to ".join(ends), each.unit)


def _number(number: float, of: Quantity) -> str:
    """Write a number with the digits that its quantity's range deserves; of a temperature one decimal."""
    value, low, high = float(of.value), float(of.low), float(of.high)
    if low == high and of.unit not in TEMPERATURES:
        return rounded(number, number, number)
    most = 1 if of.unit in TEMPERATURES else 9
    places = min(decimals(value, low, high), most)
    return f"{round(number, places):.{max(places, 0)}f}"


def _with_unit(text: str, unit: str) -> str:
    return f"{_signed(text)} {unit_told(unit)}".strip()


def _signed(text: str) -> str:
    """A true minus in place of a hyphen, and none before nought."""
    return text.replace("-", "\u2212") if text.strip("-0.") else text.removeprefix("-")
