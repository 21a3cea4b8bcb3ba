"""What to add to a file so that more of it is judged."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bmslint.judge.finding import SEVERITIES, NotJudged


class Lack(NamedTuple):
    """A setting to add, the rules that it alone would let be judged, and those that lack others too."""

    path: str
    alone: tuple[NotJudged, ...]
    among_others: tuple[NotJudged, ...]


def by_path(not_judged: Sequence[NotJudged]) -> list[Lack]:
    """Group rules that were not judged by the setting to add.

    Args:
        not_judged: the rules.

    Returns:
        The settings; those that the most severe rules wait for come first, among them those that let the
        most rules be judged, then those that the most rules wait for.
    """
    waiting: dict[str, list[NotJudged]] = {}
    for each in not_judged:
        for path in each.missing:
            waiting.setdefault(path, []).append(each)

    def weight(lack: Lack) -> tuple[int, int, int, str]:
        rules = lack.alone + lack.among_others
        severest = min(SEVERITIES.index(rule.severity) for rule in rules)
        return severest, -len(lack.alone), -len(rules), lack.path

    lacks = [
        Lack(
            path,
            tuple(rule for rule in rules if len(rule.missing) == 1),
            tuple(rule for rule in rules if len(rule.missing) > 1),
        )
        for path, rules in waiting.items()
    ]
    return sorted(lacks, key=weight)
