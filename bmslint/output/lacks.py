"""What to add to a file so that more of it is judged."""

from __future__ import annotations

from collections import Counter
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
        The settings; those that the most severe rules wait for come first, among them those that alone
        let the most rules be judged, the most severe counted first, then those that the most rules wait
        for. A setting also gives the section that it stands in.
    """
    paths = dict.fromkeys(path for each in not_judged for path in each.missing)
    giving: dict[str, list[str]] = {}
    for path in paths:
        for section in _sections(path):
            giving.setdefault(section, []).append(path)
    alone: dict[str, list[NotJudged]] = {path: [] for path in paths}
    among_others: dict[str, list[NotJudged]] = {path: [] for path in paths}
    for each in not_judged:
        gives = Counter(path for lacking in each.missing for path in giving[lacking])
        for path, number in gives.items():
            (alone if number == len(each.missing) else among_others)[path].append(each)
    return sorted((Lack(path, tuple(alone[path]), tuple(among_others[path])) for path in paths), key=_weight)


def _sections(path: str) -> list[str]:
    """The path and every section that it stands in."""
    ends = [i for i, sign in enumerate(path) if sign in ".["]
    return [*(path[:end] for end in ends), path]


def _weight(lack: Lack) -> tuple[int, list[int], int, str]:
    rules = lack.alone + lack.among_others
    severest = min(SEVERITIES.index(rule.severity) for rule in rules)
    alone = [-sum(rule.severity == severity for rule in lack.alone) for severity in SEVERITIES]
    return severest, alone, -len(rules), lack.path
