"""Holds back findings that were there when a repository was taken over, so that only what is new counts.

What a baseline holds back is never hidden: every verdict says how many there are. A finding that became
more severe, or is further from its limit than it was, counts again. A rule that was not judged is never held
back, for nobody knows what it would find.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bmslint.gate.baseline_file import Entry, read_entries, written_entries
from bmslint.judge.finding import SEVERITIES
from bmslint.judge.judge import verdict_word

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bmslint.judge.finding import Finding, Verdict

SAME = 1e-3
"""Share of the distance to its limit by which a finding may be further off and still be the same: other
machines and versions compute slightly differently, and a cell does not feel a thousandth."""

DIGITS = 6
ROUNDING = 2 * 10.0 ** (1 - DIGITS)
"""Digits of numbers that are kept, and the share of a number by which two of them may differ thereby."""


class Size(NamedTuple):
    """How much a baseline holds, and what became of it in a run.

    `waiting` are entries of severity `reject` without a reason, which hold nothing back; `gone` are those
    whose finding was looked for and is no more.
    """

    entries: int
    held_back: int
    waiting: int
    gone: int


class Baseline:
    """A baseline in force in a run over any number of files."""

    def __init__(self, path: Path) -> None:
        """Read it.

        Args:
            path: of its file.

        Raises:
            BaselineError: the file cannot be used.
        """
        self.path = path
        self._entries = read_entries(path)
        self._waiting: dict[str, list[Entry]] = {}
        for each in self._entries:
            self._waiting.setdefault(each.file, []).append(each)
        self._kept: list[Entry] = []
        self._held_back = 0

    def without_known(self, verdict: Verdict) -> Verdict:
        """Take out of a verdict what the baseline knows.

        Args:
            verdict: of a file; each file once.

        Returns:
            The verdict on what is new, with what is held back beside it.
        """
        file = name_of(verdict.file, self.path)
        if verdict.word == "unusable" or file not in self._waiting:
            return verdict
        waiting = self._waiting.pop(file)
        new: list[Finding] = []
        held: list[Finding] = []
        for finding in verdict.findings:
            entry = next((each for each in waiting if _is_of(each, finding)), None)
            if entry is None:
                new.append(finding)
                continue
            waiting.remove(entry)
            self._kept.append(_tightened(entry, finding))
            (new if _is_worse(entry, finding) or not entry.counts else held).append(finding)
        unjudged = {each.rule for each in verdict.not_judged}
        self._kept += [each for each in waiting if each.rule in unjudged]
        self._held_back += len(held)
        if not held:
            return verdict
        word = verdict_word(new, verdict.not_judged)
        return verdict._replace(word=word, findings=tuple(new), held_back=tuple(held))

    def size(self) -> Size:
        """Give its size, and what became of it in the run; to be asked at the end."""
        waiting = sum(not each.counts for each in self._entries)
        gone = len(self._entries) - len(self._left())
        return Size(len(self._entries), self._held_back, waiting, gone)

    def shrunk(self) -> str:
        """Write it without what is gone, each entry no looser than its finding; nothing is added.

        Returns:
            The text of the file.
        """
        return written_entries(self._left())

    def _left(self) -> list[Entry]:
        """Entries that are not gone; of files that the run did not judge, those that are still there."""
        rest = [
            each
            for file, entries in self._waiting.items()
            if os.path.lexists(self.path.parent / file)
            for each in entries
        ]
        return [*self._kept, *rest]


def taken_over(verdicts: Iterable[Verdict], path: Path, reason: str = "") -> list[Entry]:
    """Give the entries of a new baseline.

    Args:
        verdicts: of a run.
        path: of the file that they are for.
        reason: of every entry of severity `reject`; without one they hold nothing back.

    Returns:
        An entry for each finding that counts; none for a file whose name no text can hold.
    """
    verdicts = (each for each in verdicts if _is_text(each.file))
    return [
        _entry(name_of(verdict.file, path), finding, reason if finding.severity == "reject" else "")
        for verdict in verdicts
        for finding in verdict.findings
    ]


def _is_text(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def name_of(file: str, baseline: Path) -> str:
    """Give the name of a settings file in a baseline.

    Args:
        file: as it is judged.
        baseline: the baseline's file.

    Returns:
        Its path from the folder of the baseline, with forward slashes.
    """
    return Path(os.path.relpath(file, baseline.parent)).as_posix()


def _entry(file: str, finding: Finding, reason: str) -> Entry:
    value, limit = _numbers(finding)
    path = finding.named_path or finding.path
    return Entry(file, finding.rule, path, finding.severity, value, limit, reason)


def _numbers(finding: Finding) -> tuple[float | None, float | None]:
    pair = [each for each in (finding.value, finding.limit) if isinstance(each, float)]
    if len(pair) < 2:
        return None, None
    value, limit = (float(f"{each:.{DIGITS}g}") for each in pair)
    return value, limit


def _is_of(entry: Entry, finding: Finding) -> bool:
    return entry[1:3] == (finding.rule, finding.named_path or finding.path)


def _is_worse(entry: Entry, finding: Finding) -> bool:
    """Whether a finding is more severe than its entry, or further from its limit."""
    if SEVERITIES.index(finding.severity) < SEVERITIES.index(entry.severity):
        return True
    was, now = _distance(entry.value, entry.limit), _distance(*_numbers(finding))
    if was is None or now is None:
        return False
    rounded = ROUNDING * max(abs(each) for each in (entry.value, entry.limit) if each is not None)
    return now > was * (1.0 + SAME) + rounded


def _distance(value: float | None, limit: float | None) -> float | None:
    return None if value is None or limit is None else abs(value - limit)


def _tightened(entry: Entry, finding: Finding) -> Entry:
    """The entry of a finding that became milder, or came nearer to its limit; never a looser one."""
    if _is_worse(entry, finding):
        return entry
    was, now = _distance(entry.value, entry.limit), _distance(*_numbers(finding))
    fresh = _entry(entry.file, finding, entry.reason)
    if was is not None and now is not None and now > was:
        return fresh._replace(value=entry.value, limit=entry.limit)
    return fresh
