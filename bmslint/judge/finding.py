"""What the judge says: findings, what was not judged, and the verdict of a file.

Named tuples here and in the rest of this room, not dataclasses: to build a dataclass of eight fields
takes 1.5 ms at import, a named tuple 0.2 ms, and the two dozen of them are built in every run.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

Severity = Literal["reject", "review", "note"]
SEVERITIES: tuple[Severity, ...] = ("reject", "review", "note")
"""Most severe first."""

Value = bool | float | str | None


class Place(NamedTuple):
    """A setting and where it stands; line and column count from 1."""

    path: str
    file: str
    line: int
    column: int


class Change(NamedTuple):
    """One setting given another value: `set` is its path, `to` the value in the unit of its key."""

    set: str
    to: Value


class Finding(NamedTuple):
    """A rule spoke about one setting.

    `value` and `limit` are in `unit`; `related` are other settings involved; each of `suggest` was
    tried by itself and judged again before it was put here; `unfavourable_only` says that the rule
    holds at nominal properties and fails at the unfavourable end of their ranges, which is why the
    severity is one step below the rule's; `assumed` names the default properties that it rests on;
    `named_path` is the path with entries of lists by their names, empty where it has none (`identity.py`).
    """

    rule: str
    title: str
    severity: Severity
    confidence: str
    path: str
    file: str
    line: int
    column: int
    value: Value
    limit: Value
    unit: str
    message: str
    why: str
    remedy: str
    related: tuple[Place, ...] = ()
    suggest: tuple[Change, ...] = ()
    unfavourable_only: bool = False
    assumed: tuple[str, ...] = ()
    named_path: str = ""


class NotJudged(NamedTuple):
    """A rule that lacks data; `missing` are the settings that would let it be judged."""

    rule: str
    title: str
    severity: Severity
    missing: tuple[str, ...]


AcceptedState = Literal[
    "holds", "reject counts", "past its date", "no finding", "not judged", "incomplete",
    "impossible date", "unknown rule",
]  # fmt: skip
"""What became of an entry under `accepted`; only the first two take anything out of the verdict."""


class Accepted(NamedTuple):
    """An entry under `accepted`; a text that it lacks is empty.

    `days_left` counts the days until its last one, and is below 0 after that, None without a day that
    the calendar has. `findings` are those that do not count because of it; with "reject counts" others
    of the same rule do, as nobody allowed to take on findings of severity `reject`.
    """

    rule: str
    reason: str
    by: str
    until: str
    days_left: int | None
    state: AcceptedState
    path: str
    file: str
    line: int
    column: int
    findings: tuple[Finding, ...] = ()


NotApplicableState = Literal["holds", "not needed", "incomplete", "unknown rule"]
"""What became of an entry under `not_applicable`; only the first takes a rule out of those not judged."""


class NotApplicable(NamedTuple):
    """An entry under `not_applicable`; a text that it lacks is empty.

    `missing` are the settings that the rule lacks, where the entry holds.
    """

    rule: str
    reason: str
    state: NotApplicableState
    path: str
    file: str
    line: int
    column: int
    missing: tuple[str, ...] = ()


class Outcome(NamedTuple):
    """What became of a rule, and why if it does not apply."""

    state: Literal["passed", "spoke", "does not apply", "not judged"]
    reason: str = ""


class Verdict(NamedTuple):
    """Everything that was found about one settings file.

    `findings` are those that count; what a person took on stands under `accepted`, and what a baseline
    knows under `held_back`.
    """

    file: str
    word: Literal["accepted", "review", "rejected", "not judged", "unusable"]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    outcomes: Mapping[str, Outcome] = MappingProxyType({})
    accepted: tuple[Accepted, ...] = ()
    not_applicable: tuple[NotApplicable, ...] = ()
    errors: tuple[Any, ...] = ()
    held_back: tuple[Finding, ...] = ()

    def taken(self, severity: Severity) -> int:
        """Count the findings that a person took on.

        Args:
            severity: which of them.

        Returns:
            Their number; they do not count for the verdict.
        """
        return sum(finding.severity == severity for entry in self.accepted for finding in entry.findings)

    def counts(self) -> dict[str, int]:
        """Count the rules by what became of them.

        Returns:
            Numbers of rules under `passed`, `spoke`, `does_not_apply` and `not_judged`.
        """
        counts = {"passed": 0, "spoke": 0, "does_not_apply": 0, "not_judged": 0}
        for outcome in self.outcomes.values():
            counts[outcome.state.replace(" ", "_")] += 1
        return counts
