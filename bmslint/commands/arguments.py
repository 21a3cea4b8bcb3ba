"""Arguments that several commands take, each described and read in one place."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

MOST_WORKERS = 1000


def take_day(parser: argparse.ArgumentParser) -> None:
    """Let a command be told the day of the run.

    Args:
        parser: the command's.
    """
    parser.add_argument(
        "--today",
        metavar="YEAR-MONTH-DAY",
        type=day,
        help="day that dates under `accepted` are held against (default: this computer's, in UTC)",
    )


def take_outputs(parser: argparse.ArgumentParser, forms: Sequence[str], what: str, example: str) -> None:
    """Let a command write files too.

    Args:
        parser: the command's.
        forms: names of the forms.
        what: what is written, in words.
        example: a form and a file, as an argument gives them.
    """
    parser.add_argument(
        "--write",
        metavar="FORMAT=FILE",
        type=output(forms),
        action="append",
        default=[],
        help=f"write the {what} to a file too, as in {example}; may be given again",
    )


def output(forms: Sequence[str]) -> Callable[[str], tuple[str, Path]]:
    """Give what reads an output as an argument gives it.

    Args:
        forms: names of the forms.

    Returns:
        Reads a form and a file, as in json=verdicts.json; raises `argparse.ArgumentTypeError` where there is
        no such form, or no file.
    """

    def read(text: str) -> tuple[str, Path]:
        form, _, file = text.partition("=")
        if form in forms and file:
            return form, Path(file)
        told = f"{text!r} is no output; write one of {', '.join(forms)}, then = and a file"
        raise argparse.ArgumentTypeError(told)

    return read


def day(text: str) -> date:
    """Read a day as an argument gives it.

    Args:
        text: the day, as in 2027-03-31.

    Returns:
        The day.

    Raises:
        argparse.ArgumentTypeError: it is none.
    """
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(f"{text!r} is no day; write it as in 2027-03-31")


def workers(text: str) -> int:
    """Read a number of workers as an argument gives it.

    Args:
        text: the number, as in 4.

    Returns:
        The number.

    Raises:
        argparse.ArgumentTypeError: it is none.
    """
    if text.isascii() and text.isdecimal() and len(text) <= 4 and 1 <= int(text) <= MOST_WORKERS:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is no number of workers; write one from 1 to {MOST_WORKERS}")
