"""What several commands share: exit status, words to standard error, and the rules a run judges with."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from bmslint.judge.pack import Pack
    from bmslint.settings import Problem

OK, FAILED, UNUSABLE, NOT_JUDGED = 0, 1, 2, 3
"""Exit status; where several hold for the files of a run, UNUSABLE before FAILED before NOT_JUDGED."""

UNUSABLE_PACK = "bmslint: the rules cannot be used, so nothing was judged"


class UnusableArgumentsError(Exception):
    """A command cannot do what it was asked for; the message is for a person."""


def worst(statuses: Sequence[int]) -> int:
    """Give the status of a run over several files.

    Args:
        statuses: the status of each file, at least one.

    Returns:
        The one that goes before the others.
    """
    return max(statuses, key=(OK, NOT_JUDGED, FAILED, UNUSABLE).index)


def say(*lines: str) -> None:
    """Tell a person something beside the output.

    Args:
        lines: what to write to standard error; what cannot be printed in them is shown by its code point.
    """
    if not lines:
        return
    from bmslint.judge.template import visible

    for line in lines:
        print(visible(line), file=sys.stderr)


def say_problems(problems: Sequence[Problem]) -> int:
    """Tell what is wrong with a settings file.

    Args:
        problems: every problem of the file.

    Returns:
        The exit status of an unusable file.
    """
    for each in problems:
        say(f"{each.file}:{each.line}:{each.column}: {each.message}")
    return UNUSABLE


def say_pack(error: Exception) -> int:
    """Tell what is wrong with the rules.

    Args:
        error: what the rules or the tables of limits are unusable for.

    Returns:
        The exit status of unusable rules.
    """
    say(UNUSABLE_PACK, *str(error).split("\n"))
    return UNUSABLE


def say_refused(error: Exception) -> int:
    """Tell why a command does not do what it was asked for.

    Args:
        error: its message may have several lines, and texts from anywhere in them.

    Returns:
        The exit status of what cannot be used.
    """
    say(*f"bmslint: {error}".split("\n"))
    return UNUSABLE


def take_rules(parser: argparse.ArgumentParser) -> None:
    """Let a command take rules beside the built-in ones.

    Args:
        parser: the command's.
    """
    from argparse import BooleanOptionalAction

    parser.add_argument(
        "--rules",
        metavar="DIR",
        type=Path,
        action="append",
        default=[],
        help="folder with rules of your own and changes of others; may be given again",
    )
    parser.add_argument(
        "--installed-rules",
        action=BooleanOptionalAction,
        help="use the rules that installed packages offer, too",
    )


def load_rules(options: argparse.Namespace) -> Pack:
    """Load the rules that a command was told to judge with.

    Args:
        options: of a command that takes rules.

    Returns:
        The pack.

    Raises:
        PackError: the rules cannot be used.
    """
    from bmslint.judge.pack import load_pack

    return load_pack(own=options.rules, installed=options.installed_rules)
