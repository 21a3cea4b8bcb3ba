"""The verdicts of a run for a person: file by file, then what several files have from one, then the sum."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING

from bmslint.output.page import Page
from bmslint.output.text import write_file, write_finding, write_head
from bmslint.output.words import VERDICTS

if TYPE_CHECKING:
    from bmslint.judge.finding import Verdict
    from bmslint.output.causes import Cause, Key
    from bmslint.output.writers import Run

MOST_FILES = 10
"""Files that are named for one cause; each is also named where its own findings stand."""


class TextWriter:
    """Writes a run as text for a terminal or a pipe."""

    def __init__(self, stream: IO[str], run: Run, width: int | None = None) -> None:
        """Write what changed in the rules.

        Args:
            stream: where to; coloured only if it is a terminal.
            run: what is known of the run.
            width: columns; the terminal's if left out.
        """
        self.stream = stream
        self.run = run
        self.width = width
        self.words: dict[str, int] = {}
        if run.files > 1:
            from bmslint.output.causes import Causes

            self.causes = Causes(most_files=MOST_FILES)
            self.told: set[Key] = set()
        if run.pack.own:
            from bmslint.output.own import own_told

            page = Page(width)
            for head, text in own_told(run.pack.own):
                page.paragraph(head, text, indent=0)
            page.gap()
            page.write(stream)

    def add(self, verdict: Verdict) -> None:
        """Write the verdict of a file."""
        page = Page(self.width)
        if self.words:
            page.gap()
        self.words[verdict.word] = self.words.get(verdict.word, 0) + 1
        several = self.run.files > 1
        write_file(page, verdict, apart=several)
        page.write(self.stream)
        if several:
            from bmslint.output.causes import key

            self.told.update(key(each) for each in verdict.findings if each.file == verdict.file)
            self.causes.add(verdict.file, (each for each in verdict.findings if each.file != verdict.file))

    def end(self) -> None:
        """Write what several files have from one, the sum, and the baseline."""
        page = Page(self.width)
        if self.run.files > 1:
            page.gap()
            self._write_causes(page)
            told = ", ".join(f"{self.words[word]} {word}" for word in VERDICTS if word in self.words)
            page.paragraph(f"{sum(self.words.values())} files: ", told + ".", indent=0)
        if self.run.baseline is not None:
            from bmslint.output.held_back import baseline_told

            page.gap()
            page.paragraph("Baseline: ", baseline_told(self.run.baseline), indent=0)
        page.write(self.stream)

    def _write_causes(self, page: Page) -> None:
        causes = self.causes.found()
        if causes:
            page.paragraph("Set in a file that others extend:", "", indent=0)
            page.gap()
        for cause in causes:
            self._write_cause(page, cause)

    def _write_cause(self, page: Page, cause: Cause) -> None:
        from bmslint.output.causes import key

        reaches = ("Reaches: ", ", ".join(cause.files) + (f" and {cause.more} more" if cause.more else ""))
        if key(cause.finding) in self.told:
            write_head(page, cause.finding)
            page.paragraph(*reaches)
            page.paragraph("", f"The rest of it stands above, under {cause.finding.file}.")
            page.gap()
            return
        others = f"are those of {cause.worst}; in others that it reaches they differ."
        write_finding(page, cause.finding, *([("The numbers ", others)] if cause.differs else []), reaches)
