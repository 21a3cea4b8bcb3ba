"""A page for a person: lines and wrapped paragraphs, with marks of style that only a terminal shows.

The rows are the same wherever they go. Rich, which takes 30 ms to import, is left to put the colours on a
terminal, and to measure text whose characters may be two columns wide.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from typing import IO

from bmslint.judge.template import visible

Piece = tuple[str, str]
"""A text and its style as rich writes it, such as `bold red`; "" for none."""

_WORD = re.compile(r"\s*\S+\s*")
_NARROWEST = 20
_COLUMNS = 80


class Page:
    """The rows of a page, collected and then written at once; no text moves the cursor or leaves its row."""

    def __init__(self, width: int | None = None) -> None:
        """Start an empty page.

        Args:
            width: columns; the terminal's if left out, 80 where there is none.
        """
        self.rows: list[list[Piece]] = []
        self.width = _columns() if width is None else width

    def line(self, *pieces: str | Piece, indent: int = 0) -> None:
        """Add a line that is never wrapped, so that a place can be clicked and searched for.

        Args:
            pieces: its parts; a text by itself has no style.
            indent: columns before it.
        """
        styled = [(piece, "") if isinstance(piece, str) else piece for piece in pieces]
        self.rows.append([(" " * indent, ""), *((visible(text), style) for text, style in styled)])

    def paragraph(self, head: str, text: str, style: str = "bold", indent: int = 2) -> None:
        """Add a wrapped paragraph.

        Args:
            head: how it begins.
            text: how it goes on, without styles.
            style: of the head.
            indent: columns before each row.
        """
        whole = visible(head + text)
        ends = [*breaks(whole, max(self.width - indent, _NARROWEST)), len(whole)]
        start = 0
        for end in ends:
            row = whole[start:end].rstrip()
            cut = max(len(head) - start, 0)
            self.line((row[:cut], style), row[cut:], indent=indent)
            start = end

    def gap(self) -> None:
        """Add an empty line."""
        self.rows.append([])

    def write(self, stream: IO[str]) -> None:
        """Write the page.

        Args:
            stream: where to; coloured only if it is a terminal, or the environment says that it is like one.
        """
        environment = os.environ.get
        if stream.isatty() or environment("FORCE_COLOR") or environment("TTY_COMPATIBLE") == "1":
            from bmslint.output.terminal import write_coloured

            write_coloured(self.rows, stream)
        else:
            stream.write("".join("".join(text for text, _ in row) + "\n" for row in self.rows))


def breaks(text: str, width: int) -> list[int]:
    """Find where a text is broken into rows: between words, and inside a word longer than a row.

    Args:
        text: one line.
        width: columns of a row.

    Returns:
        Where each row but the first begins, in characters from the start of the text.
    """
    length, parts_of = _measures(text)
    found: list[int] = []
    used = 0
    for match in _WORD.finditer(text):
        start, word = match.start(), match.group()
        needed = length(word.rstrip())
        if needed <= width - used:
            used += length(word)
        elif needed > width:
            parts = parts_of(word, width)
            for part in parts:
                found += [start] if start else []
                start += len(part)
            used = length(parts[-1])
        elif used and start:
            found.append(start)
            used = length(word)
    return found


def _measures(text: str) -> tuple[Callable[[str], int], Callable[[str, int], list[str]]]:
    """Give what counts the columns of a text, and what cuts a text into parts of some columns."""
    if text.isascii():
        return len, lambda word, width: [word[i : i + width] for i in range(0, len(word), width)]
    from rich.cells import cell_len, chop_cells

    return cell_len, chop_cells


def _columns() -> int:
    """Columns of the terminal that the program was started in; a pipe between leaves it the other streams."""
    told = os.environ.get("COLUMNS", "")
    if told.isdecimal():
        return int(told)
    for stream in (0, 1, 2):
        try:
            return os.get_terminal_size(stream).columns or _COLUMNS
        except (OSError, ValueError):
            continue
    return _COLUMNS
