"""The verdicts of a run in SARIF 2.1.0, the OASIS standard for results of static analysis.

Source of the form: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0 plus Errata 01,
2023; numbers in brackets are its sections. Only what fails is a result; what could not be used or was not
judged is a notification, and what a person took on or a baseline holds back is a result that is suppressed.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path, PurePath
from typing import IO, TYPE_CHECKING, Any
from urllib.parse import quote

from bmslint import __version__
from bmslint.judge.finding import Accepted
from bmslint.judge.identity import identity
from bmslint.judge.template import visible
from bmslint.output.json import written
from bmslint.output.later import Later
from bmslint.output.words import CAUTION, CONFIDENCES

if TYPE_CHECKING:
    from bmslint.gate.baseline import Baseline
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.rule import Rule
    from bmslint.output.writers import Run

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
ROOT = "%SRCROOT%"
"""Stands for the root of the repository [3.14.14]; where it lies on one machine is nobody's business."""

LEVELS = {"reject": "error", "review": "warning", "note": "note"}

UNUSABLE, NOT_JUDGED = "unusable-file", "not-judged"
NOTICES = {
    UNUSABLE: (
        "A settings file, or a folder, could not be used, so nothing in it was judged.",
        "Mend what is named at its place, and judge again.",
    ),
    NOT_JUDGED: (
        "Rules lack data and were not judged, which is not passed.",
        "Add the settings named, or say under `not_applicable` why a rule does not concern the pack.",
    ),
}
"""What is said of a run that is no result, and what to do about it."""


class SarifWriter:
    """Writes a run of the standard, results as they come and everything else after them."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Write what stands before the results."""
        self.run = run
        self.stream = stream
        self.rules: dict[str, int] = {}
        self.notices = Later()
        self.usable = True
        self.words: dict[str, int] = {}
        self.between = "\n"
        stream.write(f'{{\n  "$schema": "{SCHEMA}",\n  "version": "2.1.0",\n  "runs": [\n    {{\n')
        stream.write('      "results": [')

    def add(self, verdict: Verdict) -> None:
        """Write what failed in a file, and keep what else is to be said of it."""
        self.words[verdict.word] = self.words.get(verdict.word, 0) + 1
        for finding in verdict.findings:
            self._result(verdict.file, finding, None)
        for entry in verdict.accepted:
            for finding in entry.findings:
                self._result(verdict.file, finding, entry)
        for finding in verdict.held_back:
            self._result(verdict.file, finding, self.run.baseline)
        for error in verdict.errors:
            self.usable = False
            place = self._place(error.file, error.line, error.column)
            told = f"{_where(error.path)}{error.message}{_hurts(verdict.file, error.file)}"
            self._notice(UNUSABLE, "error", told, place, {})
        if verdict.not_judged:
            lacks = [
                {"rule": each.rule, "severity": each.severity, "missing": list(each.missing)}
                for each in verdict.not_judged
            ]
            told = "Not judged, which is not passed: " + "; ".join(
                f"{each.rule} ({each.severity}) lacks {', '.join(each.missing)}"
                for each in verdict.not_judged
            )
            level = "warning" if any(each.severity == "reject" for each in verdict.not_judged) else "note"
            self._notice(NOT_JUDGED, level, told, self._place(verdict.file, 1, 1), {"not_judged": lacks})

    def end(self) -> None:
        """Write the rules that spoke, the notifications, and the caution."""
        pack = self.run.pack
        own: list[dict[str, Any]] = []
        if pack.own:
            from bmslint.output.own import own_json

            own = own_json(pack.own)
        by_id = {rule.id: rule for rule in pack.rules}
        driver = {
            "name": "bmslint",
            "fullName": f"bmslint {__version__}",
            "version": __version__,
            "semanticVersion": __version__,
            "rules": [_rule(by_id[name]) for name in self.rules],
            "notifications": [
                {**_described(name, told), "help": _text(what)} for name, (told, what) in NOTICES.items()
            ],
        }
        self.stream.write("\n      ],\n" if self.between != "\n" else "],\n")
        self.stream.write(f'      "tool": {_indented({"driver": driver}, 6)},\n      "invocations": [\n')
        usable = "true" if self.usable else "false"
        self.stream.write(f'        {{\n          "executionSuccessful": {usable},\n')
        self.stream.write('          "toolExecutionNotifications": [')
        self.notices.copy_to(self.stream)
        self.stream.write(
            "\n          ]\n        }\n      ],\n" if self.notices else "]\n        }\n      ],\n"
        )
        rest: dict[str, Any] = {
            "automationDetails": {"id": "bmslint/"},
            "originalUriBaseIds": {ROOT: {"description": _text("The root of the repository.")}},
            "columnKind": "unicodeCodePoints",
            "properties": {
                "caution": CAUTION,
                "rules": {"name": pack.name, "digest": pack.digest, "rules": len(pack.rules), "own": own},
                "verdicts": dict(sorted(self.words.items())),
            },
        }
        if self.run.baseline is not None:
            from bmslint.output.held_back import baseline_json

            rest["properties"]["baseline"] = baseline_json(self.run.baseline)
        self.stream.write(f"{_indented(rest, 4)[2:]}\n  ]\n}}\n")

    def _result(self, file: str, finding: Finding, by: Accepted | Baseline | None) -> None:
        cause = f"{identity(finding)}\0{self._uri(finding.file)}"
        result: dict[str, Any] = {
            "ruleId": finding.rule,
            "ruleIndex": self.rules.setdefault(finding.rule, len(self.rules)),
            "level": LEVELS[finding.severity],
            "message": _text(visible(finding.message + _hurts(file, finding.file))),
            "locations": [self._setting(finding.path, finding.file, finding.line, finding.column)],
            "partialFingerprints": {
                "cause/v1": _digest(cause),
                "causeInProfile/v1": _digest(f"{cause}\0{self._uri(file)}"),
            },
            "properties": {
                "profile": file,
                "confidence": CONFIDENCES[finding.confidence],
                "value": finding.value,
                "limit": finding.limit,
                "unit": finding.unit,
                "unfavourable_only": finding.unfavourable_only,
                "suggest": [{"set": each.set, "to": each.to} for each in finding.suggest],
            },
        }
        if finding.related:
            result["relatedLocations"] = [
                {"id": number, "message": _text(visible(each.path)), **self._setting(*each)}
                for number, each in enumerate(finding.related)
            ]
        if by is not None:
            result["suppressions"] = [self._suppression(by)]
        self.stream.write(f"{self.between}        {_indented(result, 8)}")
        self.between = ",\n"

    def _suppression(self, by: Accepted | Baseline) -> dict[str, Any]:
        if not isinstance(by, Accepted):
            told = f"held back by the baseline {by.path}, as it was there when the repository was taken over"
            return {"kind": "external", "status": "accepted", "justification": visible(told)}
        told = f"{by.reason} (by {by.by}, until {by.until})"
        place = self._setting(by.path, by.file, by.line, by.column)
        return {"kind": "inSource", "status": "accepted", "justification": visible(told), "location": place}

    def _notice(self, name: str, level: str, told: str, place: dict[str, Any], extra: dict[str, Any]) -> None:
        notice: dict[str, Any] = {
            "descriptor": {"id": name, "index": list(NOTICES).index(name)},
            "level": level,
            "message": _text(visible(told)),
            "locations": [place],
        }
        if extra:
            notice["properties"] = extra
        self.notices.write(f"{',' if self.notices else ''}\n            {_indented(notice, 12)}")

    def _setting(self, path: str, file: str, line: int, column: int) -> dict[str, Any]:
        place = self._place(file, line, column)
        return {**place, "logicalLocations": [{"fullyQualifiedName": visible(path)}]} if path else place

    def _place(self, file: str, line: int, column: int) -> dict[str, Any]:
        uri = self._uri(file)
        base = {} if ":" in uri else {"uriBaseId": ROOT}
        region = {"startLine": line, "startColumn": column}
        return {"physicalLocation": {"artifactLocation": {"uri": uri, **base}, "region": region}}

    def _uri(self, file: str) -> str:
        """A file relative to the root [3.4.4]; one outside of it, or on another drive, by its whole name."""
        whole = os.path.abspath(file)  # noqa: PTH100  # a link is called by its own name
        try:
            inside = PurePath(os.path.relpath(whole, self.run.root)).as_posix()
        except ValueError:
            inside = ".."
        if inside.startswith(".."):
            return Path(whole).as_uri()
        return quote(os.fsencode(inside))


