"""The verdicts of a run for a person, file by file."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING

from bmslint.output.text import write_check

if TYPE_CHECKING:
    from bmslint.judge.finding import Verdict
    from bmslint.output.writers import Run


class TextWriter:
    """Writes a run as text for a terminal or a pipe."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Take note of the rules of one's own."""
        self.stream = stream
        self.own = run.pack.own
        self.baseline = run.baseline
        self.verdicts: list[Verdict] = []

    def add(self, verdict: Verdict) -> None:
        """Keep the verdict of a file."""
        self.verdicts.append(verdict)

    def end(self) -> None:
        """Write the verdicts."""
        write_check(self.verdicts, self.stream, own=self.own, baseline=self.baseline)
