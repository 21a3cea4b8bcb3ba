"""What `check` does with a baseline: hold back what it knows, take over a repository, drop what is gone."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import OK, UNUSABLE, UnusableArgumentsError, say
from bmslint.gate.baseline import Baseline, taken_over
from bmslint.gate.baseline_file import BaselineError, written_entries

if TYPE_CHECKING:
    from bmslint.gate.baseline_file import Entry
    from bmslint.judge.finding import Verdict


class Known:
    """The baseline of a run, in force or to be written."""

    def __init__(self, in_force: Path | None, write: Path | None, reason: str | None) -> None:
        """Read the baseline, or prepare to take over.

        Args:
            in_force: the baseline that findings are held back by.
            write: where to write one.
            reason: of findings `reject` that are taken over.

        Raises:
            UnusableArgumentsError: it cannot be read, or would be written over, or the reason has no use.
        """
        self.write = write
        self.reason = (reason or "").strip()
        self.entries: list[Entry] = []
        if write is not None and not write.exists() and _same(write, in_force):
            in_force = None  # the one that is to be in force from now on
        if write is not None and write.exists() and not _same(write, in_force):
            told = f"{write} is there already; --baseline {write} --write-baseline {write} drops what is gone"
            raise UnusableArgumentsError(f"{told}, and without the file a new one is written")
        if reason is not None and (in_force is not None or write is None or not self.reason):
            raise UnusableArgumentsError(
                "--baseline-reason is for --write-baseline FILE where no baseline is in force"
            )
        try:
            self.baseline = None if in_force is None else Baseline(in_force)
        except BaselineError as error:
            told = "\n".join(
                f"{each.file}:{each.line}:{each.column}: {each.message}" for each in error.problems
            )
            raise UnusableArgumentsError(
                f"the baseline cannot be used, so nothing was judged\n{told}"
            ) from None

    def new(self, verdict: Verdict) -> Verdict:
        """Give what is new in a verdict, and note what is to be written.

        Args:
            verdict: of a file.

        Returns:
            The verdict that counts.
        """
        if self.baseline is not None:
            return self.baseline.without_known(verdict)
        if self.write is not None:
            self.entries += taken_over([verdict], self.write, self.reason)
        return verdict

    def writes(self) -> list[tuple[str, Path]]:
        """Give what it will write, as other outputs are given."""
        return [] if self.write is None else [("baseline", self.write)]

    def end(self) -> int:
        """Write what is to be written.

        Returns:
            The exit status of the writing.
        """
        from bmslint.output.files import replace_file

        if self.write is None:
            return OK
        text = written_entries(self.entries) if self.baseline is None else self.baseline.shrunk()
        try:
            replace_file(self.write, text)
        except OSError as error:
            say(f"bmslint: cannot write {self.write}: {error.strerror}")
            return UNUSABLE
        if self.baseline is None:
            say(f"bmslint: {self.write} was written and holds {_told(self.entries)}")
        else:
            gone = self.baseline.size().gone
            dropped = "1 entry that is" if gone == 1 else f"{gone} entries that are"
            say(f"bmslint: {self.write} was written without {dropped} no longer needed")
        return OK


def _told(entries: list[Entry]) -> str:
    findings = "1 finding" if len(entries) == 1 else f"{len(entries)} findings"
    waiting = sum(not each.counts for each in entries)
    if not waiting:
        return findings
    hold = "holds" if waiting == 1 else "hold"
    return f"{findings}; {waiting} of severity reject {hold} nothing back until a person writes its `reason`"


def _same(one: Path, other: Path | None) -> bool:
    return other is not None and os.path.realpath(one) == os.path.realpath(other)
