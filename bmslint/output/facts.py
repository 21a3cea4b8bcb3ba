"""Every derived quantity of a file, for a person and for a program."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bmslint import __version__
from bmslint.facts.quantity import Missing
from bmslint.judge.template import show, visible
from bmslint.output.json import written
from bmslint.output.words import CAUTION, CONFIDENCES

if TYPE_CHECKING:
    from bmslint.facts import Facts, Quantity

FORMAT = 1
"""Version of the JSON form."""


def facts_json(facts: Facts, file: str) -> str:
    """Write facts for a program.

    Args:
        facts: what was derived.
        file: the settings file.

    Returns:
        JSON text: each quantity with value, low, high, unit, basis and the defaults assumed; what
        could not be derived with the missing settings and the reason.
    """
    groups = {
        group: {name: _entry(each) for name, each in entries.items()}
        for group, entries in facts.groups.items()
    }
    head = {"version": __version__, "format": FORMAT}
    return written({"bmslint": head, "file": file, "facts": groups, "caution": CAUTION})


def _entry(each: Quantity | Missing) -> dict[str, Any]:
    if isinstance(each, Missing):
        return {"missing": list(each.paths), "reason": each.reason}
    return {
        "value": each.value,
        "low": each.low,
        "high": each.high,
        "unit": each.unit,
        "basis": each.basis,
        "assumed": list(each.assumed),
    }


def facts_text(facts: Facts, file: str) -> str:
    """Write facts for a person.

    Args:
        facts: what was derived.
        file: the settings file.

    Returns:
        Text with a line for each quantity: name, value, range, unit, what it rests on.
    """
    lines = [f"Derived from {visible(file)}", ""]
    for group, entries in facts.groups.items():
        lines.append(group)
        width = max((len(name) for name in entries), default=0)
        lines += [f"  {name:<{width}}  {_line(each)}" for name, each in entries.items()]
        lines.append("")
    return "\n".join([*lines, CAUTION, ""])


def _line(each: Quantity | Missing) -> str:
    if isinstance(each, Missing):
        add = f"; add {', '.join(each.paths)}" if each.paths else ""
        return f"not derived: {visible(each.reason)}{add}"
    if isinstance(each.value, bool) or not isinstance(each.value, int | float):
        return f"{show(each.value) or '-'}  ({CONFIDENCES[each.basis]})"
    span = "" if each.low == each.high else f"  {_number(each.low)} to {_number(each.high)}"
    unit = f" {each.unit}" if each.unit else ""
    return f"{_number(each.value)}{unit}{span}  ({CONFIDENCES[each.basis]})"


def _number(value: object) -> str:
    """Write a number with four significant digits, never as a power of ten below a million."""
    if not isinstance(value, int | float):
        return show(value)
    return show(float(f"{value:.4g}"))