def _indented(value: object, spaces: int) -> str:
    return written(value).removesuffix("\n").replace("\n", "\n" + " " * spaces)


def _text(text: str) -> dict[str, str]:
    return {"text": text}


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:32]


def _hurts(file: str, place: str) -> str:
    """The profile that a value in another file hurts."""
    return "" if file == place else f" This hurts {file}."


def _where(path: str) -> str:
    return f"{path}: " if path else ""


def _described(name: str, told: str) -> dict[str, Any]:
    """What rules and notifications have in common [3.49]; some readers ask for a name in this form."""
    joined = "".join(word.capitalize() for word in name.split("-"))
    named = {"name": joined} if joined.lower() != name else {}
    return {"id": name, **named, "shortDescription": _text(told), "fullDescription": _text(told)}


def _rule(rule: Rule) -> dict[str, Any]:
    """A rule with what a person needs to know of it."""
    sources = [f"{each.title}{each.clause and ', '}{each.clause} ({each.how})" for each in rule.sources]
    parts = [("Why", [rule.why]), ("To do", [rule.remedy]), ("Sources", sources)]
    return {
        **_described(rule.id, _line(rule.title) + "."),
        "fullDescription": _text(_line(rule.why)),
        "help": _text("\n".join(f"{head}: {_line('; '.join(told))}" for head, told in parts if told)),
        "defaultConfiguration": {"level": LEVELS[rule.severity]},
        "properties": {"family": rule.family, "severity": rule.severity},
    }


def _line(text: str) -> str:
    return visible(" ".join(text.split()))
