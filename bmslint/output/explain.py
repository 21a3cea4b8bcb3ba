"""Stories for a person at a terminal, with the warm-up drawn in characters."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from bmslint.judge.finding import SEVERITIES
from bmslint.output.explain_rule import write_words
from bmslint.output.glossary import terms_in
from bmslint.output.lacks import by_path
from bmslint.output.own import own_told
from bmslint.output.picture import DRAWN, PLAIN, picture
from bmslint.output.story.form import texts
from bmslint.output.story.labels import label
from bmslint.output.story.teller import Teller
from bmslint.output.story.warmup import RUNS, warmup_tale
from bmslint.output.text import COLOURS
from bmslint.output.words import CAUTION, NOT_APPLICABLE, SEVERITIES_SAID, VERDICTS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from bmslint.facts.course import Course, Run
    from bmslint.judge.finding import Accepted, Finding, NotApplicable, NotJudged, Verdict
    from bmslint.judge.inputs import Inputs
    from bmslint.judge.own.changes import OwnPack
    from bmslint.judge.rule import Rule
    from bmslint.output.page import Page
    from bmslint.output.story.form import Entry, Section, Story, Table

KINDS = {"sensor": "bold cyan", "coldest": "bold blue", "hottest": "bold red", "line": "dim", "text": ""}
"""Style of each kind of piece of a picture; the letters say the same."""

STATES = {"passed": "HOLDS", "does not apply": "DOES NOT APPLY", "not judged": "NOT JUDGED"}
"""What became of a rule that did not speak."""

MOST_SHORT, MOST_LACKS = 8, 8
"""Findings that are told in short beside the worst one, and settings that are named as missing."""


def fits(encoding: str | None) -> bool:
    """Say whether a terminal can show the drawing's lines.

    Args:
        encoding: of the stream that leads there; None if it does not say.

    Returns:
        True if every character of them has a code in it, and the environment does not speak of a plain one.
    """
    if os.environ.get("TERM") == "dumb" or os.environ.get("LC_ALL") in ("C", "POSIX"):
        return False
    try:
        "".join(DRAWN).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


class Explained:
    """Writes stories of one file to a page; a picture, and what a word means, stand there once."""

    def __init__(self, page: Page, courses: Mapping[str, Course], drawn: bool) -> None:
        """Start.

        Args:
            page: where to.
            courses: the warm-ups over time, by group of facts.
            drawn: whether lines may be drawn with more than the characters of a typewriter.
        """
        self.page = page
        self.courses = courses
        self.signs = DRAWN if drawn else PLAIN
        self.file = ""
        self.pictured: set[Run] = set()
        self.read: list[str] = []

    def head(self, verdict: Verdict, title: str, own: Sequence[OwnPack]) -> None:
        """Write the file and its verdict in words.

        Args:
            verdict: of the file.
            title: what the file calls itself, empty if it does not.
            own: folders of one's own that it was judged with.
        """
        for head, text in own_told(own):
            self.page.paragraph(head, text, indent=0)
        if own:
            self.page.gap()
        counts = [f"{sum(f.severity == s for f in verdict.findings)} {s}" for s in SEVERITIES]
        told = [each for each in counts if not each.startswith("0 ")]
        if verdict.not_judged:
            told.append(f"{len(verdict.not_judged)} not judged")
        self.file = verdict.file
        self.page.line((verdict.file, "bold"))
        if title:
            self.page.paragraph("", title, indent=0)
        summary = f" ({', '.join(told)})" if told else ""
        word = verdict.word
        self.page.paragraph(f"{word.upper()}: ", VERDICTS[word] + summary, COLOURS[word], indent=0)
        self.page.gap()

    def story(self, story: Story, rule: Rule, taken: Accepted | None = None) -> None:
        """Write a story in full.

        Args:
            story: the story.
            rule: its rule.
            taken: the entry by which a person took the finding on, if one did.
        """
        page, severity = self.page, story.severity
        spoke = story.state == "spoke"
        if not spoke:
            page.paragraph(f"{STATES[story.state]}: ", f"{story.says} ({story.rule}).", indent=0)
        else:
            head = f"{severity.upper()} ({story.says}): "
            page.paragraph(head, story.title, COLOURS[severity], indent=0)
        if story.place is not None:
            at = story.place
            page.line(f"{at.file}:{at.line}:{at.column}  {at.path}", indent=2)
        page.paragraph("", story.lead)
        if taken is not None:
            page.paragraph(
                "A person took this on: ",
                f"{taken.reason} (by {taken.by}, until {taken.until}). It does not count for the verdict.",
            )
        for section in story.sections:
            self._section(section, rule)
        page.gap()
        page.paragraph(
            "Rule: ", f"{story.rule} ({severity}: {SEVERITIES_SAID[severity]})" if not spoke else story.rule
        )
        page.gap()
        self.read += texts(story)

    def _section(self, section: Section, rule: Rule) -> None:
        self.page.gap()
        self.page.line((section.heading, "bold"), indent=2)
        for number, text in enumerate(section.paragraphs):
            if number:
                self.page.gap()
            self.page.paragraph("", text, indent=4)
        if section.paragraphs and section.entries:
            self.page.gap()
        for entry in section.entries:
            self._entry(entry)
        if section.name == "happens":
            for run in [each for each in RUNS if _names(rule, each)][:1]:
                self.picture(run)
        if section.table is not None:
            self._table(section.table)

    def _entry(self, entry: Entry) -> None:
        """Write a value: as the file writes it, then what it is; or what it is, alone."""
        page, place = self.page, f"   ({_line(entry.place, self.file)})" if entry.place else ""
        if not entry.path:
            page.paragraph(f"- {entry.label}: ", entry.value + place, style="", indent=4)
            return
        page.paragraph(f"- {entry.path}: ", entry.value + place, indent=4)
        page.paragraph("", entry.label, indent=6)

    def picture(self, run: Run) -> None:
        """Draw a warm-up, unless it stands on the page already.

        Args:
            run: its group of facts.
        """
        if run in self.pictured or run not in self.courses:
            return
        self.pictured.add(run)
        self.page.gap()
        for row in picture(self.courses[run], self.page.width - 4, self.signs):
            self.page.line(*((piece.text, KINDS[piece.kind]) for piece in row), indent=2 if row else 0)

    def _table(self, table: Table) -> None:
        self.page.gap()
        widths = [max(map(len, column)) for column in zip(table.head, *table.rows, strict=True)]
        for number, row in enumerate((table.head, *table.rows)):
            cells = [f"{cell:>{width}}" for cell, width in zip(row[:-1], widths, strict=False)]
            self.page.line(("  ".join((*cells, row[-1])).rstrip(), "" if number else "bold"), indent=2)

    def nothing(self, inputs: Inputs) -> None:
        """Tell how the pack warms up where there is no finding to tell of.

        Args:
            inputs: what the file was judged on.
        """
        run = next((each for each in RUNS if each in self.courses), None)
        paragraphs = () if run is None else warmup_tale(Teller(inputs), run)
        if run is None or not paragraphs:
            return
        self.page.line(("How this pack comes to charge in the cold", "bold"))
        for text in paragraphs:
            self.page.paragraph("", text)
        self.picture(run)
        self.page.gap()
        self.read += paragraphs

    def taken(self, taken: Sequence[tuple[Finding, Accepted]]) -> None:
        """Name the findings that do not count, because a person took them on.

        Args:
            taken: each with its entry.
        """
        for finding, entry in taken:
            self.page.paragraph(
                "Taken on by a person, so it does not count: ",
                f"{finding.title} ({finding.rule}; {entry.reason}, by {entry.by}, until {entry.until}).",
                indent=0,
            )
        if taken:
            self.page.gap()

    def waived(self, entries: Sequence[NotApplicable]) -> None:
        """Tell that the file says of a rule that it does not concern the pack.

        Args:
            entries: of that rule.
        """
        for entry in entries:
            self.page.paragraph(
                "The file says that the rule does not concern this pack: ",
                f"{entry.reason}; {NOT_APPLICABLE[entry.state]}.",
                indent=0,
            )
        if entries:
            self.page.gap()

    def short(self, findings: Sequence[Finding]) -> None:
        """Write further findings in short.

        Args:
            findings: the most severe first.
        """
        page = self.page
        if not findings:
            return
        page.line(("Also found", "bold"))
        page.gap()
        for finding in findings[:MOST_SHORT]:
            said = f"{finding.severity.capitalize()} ({SEVERITIES_SAID[finding.severity]}): "
            page.paragraph(said, finding.title, COLOURS[finding.severity])
            page.line(f"{finding.file}:{finding.line}:{finding.column}  {finding.path}", indent=4)
            page.paragraph("", finding.message, indent=4)
            page.paragraph("To do: ", finding.remedy, indent=4)
            page.paragraph("Rule: ", finding.rule, indent=4)
            page.gap()
            self.read += [finding.title, finding.message, finding.remedy]
        rest = [each.rule for each in findings[MOST_SHORT:]]
        if rest:
            page.paragraph(f"And {len(rest)} more: ", ", ".join(dict.fromkeys(rest)))
            page.gap()

    def not_judged(self, lacking: Sequence[NotJudged]) -> None:
        """Write in one paragraph what was not judged.

        Args:
            lacking: the rules that lack data.
        """
        if not lacking:
            return
        paths = [lack.path for lack in by_path(lacking)]
        named = "; ".join(f"{path} ({label(path)})" for path in paths[:MOST_LACKS])
        more = f"; and {len(paths) - MOST_LACKS} settings more" if len(paths) > MOST_LACKS else ""
        rules = "1 rule" if len(lacking) == 1 else f"{len(lacking)} rules"
        self.page.paragraph(
            "Not judged, which is not passed: ",
            f"{rules} could not be judged, because the file does not say {named}{more}.",
            indent=0,
        )
        self.page.gap()

    def end(self, *hint: str) -> None:
        """Write what the words mean, how to learn more, and the caution.

        Args:
            hint: lines on how to learn more.
        """
        write_words(self.page, terms_in(self.read))
        for line in hint:
            self.page.line(line)
        if hint:
            self.page.gap()
        self.page.paragraph("Caution: ", CAUTION, indent=0)


def _names(rule: Rule, group: str) -> bool:
    paths = (*rule.named(), *(path for path, _ in rule.says.fields))
    return any(path.startswith(f"facts.{group}") for path in paths)


def _line(place: str, own: str) -> str:
    """A place without what is the same on the whole page: `declare ...` stays, a place becomes its line."""
    if place.startswith("declare "):
        return place
    file, line, _ = place.rsplit(":", 2)
    return f"line {line}" if file == own else f"line {line} of {file}"
