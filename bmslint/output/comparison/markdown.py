"""A comparison as a comment on a pull request: the whole first, then each file, all text in safe Markdown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

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
from bmslint.output.marked import code, prose
from bmslint.output.own import own_told
from bmslint.output.words import CAUTION

if TYPE_CHECKING:
    from bmslint.gate.compare import Comparison, FileComparison
    from bmslint.judge.finding import Finding
    from bmslint.judge.own.changes import OwnPack

MOST_CHARACTERS = 60_000
"""Hosts refuse comments of more than 65,536 characters; what a user puts before and behind has to fit."""


def comparison_markdown(comparison: Comparison, own: Sequence[OwnPack] = ()) -> str:
    """Write a comparison.

    Args:
        comparison: of all files.
        own: folders of one's own that took part.

    Returns:
        Markdown of bounded length; what was left out is counted.
    """
    lines = [f"## bmslint: {code(comparison.old)} compared with {code(comparison.new)}", ""]
    lines += [f"- {prose(head.strip())} {prose(told)}" for head, told in own_told(own)]
    lines += [f"- Files: {files_told(comparison)}"]
    lines += [f"- {head}: {told}" for head, told in summary(comparison)]
    tail = ["", f"> {prose(CAUTION)}", ""]
    room = MOST_CHARACTERS - sum(len(line) + 1 for line in (*lines, *tail)) - len(_left_out(10**9))
    left_out = 0
    for each, shared in told_once(comparison.files):
        for line in ("", *_file(each, shared)):
            if room > len(line):
                lines.append(line)
                room -= len(line) + 1
            else:
                room, left_out = 0, left_out + line.startswith(("- ", "#"))
    return "\n".join([*lines, *([_left_out(left_out)] if left_out else []), *tail])


def _left_out(number: int) -> str:
    return f"\n{number} more would not fit here; `bmslint compare` as text or JSON tells them all."


def _file(file: FileComparison, shared: Sequence[tuple[str, str]]) -> Iterator[str]:
    yield f"### {code(file.name)}"
    yield ""
    yield f"**{verdict_told(file)}**"
    if file.now is not None and file.now.word == "unusable":
        yield from ("", UNKNOWN_NOW, "")
        for each in file.now.errors:
            yield f"- {_place(each.file, each.line)} {prose(each.message)}"
        return
    if file.was is not None and file.was.word == "unusable":
        yield from ("", UNKNOWN_BEFORE)
    as_told = [f"- as told of {code(name)}: {told}" for name, told in shared]
    items = [*as_told, *_settings(file), *_findings(file), *_facts(file)]
    if items:
        yield from ("", *items)


def _settings(file: FileComparison) -> Iterator[str]:
    for change in file.settings:
        why = "" if change.direction == "no effect" else f": {prose(change.why)}"
        values = code(f"{change.path}: {arrow(change.was, change.now)}")
        yield f"- **{change.direction}** {values}{why}"


def _findings(file: FileComparison) -> Iterator[str]:
    for finding in file.came:
        yield _finding("came", finding) + f": {prose(finding.message)}"
    for was, now in file.stayed:
        if was.severity != now.severity:
            yield _finding(f"stayed, was {was.severity}", now) + f": {prose(now.message)}"
    for finding in file.taken_on:
        yield _finding("a person took on", finding)
    for each in file.unjudged:
        lacks = ", ".join(map(code, each.missing))
        yield f"- **not judged, which is not passed, {each.severity}** {prose(each.title)}: lacks {lacks}"
    for finding in file.went:
        yield _finding("went", finding) + " (before)"
    same = [
        f"{prose(now.title)} ({now.severity})" for was, now in file.stayed if was.severity == now.severity
    ]
    if same:
        yield f"- stayed: {'; '.join(same)}"


def _finding(head: str, finding: Finding) -> str:
    where = f"{_place(finding.file, finding.line)} {code(finding.path)}"
    return f"- **{head}, {finding.severity}** {prose(finding.title)}, {where}"


def _place(file: str, line: int) -> str:
    return code(f"{file}:{line}")


def _facts(file: FileComparison) -> Iterator[str]:
    for change in file.facts:
        yield f"- {change.side}: {prose(means(change))}, {code(change.fact)}: {prose(fact_told(change))}"
