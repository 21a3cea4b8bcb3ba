"""The verdict of a file for a person.

Verdict first, then each finding with its place, then what a person took on, then what was not judged by
the setting to add, then the counts, then the caution. Severity and verdict are said in words; colour only
repeats them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bmslint.judge.finding import SEVERITIES
from bmslint.judge.template import NOT_GIVEN, show
from bmslint.output.lacks import by_path
from bmslint.output.page import Page
from bmslint.output.words import ACCEPTED, CAUTION, CONFIDENCES, HELD_BACK, NOT_APPLICABLE, TAKEN_ON, VERDICTS

if TYPE_CHECKING:
    from bmslint.judge.finding import Accepted, Finding, NotJudged, Verdict

COLOURS = {
    "accepted": "bold green",
    "note": "bold",
    "review": "bold yellow",
    "not judged": "bold yellow",
    "rejected": "bold red",
    "reject": "bold red",
    "unusable": "bold red",
}


def write_file(page: Page, verdict: Verdict, apart: bool = False) -> None:
    """Write the verdict of a file.

    Args:
        page: where to.
        verdict: of the file.
        apart: whether what is to be said of findings in other files, which it extends, is told elsewhere.
    """
    page.line((verdict.file, "bold"))
    told = _means(verdict) + _summary(verdict) + _allowed(verdict)
    page.paragraph(f"{verdict.word.upper()}: ", told, COLOURS[verdict.word], indent=0)
    page.gap()
    for problem in verdict.errors:
        where = _place(problem.file, problem.line, problem.column)
        page.line(f"{where}  {problem.path}".rstrip(), indent=2)
        page.paragraph("", problem.message, indent=4)
    if not verdict.errors:
        _write_judged(page, verdict, apart)
    page.gap()
    page.paragraph("Caution: ", CAUTION, indent=0)


def _write_judged(page: Page, verdict: Verdict, apart: bool) -> None:
    for finding in verdict.findings:
        if apart and finding.file != verdict.file:
            write_head(page, finding)
            page.paragraph("", "Told once for all that it reaches, after the last file.")
            page.gap()
        else:
            write_finding(page, finding)
    _write_assumed(page, verdict)
    _write_accepted(page, verdict)
    _write_not_applicable(page, verdict)
    _write_not_judged(page, verdict.not_judged)
    counts = verdict.counts()
    page.paragraph(
        f"{sum(counts.values())} rules: ",
        f"{counts['passed']} hold, {counts['spoke']} spoke, {counts['does_not_apply']} do not apply here, "
        f"{counts['not_judged']} not judged.",
        indent=0,
    )


def _means(verdict: Verdict) -> str:
    if verdict.word == "accepted" and verdict.held_back:
        return HELD_BACK
    leaning = verdict.word == "accepted" and any(map(verdict.taken, SEVERITIES))
    return TAKEN_ON if leaning else VERDICTS[verdict.word]


def _summary(verdict: Verdict) -> str:
    """How many findings of which severity there are, most severe first."""
    counts: dict[str, int] = {
        name: sum(each.severity == name for each in verdict.findings) for name in SEVERITIES
    }
    counts["not judged"] = len(verdict.not_judged)
    counts["taken on by a person"] = sum(map(verdict.taken, SEVERITIES))
    counts["held back by the baseline"] = len(verdict.held_back)
    told = ", ".join(f"{count} {name}" for name, count in counts.items() if count)
    return f" ({told})" if told else ""


def _allowed(verdict: Verdict) -> str:
    """That the verdict rests on a `reject` that does not count."""
    rejects = verdict.taken("reject")
    if not rejects:
        return ""
    which = "A finding `reject` does" if rejects == 1 else f"{rejects} findings `reject` do"
    return f". {which} not count, as a person took on such findings and this run allows that."


def write_head(page: Page, finding: Finding) -> None:
    """Write what a finding is called, and its place.

    Args:
        page: where to.
        finding: the finding.
    """
    page.paragraph(f"{finding.severity.capitalize()}: ", finding.title, COLOURS[finding.severity], indent=0)
    page.line(f"{_place(finding.file, finding.line, finding.column)}  {finding.path}", indent=2)


def write_finding(page: Page, finding: Finding, *more: tuple[str, str]) -> None:
    """Write all that is to be said of a finding.

    Args:
        page: where to.
        finding: the finding.
        more: head and text of paragraphs after its message.
    """
    write_head(page, finding)
    page.paragraph("", finding.message)
    for head, text in more:
        page.paragraph(head, text)
    numbers = _numbers(finding)
    if numbers:
        page.paragraph("Value: ", numbers)
    page.paragraph("Why: ", finding.why)
    for change in finding.suggest:
        page.paragraph("Passes with: ", f"{change.set}: {show(change.to)}   (tried and judged again)")
    page.paragraph("To do: ", finding.remedy)
    for place in finding.related:
        where = f"{_place(place.file, place.line, place.column)}  {place.path}"
        page.line(("Involved: ", "bold"), where, indent=2)
    page.paragraph("Rests on: ", CONFIDENCES[finding.confidence])
    page.paragraph("Rule: ", finding.rule)
    page.gap()


def _place(file: str, line: int, column: int) -> str:
    return f"{file}:{line}:{column}"


def _numbers(finding: Finding) -> str:
    """The value and the limit, where both are numbers."""
    value, limit = finding.value, finding.limit
    if not isinstance(value, float) or not isinstance(limit, float):
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    return f"{_rounded(value)}{unit}, limit {_rounded(limit)}{unit}"


def _rounded(number: float) -> str:
    return show(float(f"{number:.4g}"))


def _write_assumed(page: Page, verdict: Verdict) -> None:
    """Name the defaults once for all findings; several findings rest on the same ones."""
    assumed = sorted({name for finding in verdict.findings for name in finding.assumed})
    if not assumed:
        return
    page.paragraph("Default properties that findings rest on, each with its range:", "", indent=0)
    for name in assumed:
        page.paragraph("", name)
    page.gap()


def _write_accepted(page: Page, verdict: Verdict) -> None:
    if not verdict.accepted:
        return
    page.paragraph("Taken on by a person, as the file says:", "", indent=0)
    for entry in verdict.accepted:
        page.paragraph(
            f"{entry.rule or NOT_GIVEN}: ",
            f"{entry.reason or NOT_GIVEN} (by {entry.by or NOT_GIVEN}, until {_until(entry)}); "
            f"{ACCEPTED[entry.state]}",
        )
        for finding in entry.findings:
            page.paragraph(f"{finding.severity.capitalize()}, not counted: ", finding.title, indent=4)
            where = _place(finding.file, finding.line, finding.column)
            page.line(f"{where}  {finding.path}", indent=6)
            page.paragraph("", finding.message, indent=6)
    page.gap()


def _until(entry: Accepted) -> str:
    """The last day of an entry, and how far off it is."""
    if entry.days_left is None:
        return entry.until or NOT_GIVEN
    if entry.days_left < 0:
        return f"{entry.until}, {_days(-entry.days_left)} ago"
    return f"{entry.until}, {_days(entry.days_left)} left" if entry.days_left else f"{entry.until}, today"


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"


def _write_not_applicable(page: Page, verdict: Verdict) -> None:
    if not verdict.not_applicable:
        return
    page.paragraph("Does not concern this pack, as the file says:", "", indent=0)
    for entry in verdict.not_applicable:
        page.paragraph(
            f"{entry.rule or NOT_GIVEN}: ",
            f"{entry.reason or NOT_GIVEN}; {NOT_APPLICABLE[entry.state]}",
        )
        if entry.missing:
            page.paragraph("lacks ", ", ".join(entry.missing), "dim", indent=4)
    page.gap()


def _write_not_judged(page: Page, not_judged: Sequence[NotJudged]) -> None:
    if not not_judged:
        return
    page.paragraph("Not judged, which is not passed. Add to the file:", "", indent=0)
    for lack in by_path(not_judged):
        page.line((lack.path, "bold"), indent=2)
        for head, rules in (("lets be judged ", lack.alone), ("with others ", lack.among_others)):
            if rules:
                told = ", ".join(f"{rule.rule} ({rule.severity})" for rule in rules)
                page.paragraph(head, told, "dim", indent=4)
    page.gap()
