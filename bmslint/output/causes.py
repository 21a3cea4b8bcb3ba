"""Findings of a run grouped by their cause: the rule, and the place that set the value.

Many profiles may take a value from one base. What hurts them is one cause, with one place to mend.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from bmslint.judge.finding import SEVERITIES

if TYPE_CHECKING:
    from bmslint.judge.finding import Finding

Key = tuple[str, str, int, int, str]


class Cause(NamedTuple):
    """A finding and the files that it was found in, `more` of which are not named.

    The finding is that of `worst`, the first file in which it is most severe; `differs` says that what is
    told of it (the numbers, say) is not the same in every file.
    """

    finding: Finding
    worst: str
    files: tuple[str, ...]
    more: int
    differs: bool

    def reach(self) -> int:
        """Count the files.

        Returns:
            Their number.
        """
        return len(self.files) + self.more


def key(finding: Finding) -> Key:
    """Give what makes two findings one cause.

    Args:
        finding: of any file.

    Returns:
        The rule, the place of the value, and the setting.
    """
    return finding.rule, finding.file, finding.line, finding.column, finding.path


class Causes:
    """Collects findings; those of one file have to come together."""

    def __init__(self, most: int | None = None, most_files: int | None = None) -> None:
        """Start without a finding.

        Args:
            most: how many causes of each severity are kept; further ones are counted. All if left out.
            most_files: how many files are named for each cause. All if left out.
        """
        self.left_out = 0
        self._most = most
        self._most_files = most_files
        self._causes: dict[Key, _Collected] = {}
        self._kept = dict.fromkeys(SEVERITIES, 0)

    def add(self, file: str, findings: Iterable[Finding]) -> None:
        """Take the findings of a file.

        Args:
            file: the file that they hurt.
            findings: of that file.
        """
        for finding in findings:
            known = self._causes.get(key(finding))
            if known is not None:
                known.add(file, finding, self._most_files)
            elif self._most is None or self._kept[finding.severity] < self._most:
                self._kept[finding.severity] += 1
                self._causes[key(finding)] = _Collected(file, finding)
            else:
                self.left_out += 1

    def found(self) -> list[Cause]:
        """Give the causes.

        Returns:
            The most severe first, among them those that reach most files, then by place and rule.
        """
        return sorted((each.cause() for each in self._causes.values()), key=_order)


class _Collected:
    __slots__ = ("differs", "files", "finding", "more", "worst")

    def __init__(self, file: str, finding: Finding) -> None:
        self.finding = finding
        self.worst = file
        self.files = [file]
        self.more = 0
        self.differs = False

    def add(self, file: str, finding: Finding, most_files: int | None) -> None:
        self.differs = self.differs or finding.message != self.finding.message
        if SEVERITIES.index(finding.severity) < SEVERITIES.index(self.finding.severity):
            self.finding, self.worst = finding, file
        if file == self.files[-1]:
            return
        if most_files is None or len(self.files) < most_files:
            self.files.append(file)
        else:
            self.more += 1

    def cause(self) -> Cause:
        return Cause(self.finding, self.worst, tuple(self.files), self.more, self.differs)


def _order(cause: Cause) -> tuple[int, int, str, int, int, str, str]:
    it = cause.finding
    return SEVERITIES.index(it.severity), -cause.reach(), it.file, it.line, it.column, it.rule, it.path
