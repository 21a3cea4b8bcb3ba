"""What the judge says: findings, what was not judged, and the verdict of a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Severity = Literal["reject", "review", "note"]
SEVERITIES: tuple[Severity, ...] = ("reject", "review", "note")
"""Most severe first."""

Value = bool | float | str | None


@dataclass(frozen=True, slots=True)
class Place:
    """A setting and where it stands; line and column count from 1."""

    path: str
    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Change:
    """One setting given another value: `set` is its path, `to` the value in the unit of its key."""

    set: str
    to: Value


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule spoke about one setting.

    `value` and `limit` are in `unit`; `related` are other settings involved; each of `suggest` was
    tried by itself and judged again before it was put here; `unfavourable_only` says that the rule
    holds at nominal properties and fails at the unfavourable end of their ranges, which is why the
    severity is one step below the rule's; `assumed` names the default properties that it rests on.
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


@dataclass(frozen=True, slots=True)
class NotJudged:
    """A rule that lacks data; `missing` are the settings that would let it be judged."""

    rule: str
    title: str
    severity: Severity
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a rule, and why if it does not apply."""

    state: Literal["passed", "spoke", "does not apply", "not judged"]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Everything that was found about one settings file."""

    file: str
    word: Literal["accepted", "review", "rejected", "not judged", "unusable"]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    outcomes: Mapping[str, Outcome] = field(default_factory=dict)
    accepted: tuple[Mapping[str, Any], ...] = ()
    errors: tuple[Any, ...] = ()

    def counts(self) -> dict[str, int]:
        """Count the rules by what became of them.

        Returns:
            Numbers of rules under `passed`, `spoke`, `does_not_apply` and `not_judged`.
        """
        counts = {"passed": 0, "spoke": 0, "does_not_apply": 0, "not_judged": 0}
        for outcome in self.outcomes.values():
            counts[outcome.state.replace(" ", "_")] += 1
        return counts
