"""Every derived quantity of a file, for a person and for a program."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, Any

from bmslint import __version__
from bmslint.facts.quantity import BASES, Missing
from bmslint.judge.template import show, visible
from bmslint.output.json import written
from bmslint.output.words import CAUTION

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


def facts_text(facts: Facts, file: str, columns: int) -> str:
    """Write facts for a person.

    Args:
        facts: what was derived.
        file: the settings file.
        columns: width to wrap at; names are never broken.

    Returns:
        Text with an entry for each quantity: name, value, range, unit, what it rests on. A group that is
        missing for one and the same reason is told in one entry.
    """
    told = f"In brackets what each value rests on, weakest first: {', '.join(BASES)}."
    lines = [f"Derived from {visible(file)}", *wrap(told, max(columns, 40)), ""]
    for group, entries in facts.groups.items():
        lines.append(group)
        lines_told = {_line(each) for each in entries.values()}
        if len(lines_told) == 1 and all(isinstance(each, Missing) for each in entries.values()):
            lines += wrap(lines_told.pop(), max(columns, 40), initial_indent="  ", subsequent_indent="  ")
        else:
            width = max((len(name) for name in entries), default=0)
            for name, each in entries.items():
                lines += _entry_lines(f"{name:<{width}}", _line(each), columns)
        lines.append("")
    return "\n".join([*lines, *wrap(CAUTION, max(columns, 40)), ""])


def _entry_lines(name: str, told: str, columns: int) -> list[str]:
    """Write name and value on a line, or the value wrapped below where they do not fit."""
    whole = f"  {name}  {told}"
    if len(whole) <= columns:
        return [whole]
    indent = " " * 6
    below = wrap(
        told, max(columns, 40), initial_indent=indent, subsequent_indent=indent, break_long_words=False
    )
    return [f"  {name.rstrip()}", *below]


def _line(each: Quantity | Missing) -> str:
    if isinstance(each, Missing):
        lacking = [path for path in each.paths if path not in each.reason]
        add = f"; add {', '.join(lacking)}" if lacking else ""
        return f"not derived: {visible(each.reason)}{add}"
    if isinstance(each.value, bool) or not isinstance(each.value, int | float):
        return f"{show(each.value) or '-'}  ({each.basis})"
    span = "" if each.low == each.high else f"  {_number(each.low)} to {_number(each.high)}"
    unit = f" {each.unit}" if each.unit else ""
    return f"{_number(each.value)}{unit}{span}  ({each.basis})"


def _number(value: object) -> str:
    """Write a number with four significant digits, never as a power of ten below a million."""
    if not isinstance(value, int | float):
        return show(value)
    return show(float(f"{value:.4g}"))
