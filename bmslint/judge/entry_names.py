"""What rules about a file's own entries may name: each entry as the judge knows it, by list."""

from __future__ import annotations

from collections.abc import Iterable

from bmslint.judge.faults import RuleError

ENTRIES: dict[str, dict[str, str]] = {
    "entries.accepted[*]": {
        "path": "Where the entry stands, such as accepted[0].",
        "rule": "Id of the rule, empty where the entry has none.",
        "until": "Last day on which it holds, empty where the entry has none.",
        "lacks": "Keys that the entry should have and has not, empty for none.",
        "known": "Whether a rule of that id judged settings in this run.",
        "judged": "Whether there is such a rule and it had the data that it needs.",
        "found": "Whether that rule finds something that no other entry takes.",
        "possible": "Whether the calendar has the day that it holds until.",
        "past": "Whether that day is past.",
        "days_left": "Days until then, 0 on the last one, below 0 after it; absent without a day.",
    },
    "entries.not_applicable[*]": {
        "path": "Where the entry stands, such as not_applicable[0].",
        "rule": "Id of the rule, empty where the entry has none.",
        "lacks": "Keys that the entry should have and has not, empty for none.",
        "known": "Whether a rule of that id judged settings in this run.",
        "needed": "Whether that rule lacks data, so that the entry says something.",
        "became": "What became of that rule by itself.",
    },
}
"""By list, every name below `item` and what it says."""


def about_entries(each: tuple[str, ...]) -> bool:
    """Tell rules about a file's entries from rules about settings; the former run after the latter.

    Args:
        each: the patterns of a rule's `each`.

    Returns:
        True if they name entries.
    """
    return bool(each) and each[0].startswith("entries.")


def entry_faults(each: tuple[str, ...], suggests: bool, named: Iterable[str]) -> list[tuple[str, RuleError]]:
    """Find what a rule about entries may not do.

    Args:
        each: the patterns of its `each`.
        suggests: whether it suggests changes.
        named: paths that its expressions read.

    Returns:
        The key of the rule file and what is wrong with it; none for a rule about settings.
    """
    if not any(pattern.startswith("entries.") for pattern in each):
        return []
    found = []
    for pattern in each:
        if pattern not in ENTRIES:
            what = f"{pattern} stands beside or is no list of entries; those are {' and '.join(ENTRIES)}"
            found.append(("each", RuleError(what)))
    if suggests:
        what = "a rule about entries suggests nothing: what a person took on is not for a program to change"
        found.append(("suggest", RuleError(what)))
    known = [set(ENTRIES.get(pattern, ())) for pattern in each]
    for path in named:
        root, _, name = path.partition(".")
        if root == "item" and not all(name in names for names in known):
            found.append(("require", RuleError(f"there is no {path} in every entry that the rule looks at")))
    return found
