"""How the values of settings are shown to a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.template import show, visible
from bmslint.judge.units import unit_at

if TYPE_CHECKING:
    from collections.abc import Mapping

# From how many seconds on their minutes are told too.
LONG_S = 180
LONGEST = 120
"""Characters of a value; the rest of a longer one is in the file."""


def shown_setting(path: str, value: object) -> str:
    """Write a setting's value for a person.

    Args:
        path: the setting.
        value: its value.

    Returns:
        The value with its unit; of a longer one the beginning.
    """
    text = show(value) or "(empty)"
    if isinstance(value, dict):
        text = _shown_section(value)
    elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
        text = "; ".join(_shown_section(each) for each in value)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        unit = unit_at(path)
        text = f"{text} {unit}".rstrip()
        if unit == "s" and value >= LONG_S:
            text = f"{text} ({show(round(value / 60, 1))} min)"
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 4].rsplit(' ', 1)[0]} ..."


def _shown_section(section: Mapping[str, object]) -> str:
    """Write keys with their values, the unit behind the number and not in the key."""
    told = []
    for key, value in section.items():
        unit = unit_at(key) if isinstance(value, int | float) and not isinstance(value, bool) else ""
        name = key.removesuffix("_pct" if unit == "%" else f"_{unit}") if unit else key
        inner = f"({_shown_section(value)})" if isinstance(value, dict) else show(value)
        told.append(f"{visible(name)} {inner} {unit if name != key else ''}".rstrip())
    return ", ".join(told)
