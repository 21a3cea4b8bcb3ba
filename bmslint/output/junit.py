"""The verdicts of a run as JUnit XML, which build servers read: a suite for each file, a case for each rule.

There is no standard of this form; what is written keeps to what its readers have in common. A rule that
passed is a case without more, a finding that fails the run is a failure, a rule that was not judged is
skipped and says what it lacks, and a file that could not be used is an error. A milder finding, and one that
a person took on or a baseline holds back, passes and is told in the output of its case. Rules that do not
apply are only counted.
"""

from __future__ import annotations

from typing import IO, TYPE_CHECKING
from xml.etree import ElementTree

from bmslint.judge.finding import SEVERITIES
from bmslint.judge.template import visible
from bmslint.output.words import CAUTION

if TYPE_CHECKING:
    from bmslint.judge.finding import Accepted, Finding, Verdict
    from bmslint.output.writers import Run


class JunitWriter:
    """Writes a run suite by suite."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Write the head."""
        self.stream = stream
        self.baseline = run.baseline
        self.failing = SEVERITIES[: SEVERITIES.index(run.fail_on) + 1]
        stream.write('<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="bmslint">\n')

    def add(self, verdict: Verdict) -> None:
        """Write the suite of a file."""
        suite = ElementTree.Element("testsuite", name=visible(verdict.file))
        told = ElementTree.SubElement(suite, "properties")
        counts = verdict.counts()
        for name, value in {
            "verdict": verdict.word,
            "rules that do not apply": str(counts["does_not_apply"]),
            **({"held back by the baseline": str(len(verdict.held_back))} if self.baseline else {}),
            "caution": CAUTION,
        }.items():
            ElementTree.SubElement(told, "property", name=name, value=value)
        self._cases(suite, verdict)
        for name, tag in (("tests", "testcase"), ("failures", "failure"), ("errors", "error")):
            suite.set(name, str(len(list(suite.iter(tag)))))
        self._write(suite)

    def end(self) -> None:
        """Tell of the baseline, in a suite without a case, and close the head."""
        if self.baseline is not None:
            from bmslint.output.held_back import baseline_told

            suite = ElementTree.Element("testsuite", name="baseline", tests="0", failures="0", errors="0")
            told = ElementTree.SubElement(suite, "properties")
            value = visible(baseline_told(self.baseline))
            ElementTree.SubElement(told, "property", name="baseline", value=value)
            self._write(suite)
        self.stream.write("</testsuites>\n")

    def _write(self, suite: ElementTree.Element) -> None:
        suite.set("skipped", str(len(list(suite.iter("skipped")))))
        suite.set("time", "0")  # asked for by readers; what a run took would differ from run to run
        ElementTree.indent(suite, level=1)
        self.stream.write("  " + ElementTree.tostring(suite, encoding="unicode").strip() + "\n")

    def _cases(self, suite: ElementTree.Element, verdict: Verdict) -> None:
        for error in verdict.errors:
            where = f"{error.file}:{error.line}:{error.column}"
            case = _case(suite, f"can be used: {where}")
            _say(case, "error", "unusable", error.message, f"{where}: {_path(error.path)}{error.message}")
        for finding in verdict.findings:
            case = _case(suite, f"{finding.rule}: {finding.path}")
            if finding.severity in self.failing:
                _say(case, "failure", finding.severity, finding.message, _told(finding))
            else:
                _print(case, f"{finding.severity}, which does not fail this run\n{_told(finding)}")
        for entry in verdict.accepted:
            for finding in entry.findings:
                _print(_case(suite, f"{finding.rule}: {finding.path}"), _taken_on(entry, finding))
        for finding in verdict.held_back:
            case = _case(suite, f"{finding.rule}: {finding.path}")
            _print(case, f"{finding.severity}, held back by the baseline\n{_told(finding)}")
        for lacking in verdict.not_judged:
            message = (
                f"not judged, which is not passed ({lacking.severity}); add {', '.join(lacking.missing)}"
            )
            _say(_case(suite, lacking.rule), "skipped", "", message, "")
        for rule in sorted(name for name, outcome in verdict.outcomes.items() if outcome.state == "passed"):
            _case(suite, rule)


def _case(suite: ElementTree.Element, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(
        suite, "testcase", classname=suite.get("name", ""), name=visible(name), time="0"
    )


def _say(case: ElementTree.Element, tag: str, kind: str, message: str, text: str) -> None:
    said = ElementTree.SubElement(
        case, tag, {"message": visible(message), **({"type": kind} if kind else {})}
    )
    said.text = _lines(text) or None


def _print(case: ElementTree.Element, text: str) -> None:
    ElementTree.SubElement(case, "system-out").text = _lines(text)


def _lines(text: str) -> str:
    return "\n".join(visible(line) for line in text.split("\n"))


def _path(path: str) -> str:
    return f"{path}: " if path else ""


def _told(finding: Finding) -> str:
    lines = [
        _one_line(finding.title),
        f"{finding.file}:{finding.line}:{finding.column}: {finding.path}",
        _one_line(finding.message),
        f"Why: {_one_line(finding.why)}",
        f"To do: {_one_line(finding.remedy)}",
    ]
    return "\n".join(lines)


def _taken_on(entry: Accepted, finding: Finding) -> str:
    by = f"taken on by {entry.by} until {entry.until}: {entry.reason}"
    return f"{finding.severity}, {_one_line(by)}\n{_told(finding)}"


def _one_line(text: str) -> str:
    return " ".join(text.split())
