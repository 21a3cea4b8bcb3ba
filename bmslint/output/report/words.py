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
    value, low, high = each.value, each.low, each.high
    if isinstance(value, bool | str) or isinstance(low, bool | str) or isinstance(high, bool | str):
        return amount(value)
    return _with_unit(rounded(value, low, high), each.unit)


def span(each: Quantity) -> str:
    """Write the range of a quantity.

    Args:
        each: a derived quantity.

    Returns:
        Both ends; empty where there is no range.
    """
    value, low, high = each.value, each.low, each.high
    if low == high:
        return ""
    if isinstance(value, bool | str) or isinstance(low, bool | str) or isinstance(high, bool | str):
        return f"{amount(low)} or {amount(high)}"
    places = decimals(value, low, high)
    ends = [_signed(f"{end:.{max(places, 0)}f}") for end in (low, high)]
    return _with_unit(" to ".join(ends), each.unit)


def _with_unit(text: str, unit: str) -> str:
    return f"{_signed(text)} {unit_told(unit)}".strip()


def _signed(text: str) -> str:
    """A true minus in place of a hyphen, and none before nought."""
    return text.replace("-", "\u2212") if text.strip("-0.") else text.removeprefix("-")
