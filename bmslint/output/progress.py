"""How far a run over many files has come, shown on a terminal and nowhere else."""

from __future__ import annotations

import os
import sys
from collections.abc import Generator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bmslint.judge.finding import Verdict

LEAST = 24
"""A run over so few files ends before anybody asks how far it is."""


def with_progress(verdicts: Generator[Verdict], files: int, form: str) -> Generator[Verdict]:
    """Show how many files are judged, on standard error.

    Args:
        verdicts: what is judged, one by one.
        files: how many there will be.
        form: of what is written to standard output meanwhile.

    Returns:
        The same verdicts; nothing is shown for few files, to a pipe or file, on a terminal that cannot move
        its cursor, or where the variable CI says that nobody is looking. On the terminal that the verdicts
        go to it is shown beside text alone, of which every verdict ends with its line.
    """
    watched = sys.stderr.isatty() and os.environ.get("TERM") != "dumb" and not os.environ.get("CI")
    same = sys.stdout.isatty()
    if not watched or files <= LEAST or (same and form != "text"):
        return verdicts
    return _shown(verdicts, files, same)


def _shown(verdicts: Generator[Verdict], files: int, same: bool) -> Generator[Verdict]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    with Progress(
        TextColumn("judged"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        auto_refresh=not same,
        transient=True,  # when it ends, nothing of it is left among what was written
        redirect_stdout=False,
        redirect_stderr=False,
    ) as bar:
        task = bar.add_task("", total=files)
        for verdict in verdicts:
            if same:  # it has to be out of the way while a verdict is written to the same terminal
                bar.stop()
            yield verdict
            if same:
                bar.start()
            bar.advance(task)
