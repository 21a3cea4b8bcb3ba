"""The verdicts of a run as Markdown, to be put under a change that is asked for.

The verdict first, then what could not be used, then the findings by their cause, then what was taken on and
what was not judged, then the caution. The length is bounded, as hosts refuse longer ones; what was left out
is counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO, TYPE_CHECKING

from bmslint.judge.finding import SEVERITIES
from bmslint.judge.template import show
from bmslint.output.causes import Causes
from bmslint.output.marked import code, prose
from bmslint.output.words import CAUTION, CONFIDENCES, VERDICTS

if TYPE_CHECKING:
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.output.causes import Cause
    from bmslint.output.writers import Run

MOST_CHARACTERS = 60_000
"""Hosts refuse comments of more than 65,536 characters; what a user puts before and behind has to fit."""

MOST_KEPT, MOST_FILES = 1000, 10
"""Causes of a severity that are kept until the end, and files that are named for one."""

WORST_FIRST = ("unusable", "rejected", "not judged", "review", "accepted")

HEADS = {"reject": "Reject: do not flash", "review": "Review: a person must look", "note": "Notes"}

Lacking = tuple[int, str, tuple[str, ...]]


class MarkdownWriter:
    """Collects what a run says, and writes it at the end."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Start with nothing said."""
        self.stream = stream
        self.run = run
        self.words: dict[str, int] = {}
        self.unusable: list[str] = []
        self.left_out = 0
        self.causes = Causes(MOST_KEPT, MOST_FILES)
        self.taken: list[str] = []
        self.lacking: dict[Lacking, int] = {}

    def add(self, verdict: Verdict) -> None:
        """Take the verdict of a file."""
        self.words[verdict.word] = self.words.get(verdict.word, 0) + 1
        self.causes.add(verdict.file, verdict.findings)
        for error in verdict.errors:
            hurts = "" if error.file == verdict.file else f" (hurts {code(verdict.file)})"
            where = code(f"{error.file}:{error.line}:{error.column}")
            path = f"{code(error.path)} " if error.path else ""
            self._keep(self.unusable, f"- {where} {path}{_line(error.message)}{hurts}\n")
        for entry in verdict.accepted:
            for finding in entry.findings:
                told = _line(f"{finding.title} ({finding.severity}), until {entry.until}: {entry.reason}")
                self._keep(self.taken, f"- {_place(finding)} {told} (by {_line(entry.by)})\n")
        for each in verdict.not_judged:
            key = (SEVERITIES.index(each.severity), each.rule, each.missing)
            if key in self.lacking or len(self.lacking) < MOST_KEPT:
                self.lacking[key] = self.lacking.get(key, 0) + 1
            else:
                self.left_out += 1

    def end(self) -> None:
        """Write everything that fits."""
        head, tail = self._head(), f"\n> **Caution**: {_line(CAUTION)}\n"
        left_out = self.left_out + self.causes.left_out
        room = MOST_CHARACTERS - len(head) - len(tail) - len(_left_out(10**9))
        parts = [head]
        for section, blocks in self._sections():
            fitting = []
            space = room - len(section)
            for block in blocks:
                if len(block) <= space:
                    fitting.append(block)
                    space -= len(block)
                else:
                    left_out += 1
            if fitting:
                parts += [section, *fitting]
                room = space
        parts.append(_left_out(left_out) if left_out else "")
        self.stream.write("".join((*parts, tail)))

    def _keep(self, lines: list[str], line: str) -> None:
        if len(lines) < MOST_KEPT:
            lines.append(line)
        else:
            self.left_out += 1

    def _head(self) -> str:
        worst = next(word for word in WORST_FIRST if word in self.words)
        number = sum(self.words.values())
        told = ", ".join(f"{self.words[word]} {word}" for word in WORST_FIRST if word in self.words)
        files = "1 settings file" if number == 1 else f"{number} settings files"
        lines = [f"## {worst.upper()}: {VERDICTS[worst]}\n\n{files}: {told}.\n"]
        if self.run.baseline is not None:
            from bmslint.output.held_back import baseline_told

            lines.append(f"\nBaseline: {_line(baseline_told(self.run.baseline))}\n")
        return "".join(lines)

    def _own(self) -> list[str]:
        if not self.run.pack.own:
            return []
        from bmslint.output.own import own_told

        return [f"- {_line(name + text)}\n" for name, text in own_told(self.run.pack.own)]

    def _sections(self) -> Iterator[tuple[str, list[str]]]:
        """Each head with its blocks, what matters most first."""
        yield "\n### Could not be used\n\n", self.unusable
        yield "\n### Rules of one's own\n\n", self._own()
        causes = self.causes.found()
        for severity in SEVERITIES:
            blocks = [_block(cause) for cause in causes if cause.finding.severity == severity]
            yield f"\n### {HEADS[severity]}\n", blocks
        yield "\n### Taken on by a person, and not counted\n\n", self.taken
        lacking = [
            f"- {code(rule)} ({SEVERITIES[rank]}) lacks {', '.join(map(code, missing))}{_in_files(count)}\n"
            for (rank, rule, missing), count in sorted(self.lacking.items())
        ]
        yield "\n### Not judged, which is not passed\n\n", lacking


def _block(cause: Cause) -> str:
    finding = cause.finding
    title = _line(f"{finding.severity.capitalize()}: {finding.title}")
    lines = [f"\n**{title}**", f"{_place(finding)} {code(finding.path)}", ""]
    lines.append(f"Finding: {_line(finding.message)}")
    if cause.differs:
        lines.append(f"(The numbers are those of {code(cause.worst)}; in others they differ.)")
    if cause.files != (finding.file,) or cause.more:
        lines += ["", _reach(cause)]
    lines += ["", "<details><summary>Why, and what to do</summary>", "", *_details(finding), "</details>", ""]
    return "\n".join(lines)


def _details(finding: Finding) -> Iterator[str]:
    told = [("Why", finding.why)]
    told += [
        ("Passes with", f"{each.set}: {show(each.to)} (tried and judged again)") for each in finding.suggest
    ]
    told += [("To do", finding.remedy), ("Rests on", CONFIDENCES[finding.confidence])]
    for head, text in told:
        yield f"{head}: {_line(text)}\n"
    for each in finding.related:
        yield f"Involved: {code(f'{each.file}:{each.line}:{each.column}')} {code(each.path)}\n"
    yield f"Rule: {code(finding.rule)}\n"


def _reach(cause: Cause) -> str:
    files = ", ".join(map(code, cause.files)) + (f" and {cause.more} more" if cause.more else "")
    number = cause.reach()
    return f"Reaches {number} file{'' if number == 1 else 's'}: {files}."


def _place(finding: Finding) -> str:
    return code(f"{finding.file}:{finding.line}:{finding.column}")


def _line(text: str) -> str:
    return prose(" ".join(text.split()))


def _in_files(count: int) -> str:
    return "" if count == 1 else f" in {count} files"


def _left_out(number: int) -> str:
    return f"\n{number} more would not fit here; `bmslint check` as text or JSON tells them all.\n"
