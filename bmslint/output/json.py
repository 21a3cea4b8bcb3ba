"""The verdicts of a run for a program; their form is published in `check.schema.json`."""

from __future__ import annotations

import json
from typing import IO, TYPE_CHECKING, Any

from bmslint import __version__
from bmslint.output.words import CAUTION

if TYPE_CHECKING:
    from bmslint.judge.finding import Accepted, Finding, NotApplicable, Verdict
    from bmslint.output.writers import Run

FORMAT = 1
"""Version of the form; it changes when a key changes its meaning or goes."""


def written(value: object) -> str:
    """Write plain data as JSON, the same bytes for the same data.

    Args:
        value: mappings, lists, text, numbers, truth values, None.

    Returns:
        Indented ASCII text that ends in a line break.

    Raises:
        ValueError: a number is not finite.
    """
    return json.dumps(value, indent=2, allow_nan=False) + "\n"


class JsonWriter:
    """Writes a run as one object, a file at a time, in the bytes that `written` would give the whole."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Write what is said of program and rules."""
        pack = run.pack
        own: list[dict[str, Any]] = []
        if pack.own:
            from bmslint.output.own import own_json

            own = own_json(pack.own)
        head = {
            "bmslint": {"version": __version__, "format": FORMAT},
            "pack": {"name": pack.name, "digest": pack.digest, "rules": len(pack.rules), "own": own},
        }
        self.stream = stream
        self.baseline = run.baseline
        self.between = "\n"
        stream.write(written(head).removesuffix("\n}\n") + ',\n  "files": [')

    def add(self, verdict: Verdict) -> None:
        """Write the verdict of a file."""
        text = written(_file(verdict)).removesuffix("\n").replace("\n", "\n    ")
        self.stream.write(f"{self.between}    {text}")
        self.between = ",\n"

    def end(self) -> None:
        """Write what a baseline held back, and the caution."""
        known = None
        if self.baseline is not None:
            from bmslint.output.held_back import baseline_json

            known = baseline_json(self.baseline)
        rest = {"baseline": known, "caution": CAUTION}
        self.stream.write(f"\n  ],{written(rest)[1:]}")


def _file(verdict: Verdict) -> dict[str, Any]:
    return {
        "file": verdict.file,
        "verdict": verdict.word,
        "findings": [_finding(each) for each in verdict.findings],
        "held_back": [_finding(each) for each in verdict.held_back],
        "not_judged": [
            {
                "rule": each.rule,
                "title": each.title,
                "severity": each.severity,
                "missing": list(each.missing),
            }
            for each in verdict.not_judged
        ],
        "accepted": [_accepted(each) for each in verdict.accepted],
        "accepted_rejects": verdict.taken("reject"),
        "not_applicable": [
            {
                "rule": each.rule or None,
                "reason": each.reason or None,
                "state": each.state,
                **_entry_place(each),
                "missing": list(each.missing),
            }
            for each in verdict.not_applicable
        ],
        "errors": [
            {
                "file": each.file,
                "line": each.line,
                "column": each.column,
                "path": each.path,
                "expected": each.expected,
                "came": each.came,
                "advice": each.advice,
            }
            for each in verdict.errors
        ],
        "counts": verdict.counts(),
    }


def _entry_place(entry: Accepted | NotApplicable) -> dict[str, Any]:
    return {"path": entry.path, "file": entry.file, "line": entry.line, "column": entry.column}


def _accepted(entry: Accepted) -> dict[str, Any]:
    return {
        "rule": entry.rule or None,
        "reason": entry.reason or None,
        "by": entry.by or None,
        "until": entry.until or None,
        "days_left": entry.days_left,
        "state": entry.state,
        **_entry_place(entry),
        "findings": [_finding(each) for each in entry.findings],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "title": finding.title,
        "severity": finding.severity,
        "confidence": finding.confidence,
        "path": finding.path,
        "file": finding.file,
        "line": finding.line,
        "column": finding.column,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "message": finding.message,
        "why": finding.why,
        "remedy": finding.remedy,
        "unfavourable_only": finding.unfavourable_only,
        "assumed": list(finding.assumed),
        "related": [
            {"path": each.path, "file": each.file, "line": each.line, "column": each.column}
            for each in finding.related
        ],
        "suggest": [{"set": each.set, "to": each.to} for each in finding.suggest],
    }
