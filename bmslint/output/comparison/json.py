"""A comparison for a program; its form is published in `compare.schema.json`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bmslint import __version__
from bmslint.gate.facts_changed import AMOUNTS, LEAST_SHARE
from bmslint.output.json import written
from bmslint.output.own import own_json
from bmslint.output.words import CAUTION

if TYPE_CHECKING:
    from bmslint.gate.compare import Comparison, FileComparison
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.pack import Pack

FORMAT = 1
"""Version of the form; it changes when a key changes its meaning or goes."""

OF_A_FINDING = (
    "rule", "title", "severity", "confidence", "path", "file", "line", "column", "value", "limit", "unit",
    "message", "remedy",
)  # fmt: skip


def comparison_json(comparison: Comparison, pack: Pack) -> str:
    """Write a comparison.

    Args:
        comparison: of all files.
        pack: the rules that both sides were judged by.

    Returns:
        JSON text.
    """
    return written(
        {
            "bmslint": {"version": __version__, "format": FORMAT},
            "pack": {
                "name": pack.name,
                "digest": pack.digest,
                "rules": len(pack.rules),
                "own": own_json(pack.own),
            },
            "old": comparison.old,
            "new": comparison.new,
            "files": [_file(each) for each in comparison.files],
            "unchanged": {"files": comparison.unchanged, "findings": dict(comparison.still)},
            "facts_told_from": {"by_unit": dict(AMOUNTS), "share": LEAST_SHARE},
            "caution": CAUTION,
        }
    )


def _file(file: FileComparison) -> dict[str, Any]:
    return {
        "file": file.name,
        "state": file.state,
        "verdict_was": _word(file.was),
        "verdict": _word(file.now),
        "errors": [
            {"file": each.file, "line": each.line, "column": each.column, "path": each.path,
             "expected": each.expected, "came": each.came, "advice": each.advice}
            for each in (file.now.errors if file.now is not None else ())
        ],
        "settings": [
            {"path": each.path, "was": each.was, "now": each.now, "direction": each.direction,
             "why": each.why, "file": each.place.file, "line": each.place.line,
             "column": each.place.column, "place_is_in": "new" if each.in_new else "old"}
            for each in file.settings
        ],
        "came": [_finding(each) for each in file.came],
        "went": [_finding(each) for each in file.went],
        "stayed": [{"was_severity": was.severity, "finding": _finding(now)} for was, now in file.stayed],
        "taken_on": [_finding(each) for each in file.taken_on],
        "not_judged": [
            {"rule": each.rule, "title": each.title, "severity": each.severity, "missing": list(each.missing)}
            for each in file.unjudged
        ],
        "facts": [each._asdict() for each in file.facts],
    }  # fmt: skip


def _finding(finding: Finding) -> dict[str, Any]:
    return {key: getattr(finding, key) for key in OF_A_FINDING}


def _word(verdict: Verdict | None) -> str | None:
    return None if verdict is None else verdict.word
