"""Where verdicts go: to standard output and to any number of files, whatever becomes of one of them."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.output.writers import Run, Writer, writer

if TYPE_CHECKING:
    from bmslint.judge.finding import Verdict
    from bmslint.output.files import NewFile


class Outputs:
    """Every output of a run.

    What goes wrong with one of them does not keep the others from being written: `faults` says, for a
    person, which file could not be, and a fault of standard output is raised by `end`, when the files are
    there, or at once where there are none.
    """

    def __init__(self, form: str, files: Sequence[tuple[str, Path]], run: Run) -> None:
        """Begin every output.

        Args:
            form: of what goes to standard output.
            files: form and place of each file.
            run: what is known of the run.

        Raises:
            OSError: standard output takes nothing, and there is no other output.
        """
        self.faults: list[str] = []
        self._files: list[_File] = []
        self._told: Writer | None = None
        self._broken: OSError | None = None
        for each in files:
            self._begin(*each, run)
        if form != "text" and isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8", newline="\n")  # for programs, whatever the terminal is
        try:
            self._told = writer(form, sys.stdout, run)
        except OSError as error:
            self._lose_standard_output(error)

    def add(self, verdict: Verdict) -> None:
        """Write a verdict to every output; they have to come in the order of the files' names.

        Args:
            verdict: of a file.

        Raises:
            OSError: standard output takes nothing more, and there is no other output.
        """
        for file in list(self._files):
            self._try(file, file.writer.add, verdict)
        if self._told is not None:
            try:
                self._told.add(verdict)
            except OSError as error:
                self._lose_standard_output(error)

    def end(self) -> None:
        """Complete every output, and put the files into their places.

        Raises:
            OSError: standard output took less than all.
        """
        for file in list(self._files):
            self._try(file, file.end)
        if self._broken is not None:
            raise self._broken
        if self._told is not None:
            self._told.end()

    def drop(self) -> None:
        """Leave every file as it was before, unless it is complete."""
        for file in self._files:
            file.new.drop()

    def _begin(self, form: str, path: Path, run: Run) -> None:
        from bmslint.output.files import NewFile

        try:
            new = NewFile(path)
        except OSError as error:
            self._note(path, error)
            return
        try:
            self._files.append(_File(path, new, writer(form, new.stream, run)))
        except OSError as error:
            new.drop()
            self._note(path, error)

    def _try(self, file: _File, write: Callable[..., None], *what: Verdict) -> None:
        try:
            write(*what)
        except OSError as error:
            file.new.drop()
            self._files.remove(file)
            self._note(file.path, error)

    def _note(self, path: Path, error: OSError) -> None:
        self.faults.append(f"cannot write {path}: {error.strerror}")

    def _lose_standard_output(self, error: OSError) -> None:
        if not self._files:
            raise error
        self._told, self._broken = None, error


class _File:
    """A file that verdicts are written to."""

    def __init__(self, path: Path, new: NewFile, writer: Writer) -> None:
        self.path = path
        self.new = new
        self.writer = writer

    def end(self) -> None:
        """Write what comes last, and put the file into its place."""
        self.writer.end()
        self.new.keep()
