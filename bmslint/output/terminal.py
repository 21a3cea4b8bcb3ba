"""Puts the styles of a page on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import IO

from rich.console import Console
from rich.text import Text

from bmslint.output.page import Piece


class _Console(Console):
    """A console that leaves a closed pipe to the command, where rich would end the process with 1."""

    def on_broken_pipe(self) -> None:
        """Hand the closed pipe on."""
        raise BrokenPipeError


def write_coloured(rows: Sequence[Sequence[Piece]], stream: IO[str]) -> None:
    """Write rows with their styles, as far as the terminal and the environment want colour.

    Args:
        rows: texts with their styles.
        stream: the terminal.
    """
    console = _Console(file=stream, highlight=False, markup=False, emoji=False)
    for row in rows:
        console.print(Text.assemble(*row), soft_wrap=True)
