"""What rules about a file's own entries may name: each entry as the judge knows it, by list."""

from __future__ import annotations

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


def unknown_name(name: str, each: tuple[str, ...]) -> str:
    """Say what is unknown about a name below `item` of a rule about entries.

    Args:
        name: the name.
        each: the patterns of the rule's `each`.

    Returns:
        What is wrong; "" where every list has the name.
    """
    lacking = [pattern for pattern in each if name not in ENTRIES.get(pattern, ())]
    return f"there is no item.{name} in {lacking[0]}" if lacking else ""


def entry_faults(each: tuple[str, ...], suggests: bool) -> list[tuple[str, RuleError]]:
    """Find what a rule about entries may not do.

    Args:
        each: the patterns of its `each`.
        suggests: whether it suggests changes.

    Returns:
        The key of the rule file and what is wrong with it; none for a rule about settings.
    """
    if not any(pattern.startswith("entries.") for pattern in each):
        return []
    found = [
        (
            "each",
            RuleError(f"{pattern} is or stands beside no list of entries; those are {' and '.join(ENTRIES)}"),
        )
        for pattern in each
        if pattern not in ENTRIES
    ]
    if suggests:
        what = "a rule about entries suggests nothing: what a person took on is not for a program to change"
        found.append(("suggest", RuleError(what)))
    return found
