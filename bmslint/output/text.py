"""The verdicts of a run for a person.

Verdict first, then each finding with its place, then what was not judged by the setting to add, then
the counts, then the caution. Severity and verdict are said in words; colour only repeats them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import IO, TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from bmslint.judge.finding import SEVERITIES, NotJudged
from bmslint.judge.template import show, visible
from bmslint.output.words import CAUTION, CONFIDENCES, VERDICTS

if TYPE_CHECKING:
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.own.changes import OwnPack

COLOURS = {
    "accepted": "bold green",
    "note": "bold",
    "review": "bold yellow",
    "not judged": "bold yellow",
    "rejected": "bold red",
    "reject": "bold red",
    "unusable": "bold red",
}


def write_check(
    verdicts: Sequence[Verdict], stream: IO[str], width: int | None = None, own: Sequence[OwnPack] = ()
) -> None:
    """Write the verdicts of a run.

    Args:
        verdicts: one for each file, in the order to write them.
        stream: where to; coloured only if it is a terminal.
        width: columns; the terminal's if left out.
        own: folders of one's own that took part, told before the verdicts.
    """
    page = _Page(_Console(file=stream, width=width, highlight=False, markup=False, emoji=False))
    if own:
        _write_own(page, own)
    for number, verdict in enumerate(verdicts):
        if number:
            page.gap()
        _write_file(page, verdict)
    if len(verdicts) > 1:
        page.gap()
        words = [each.word for each in verdicts]
        told = ", ".join(f"{words.count(word)} {word}" for word in VERDICTS if word in words)
        page.paragraph(f"{len(verdicts)} files: ", told + ".", indent=0)


def _write_own(page: _Page, own: Sequence[OwnPack]) -> None:
    from bmslint.output.own import own_told

    for head, text in own_told(own):
        page.paragraph(head, text, indent=0)
    page.gap()


class _Console(Console):
    """A console that leaves a closed pipe to the command, where rich would end the process with 1."""

    def on_broken_pipe(self) -> None:
        """Hand the closed pipe on."""
        raise BrokenPipeError


class _Page:
    """Lines and wrapped paragraphs on a console."""

    def __init__(self, console: Console) -> None:
        self.console = console

    def line(self, *parts: str | Text | tuple[str, str], indent: int = 0) -> None:
        """Write a line that is never wrapped, so that a place can be clicked and searched for."""
        self.console.print(Text.assemble(" " * indent, *parts), soft_wrap=True)

    def paragraph(self, head: str, text: str, style: str = "bold", indent: int = 2) -> None:
        """Write a wrapped paragraph with a styled head."""
        body = Text.assemble((head, style), visible(text))
        for row in body.wrap(self.console, max(self.console.width - indent, 20)):
            row.rstrip()
            self.line(row, indent=indent)

    def gap(self) -> None:
        """Write an empty line."""
        self.console.print()


def _write_file(page: _Page, verdict: Verdict) -> None:
    page.line((visible(verdict.file), "bold"))
    told = VERDICTS[verdict.word] + _summary(verdict)
    page.paragraph(f"{verdict.word.upper()}: ", told, COLOURS[verdict.word], indent=0)
    page.gap()
    for problem in verdict.errors:
        where = _place(problem.file, problem.line, problem.column)
        page.line(f"{where}  {visible(problem.path)}".rstrip(), indent=2)
        page.paragraph("", problem.message, indent=4)
    if not verdict.errors:
        _write_judged(page, verdict)
    page.gap()
    page.paragraph("Caution: ", CAUTION, indent=0)


def _write_judged(page: _Page, verdict: Verdict) -> None:
    for finding in verdict.findings:
        _write_finding(page, finding)
    _write_assumed(page, verdict)
    _write_accepted(page, verdict)
    _write_not_judged(page, verdict.not_judged)
    counts = verdict.counts()
    page.paragraph(
        f"{sum(counts.values())} rules: ",
        f"{counts['passed']} hold, {counts['spoke']} spoke, {counts['does_not_apply']} do not apply here, "
        f"{counts['not_judged']} not judged.",
        indent=0,
    )


def _summary(verdict: Verdict) -> str:
    """How many findings of which severity there are, most severe first."""
    counts: dict[str, int] = {
        name: sum(each.severity == name for each in verdict.findings) for name in SEVERITIES
    }
    counts["not judged"] = len(verdict.not_judged)
    told = ", ".join(f"{count} {name}" for name, count in counts.items() if count)
    return f" ({told})" if told else ""


def _write_finding(page: _Page, finding: Finding) -> None:
    page.paragraph(f"{finding.severity.capitalize()}: ", finding.title, COLOURS[finding.severity], indent=0)
    page.line(f"{_place(finding.file, finding.line, finding.column)}  {visible(finding.path)}", indent=2)
    page.paragraph("", finding.message)
    numbers = _numbers(finding)
    if numbers:
        page.paragraph("Value: ", numbers)
    page.paragraph("Why: ", finding.why)
    for change in finding.suggest:
        page.paragraph("Passes with: ", f"{change.set}: {show(change.to)}   (tried and judged again)")
    page.paragraph("To do: ", finding.remedy)
    for place in finding.related:
        where = f"{_place(place.file, place.line, place.column)}  {visible(place.path)}"
        page.line(("Involved: ", "bold"), where, indent=2)
    page.paragraph("Rests on: ", CONFIDENCES[finding.confidence])
    page.paragraph("Rule: ", finding.rule)
    page.gap()


def _place(file: str, line: int, column: int) -> str:
    return f"{visible(file)}:{line}:{column}"


def _numbers(finding: Finding) -> str:
    """The value and the limit, where both are numbers."""
    value, limit = finding.value, finding.limit
    if not isinstance(value, float) or not isinstance(limit, float):
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    return f"{_rounded(value)}{unit}, limit {_rounded(limit)}{unit}"


def _rounded(number: float) -> str:
    return show(float(f"{number:.4g}"))


def _write_assumed(page: _Page, verdict: Verdict) -> None:
    """Name the defaults once for all findings; several findings rest on the same ones."""
    assumed = sorted({name for finding in verdict.findings for name in finding.assumed})
    if not assumed:
        return
    page.paragraph("Default properties that findings rest on, each with its range:", "", indent=0)
    for name in assumed:
        page.paragraph("", name)
    page.gap()


def _write_accepted(page: _Page, verdict: Verdict) -> None:
    if not verdict.accepted:
        return
    page.paragraph("Taken on by a person, and still counted here:", "", indent=0)
    for each in verdict.accepted:
        page.paragraph(
            f"{each.get('rule')}: ",
            f"{each.get('reason')} (by {each.get('by')}, until {each.get('until')})",
        )
    page.gap()


def by_path(not_judged: Sequence[NotJudged]) -> list[tuple[str, list[NotJudged]]]:
    """Group rules that were not judged by the setting to add.

    Args:
        not_judged: the rules.

    Returns:
        Path and rules; the paths that the most severe and the most rules wait for come first.
    """
    groups: dict[str, list[NotJudged]] = {}
    for each in not_judged:
        for path in each.missing:
            groups.setdefault(path, []).append(each)

    def weight(group: tuple[str, list[NotJudged]]) -> tuple[int, int, str]:
        path, rules = group
        return min(SEVERITIES.index(rule.severity) for rule in rules), -len(rules), path

    return sorted(groups.items(), key=weight)


def _write_not_judged(page: _Page, not_judged: Sequence[NotJudged]) -> None:
    if not not_judged:
        return
    page.paragraph("Not judged, which is not passed. Add to the file:", "", indent=0)
    for path, rules in by_path(not_judged):
        page.line((visible(path), "bold"), indent=2)
        page.paragraph("for ", ", ".join(f"{rule.rule} ({rule.severity})" for rule in rules), "dim", indent=4)
    page.gap()
