"""A comparison for a person: what changed in each file, what needs most attention first, then the whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import IO, TYPE_CHECKING

from bmslint.output.comparison.once import told_once
from bmslint.output.comparison.words import (
    UNKNOWN_BEFORE,
    UNKNOWN_NOW,
    arrow,
    fact_told,
    files_told,
    means,
    summary,
    verdict_told,
)
from bmslint.output.own import own_told
from bmslint.output.page import Page
from bmslint.output.text import COLOURS as VERDICT_COLOURS
from bmslint.output.words import CAUTION

if TYPE_CHECKING:
    from bmslint.gate.compare import Comparison, FileComparison
    from bmslint.judge.finding import Finding
    from bmslint.judge.own.changes import OwnPack

COLOURS = {
    "less safe": "bold red", "depends": "bold yellow", "safer": "bold green", "no effect": "bold",
    "reject": "bold red", "review": "bold yellow", "note": "bold",
    "worse": "bold red", "better": "bold green",
}  # fmt: skip


def write_comparison(
    comparison: Comparison, stream: IO[str], width: int | None = None, own: Sequence[OwnPack] = ()
) -> None:
    """Write a comparison.

    Args:
        comparison: of all files.
        stream: where to; coloured only if it is a terminal.
        width: columns; the terminal's if left out.
        own: folders of one's own that took part, told first.
    """
    page = Page(width)
    for head, told in own_told(own):
        page.paragraph(head, told, indent=0)
    page.paragraph("Compared: ", f"{comparison.old} with {comparison.new}", indent=0)
    page.gap()
    for each, shared in told_once(comparison.files):
        _write_file(page, each, shared)
        page.gap()
    page.paragraph("Files: ", files_told(comparison), indent=0)
    for head, told in summary(comparison):
        page.paragraph(f"{head}: ", told, indent=0)
    page.gap()
    page.paragraph("Caution: ", CAUTION, indent=0)
    page.write(stream)


def _write_file(page: Page, file: FileComparison, shared: Sequence[tuple[str, str]]) -> None:
    page.line((file.name, "bold"))
    head, _, told = verdict_told(file).partition(",")
    page.paragraph(head.upper(), f",{told}" if told else "", VERDICT_COLOURS.get(head, "bold"))
    if file.now is not None and file.now.word == "unusable":
        page.paragraph("", UNKNOWN_NOW)
        for problem in file.now.errors:
            page.line(f"{problem.file}:{problem.line}:{problem.column}  {problem.path}".rstrip(), indent=2)
            page.paragraph("", problem.message, indent=4)
        return
    if file.was is not None and file.was.word == "unusable":
        page.paragraph("", UNKNOWN_BEFORE)
    for name, told in shared:
        page.paragraph(f"As told of {name}: ", told)
    _write_settings(page, file)
    _write_findings(page, file)
    _write_facts(page, file)


def _write_settings(page: Page, file: FileComparison) -> None:
    for change in file.settings:
        head = f"{change.direction.capitalize()}: "
        page.paragraph(head, f"{change.path}: {arrow(change.was, change.now)}", COLOURS[change.direction])
        if change.direction != "no effect":
            page.paragraph("", change.why, indent=4)
        where = f"{change.place.file}:{change.place.line}:{change.place.column}"
        page.line(where if change.in_new else f"{where}  (before)", indent=4)


def _write_findings(page: Page, file: FileComparison) -> None:
    for finding in file.came:
        _write_finding(page, "Came", finding)
        page.paragraph("", finding.message, indent=4)
    for was, now in file.stayed:
        if was.severity != now.severity:
            _write_finding(page, f"Stayed, was {was.severity}", now)
            page.paragraph("", now.message, indent=4)
    for finding in file.taken_on:
        _write_finding(page, "A person took on", finding)
    for each in file.unjudged:
        lacks = ", ".join(each.missing)
        page.paragraph("Not judged, which is not passed: ", f"{each.title} ({each.rule}, {each.severity})")
        page.paragraph("lacks ", lacks, "dim", indent=4)
    for finding in file.went:
        _write_finding(page, "Went", finding, "  (before)")
    same = [f"{now.title} ({now.severity})" for was, now in file.stayed if was.severity == now.severity]
    if same:
        page.paragraph("Stayed: ", "; ".join(same))


def _write_finding(page: Page, head: str, finding: Finding, after: str = "") -> None:
    page.paragraph(f"{head}, {finding.severity}: ", finding.title, COLOURS[finding.severity])
    page.line(f"{finding.file}:{finding.line}:{finding.column}  {finding.path}{after}", indent=4)


def _write_facts(page: Page, file: FileComparison) -> None:
    for side in ("worse", "better"):
        for change in file.facts:
            if change.side == side:
                head = f"{side.capitalize()}: "
                page.paragraph(head, f"{means(change)}: {fact_told(change)}", COLOURS[side])
                page.line(change.fact, indent=4)
