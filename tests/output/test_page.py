"""Rows are broken where rich breaks them, which measures characters by the tables of Unicode."""

import io
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.text import Text

from bmslint.output.page import Page, breaks

PLAIN = ["a", "the", "coldest", "protection.charge_cold.release_above_degC", "x" * 19, "x" * 20, "x" * 41]
WIDE = ["Öl", "\u65e5\u672c\u8a9e" * 5, "e\u0301", "\U0001f50b", "\U0001f469\u200d\U0001f527", "\u2126"]
WORDS = st.sampled_from([*PLAIN, *WIDE])
TEXTS = st.lists(st.tuples(WORDS, st.sampled_from([" ", "  ", ""]))).map(
    lambda pairs: "".join(word + space for word, space in pairs)
)


@given(text=TEXTS, before=st.sampled_from(["", " ", "   "]), width=st.integers(4, 60))
def test_rows_are_those_of_rich(text: str, before: str, width: int) -> None:
    console = Console(width=width, file=io.StringIO())
    theirs = [row.plain.rstrip() for row in Text(before + text).wrap(console, width)]
    ends = [0, *breaks(before + text, width), len(before + text)]
    ours = [(before + text)[start:end].rstrip() for start, end in pairwise(ends)]
    assert ours == theirs


def test_a_head_longer_than_a_row_keeps_its_style() -> None:
    page = Page(20)
    page.paragraph("a head of many words: ", "and a text", "bold red")
    assert page.rows == [
        [("  ", ""), ("a head of many", "bold red"), ("", "")],
        [("  ", ""), ("words: ", "bold red"), ("and a text", "")],
    ]


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [
        ({}, False),
        ({"FORCE_COLOR": "1"}, True),
        ({"FORCE_COLOR": ""}, False),
        ({"FORCE_COLOR": "1", "NO_COLOR": "1"}, False),
        ({"TTY_COMPATIBLE": "1"}, True),
        ({"TTY_COMPATIBLE": "0", "FORCE_COLOR": "1"}, False),
    ],
)
def test_the_environment_may_ask_for_colour(
    environment: dict[str, str], coloured: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FORCE_COLOR as on force-color.org, NO_COLOR as on no-color.org, the other as rich has it."""
    for name in ("FORCE_COLOR", "NO_COLOR", "TTY_COMPATIBLE", "COLORTERM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    page, stream = Page(80), io.StringIO()
    page.line(("said", "red"))
    page.write(stream)
    assert stream.getvalue() == ("\x1b[31msaid\x1b[0m\n" if coloured else "said\n")


@pytest.mark.parametrize(("told", "width"), [("40", 40), ("200", 200), ("wide", 80), ("", 80)])
def test_columns_are_those_of_the_environment_else_80(
    told: str, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """COLUMNS as in POSIX.1-2017, Base Definitions, chapter 8.3 (from memory)."""
    monkeypatch.setenv("COLUMNS", told)
    monkeypatch.setattr("os.get_terminal_size", _no_terminal)
    assert Page().width == width


def _no_terminal(_: int) -> None:
    raise OSError
