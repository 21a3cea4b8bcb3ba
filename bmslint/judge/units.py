"""The unit of whatever a rule can name."""

from __future__ import annotations

from bmslint.facts.names import FACT_NAMES
from bmslint.settings.words import unit


def unit_at(path: str) -> str:
    """Give the unit of a value that a rule names.

    Args:
        path: a path below `facts` or `limits`, or of a setting.

    Returns:
        The unit as it is written in text, empty for a word, a count or a truth value.
    """
    root, _, rest = path.partition(".")
    if root == "facts":
        group, _, name = rest.partition(".")
        return FACT_NAMES.get(group, {}).get(name, ("", ""))[0]
    return unit(rest if root == "limits" else path)
