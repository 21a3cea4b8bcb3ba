"""How values are written on the page: units by their signs, numbers with the digits that they deserve."""

from __future__ import annotations

from bmslint.facts.quantity import Quantity
from bmslint.judge.template import show
from bmslint.output.digits import rounded
from bmslint.output.story.teller import error, number

UNITS = {
    "degC": "°C",
    "kg/m3": "kg/m³",
    "1/h": "times an hour",
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
    """Write the value of a quantity as a story would: with the digits that its range deserves.

    Args:
        each: a derived quantity.

    Returns:
        The value with its unit.
    """
    value = each.value
    if isinstance(value, bool | str):
        return amount(value)
    told = number(value, each.unit, "", error(each))
    return _with_unit(told.text, told.unit)


def span(each: Quantity) -> str:
    """Write the range of a quantity.

    Args:
        each: a derived quantity.

    Returns:
        Both ends; empty where there is no range, or none that could be told from the value.
    """
    if each.low == each.high:
        return ""
    if isinstance(each.low, bool | str) or isinstance(each.high, bool | str):
        return f"{amount(each.low)} or {amount(each.high)}"
    low, high = (number(end, each.unit, "", error(each)) for end in (each.low, each.high))
    if str(low) == str(high):
        return ""
    first = _with_unit(low.text, low.unit if low.unit != high.unit else "")
    return f"{first} to {_with_unit(high.text, high.unit)}"


def _with_unit(text: str, unit: str) -> str:
    return f"{_signed(text)} {unit_told(unit)}".strip()


def _signed(text: str) -> str:
    """A true minus in place of a hyphen, and none before nought."""
    return text.replace("-", "\u2212") if text.strip("-0.") else text.removeprefix("-")
