"""Runs the examples of a rule file: patches on a profile, and what its rule must make of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from bmslint.judge.entries import with_entries
from bmslint.judge.finding import Finding
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.paths import steps
from bmslint.judge.suggest import Prover
from bmslint.settings import read_text
from bmslint.settings.paths import copied, put

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document

STATES = {
    "fail": "spoke",
    "pass": "passed",
    "does_not_apply": "does not apply",
    "not_judged": "not judged",
}
TODAY = "2026-07-01"
"""The day of every example, for those with dates."""

ABSENT: dict[str, Any] = {
    "value": None,
    "limit": None,
    "unit": "",
    "related": [],
    "suggest": [],
    "unfavourable_only": False,
}


@dataclass(frozen=True, slots=True)
class Runner:
    """Runs examples of a pack.

    `profile` gives a settings file by the stem of its name,
    `judged` keeps what the rules say of the profiles themselves. Every example is of the day `TODAY`.
    """

    pack: Pack
    profile: Callable[[str], Document]
    judged: dict[str, Judgement] = field(default_factory=dict)

    def differences(self, rule: str, example: Mapping[str, Any]) -> list[str]:
        """Run one example.

        Args:
            rule: id of the rule that the example belongs to.
            example: as its model in `rulefile` describes it.

        Returns:
            What differs from the expectation, in words; empty if nothing.

        Raises:
            PackError: a rule is at fault.
        """
        profile = self.profile(example["on"])
        if profile.problems:
            return [f"the profile is not usable: {each.message}" for each in profile.problems]
        document = patched(profile, example.get("set", {}), example.get("remove", ()))
        if document.problems:
            return [f"the patch is not usable: {each.path}: {each.message}" for each in document.problems]
        if example["on"] not in self.judged:
            self.judged[example["on"]] = self.whole(profile, judge_rules(profile, self.pack))
        settings = judge_rules(document, self.pack)
        before, after = self.judged[example["on"]], self.whole(document, settings)
        prover = Prover(document, self.pack, settings)
        mine = [prover.with_suggestions(each) for each in after.spoken if each.rule.id == rule]
        return [
            *_state(rule, example, after),
            *_findings(example, mine, document),
            *_others(rule, example, before, after),
        ]

    def whole(self, document: Document, settings: Judgement) -> Judgement:
        """Judge a file's own entries too.

        Args:
            document: the file.
            settings: what the rules about settings say of it.

        Returns:
            Both.

        Raises:
            PackError: a rule is at fault.
        """
        return with_entries(settings, document, self.pack, date.fromisoformat(TODAY)).judgement


def patched(document: Document, changes: Mapping[str, object], removed: Sequence[str]) -> Document:
    """Change a settings file as an example says.

    Args:
        document: a file without problems.
        changes: new values by path; mappings on the way are made.
        removed: paths to take out.

    Returns:
        The changed settings, read again as JSON, so that positions are those of the JSON text.

    Raises:
        KeyError: a path leads nowhere.
    """
    data = copied(document.tree.data)
    data.pop("extends", None)  # what it extends is merged already
    for path, value in changes.items():
        put(data, path, value)
    for path in removed:
        *above, last = steps(path)
        holder = data
        for step in above:
            holder = holder[step]
        del holder[last]
    return read_text(json.dumps(data, indent=1), document.file)


def _state(rule: str, example: Mapping[str, Any], after: Judgement) -> list[str]:
    outcome = after.outcomes[rule]
    differences = []
    if outcome.state != STATES[example["expect"]]:
        why = f" ({outcome.reason})" if outcome.reason else ""
        differences.append(f"expected {example['expect']}, came {outcome.state}{why}")
    missing = [path for each in after.not_judged if each.rule == rule for path in each.missing]
    if sorted(missing) != sorted(example.get("missing", ())):
        differences.append(f"missing: expected {example.get('missing', [])}, came {missing}")
    reason = example.get("reason", "")
    if reason and reason != outcome.reason:
        differences.append(f"reason: expected {reason!r}, came {outcome.reason!r}")
    return differences


def _findings(example: Mapping[str, Any], mine: Sequence[Finding], document: Document) -> list[str]:
    stated = example.get("finding", [])
    expected = [{**ABSENT, **each} for each in (stated if isinstance(stated, list) else [stated])]
    came = [as_example(each) for each in mine]
    differences = [] if same(expected, came) else [f"finding: expected {expected}, came {came}"]
    for each in mine:
        position = document.position(each.path)
        if (each.file, each.line, each.column) != (position.file, position.line, position.column):
            differences.append(f"{each.path} is at {position}, the finding says {each.line}:{each.column}")
    return differences


def _others(rule: str, example: Mapping[str, Any], before: Judgement, after: Judgement) -> list[str]:
    """Other rules may not speak newly, but for those that the example names."""
    declared = set(example.get("also", ()))
    if example["expect"] in ("does_not_apply", "not_judged") and not declared:
        return []
    was = {(each.finding.rule, each.finding.path, each.finding.severity) for each in before.spoken}
    new = {
        each.finding.rule
        for each in after.spoken
        if (each.finding.rule, each.finding.path, each.finding.severity) not in was
    } - {rule}
    if new == declared:
        return []
    return [f"also: expected {sorted(declared)}, came {sorted(new)}"]


def as_example(finding: Finding) -> dict[str, Any]:
    """Give a finding in the form of an example.

    Args:
        finding: a finding.

    Returns:
        Everything in it but what the rule file says anyway, where the file has the path, and which
        defaults the facts rest on.
    """
    return {
        "severity": finding.severity,
        "confidence": finding.confidence,
        "path": finding.path,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "message": finding.message,
        "related": [place.path for place in finding.related],
        "suggest": [{"set": change.set, "to": change.to} for change in finding.suggest],
        "unfavourable_only": finding.unfavourable_only,
    }


def same(expected: object, came: object) -> bool:
    """Compare two values, numbers as far as the expected one is written.

    Args:
        expected: plain data of an example.
        came: plain data of a finding.

    Returns:
        True if they are equal; a number is rounded to the decimals of the expected one, at least one.
    """
    if isinstance(expected, bool) or isinstance(came, bool):
        return expected is came
    if isinstance(expected, int | float) and isinstance(came, int | float):
        decimals = len(repr(float(expected)).partition(".")[2].partition("e")[0])
        return bool(abs(came - expected) <= 0.5 * 10**-decimals * (1 + 1e-9))
    if isinstance(expected, dict) and isinstance(came, dict):
        return expected.keys() == came.keys() and all(same(v, came[k]) for k, v in expected.items())
    if isinstance(expected, list) and isinstance(came, list):
        return len(expected) == len(came) and all(map(same, expected, came))
    return expected == came
