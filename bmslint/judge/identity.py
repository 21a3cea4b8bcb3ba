"""What makes a finding the same one in another run, though lines moved and entries were put in above it.

A finding is known by its rule and by the setting that it speaks of. Entries of a list are called by what
they are called in the file and not by their number, where the file gives each a name of its own. Baseline,
comparison and fingerprints all go by this.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from bmslint.judge.paths import joined, steps, walk

if TYPE_CHECKING:
    from bmslint.judge.finding import Finding

NAMED_BY = {
    "charge_paths": "name",
    "charge_current.steps": "from_degC",
    "pack.cell.limits.charge_current": "from_degC",
    "accepted": "rule",
    "not_applicable": "rule",
}
"""Lists whose entries have a key that tells one from the others; those of other lists go by their place."""


def identity(finding: Finding) -> str:
    """Give what a finding is known by among those of one settings file.

    Args:
        finding: of any run.

    Returns:
        The rule and the setting; the same whatever lines and places in a list became.
    """
    return f"{finding.rule} {finding.named_path or finding.path}"


def named_path(path: str, data: dict[str, Any]) -> str:
    """Give a path with entries of lists by their names.

    Args:
        path: of a setting, with places in lists.
        data: the settings that it leads into.

    Returns:
        The path, such as `charge_paths[name=regeneration].obeys`; an entry without a name of its own keeps
        its place. Empty where no entry on the way has a name.
    """
    if "[" not in path:
        return ""
    named, real = "", ""
    for step in steps(path):
        name = entry_name(real, step, data) if isinstance(step, int) else None
        real, named = joined(real, step), joined(named, step) if name is None else f"{named}[{name}]"
    return named if named != path else ""


def entry_name(path: str, number: int, data: dict[str, Any]) -> str | None:
    """Name an entry of a list by what the file calls it.

    Args:
        path: of the list.
        number: the entry's place in it, from 0.
        data: the settings.

    Returns:
        Its name as in `entry_names`; None where there is no such entry.
    """
    entries = walk(data, path) if path in NAMED_BY else None
    if not isinstance(entries, list) or number >= len(entries):
        return None
    return entry_names(path, entries)[number]


def entry_names(path: str, entries: Sequence[Mapping[str, Any]]) -> list[str | None]:
    """Name the entries of a list by what the file calls them.

    Args:
        path: of the list.
        entries: its entries.

    Returns:
        Key and value of each, such as `name=regeneration`; None where the list has no such key, or where
        two entries share the value.
    """
    key = NAMED_BY.get(path)
    names = [entry.get(key) if key else None for entry in entries]
    return [
        None
        if name is None or names.count(name) > 1
        else f"{key}={name:.10g}"
        if isinstance(name, float)
        else f"{key}={name}"
        for name in names
    ]
