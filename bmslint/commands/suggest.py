"""`bmslint suggest`: ways to a better verdict, and one of them written into the file."""

from __future__ import annotations

import os
import stat
import sys
from difflib import unified_diff
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import (
    FAILED,
    OK,
    UNUSABLE,
    load_rules,
    say,
    say_pack,
    say_problems,
    take_rules,
)

if TYPE_CHECKING:
    import argparse

    from bmslint.judge.ways import Way
    from bmslint.settings.reader import Document


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    from bmslint.commands.arguments import take_day

    parser.add_argument("file", metavar="FILE", type=Path, help="settings file")
    parser.add_argument("--way", metavar="NUMBER", type=int, default=1, help="the way for --diff and --write")
    what = parser.add_mutually_exclusive_group()
    what.add_argument(
        "--diff", action="store_true", help="show what the way changes in the file; write nothing"
    )
    what.add_argument(
        "--write", action="store_true", help="set the way in the file; the old one stays beside it"
    )
    take_day(parser)
    take_rules(parser)


def run(options: argparse.Namespace) -> int:
    """Look for ways, and show them, or what one of them changes, or write it."""
    from bmslint.judge.faults import PackError
    from bmslint.judge.ways import ways
    from bmslint.limits import UnusableTable
    from bmslint.output.page import Page
    from bmslint.output.ways import write_ways
    from bmslint.settings import read

    document = read(options.file)
    if document.problems:
        return say_problems(document.problems)
    content = options.file.read_bytes()
    try:
        pack = load_rules(options)
        found = ways(document, pack, today=options.today)
    except (PackError, UnusableTable) as error:
        return say_pack(error)
    if found.judgement is None:
        return say_problems(found.verdict.errors)
    if not options.diff and not options.write:

        def place(path: str) -> str:
            position = document.position(path)
            return f"{position.file}:{position.line}"

        page = Page()
        write_ways(page, found, place)
        page.write(sys.stdout)
        return OK if found.ways or found.verdict.word == "accepted" else FAILED
    if not 1 <= options.way <= len(found.ways):
        say(f"bmslint: there is no way {options.way}; {len(found.ways)} found")
        return FAILED
    return _set(options, document, content, found.ways[options.way - 1])


def _set(options: argparse.Namespace, document: Document, content: bytes, way: Way) -> int:
    """Put a way into the text of the file; show the difference, or replace the file."""
    from bmslint.judge.template import visible
    from bmslint.output.files import replace_file
    from bmslint.settings.edit import EditError, edited
    from bmslint.settings.reader import read_text, revalidated

    file: Path = options.file
    try:
        text = content.decode("utf-8")
        changed = edited(text, way.changes())
        if read_text(changed, str(file)).data != revalidated(document, way.changes()).data:
            raise EditError("a value stands in several places by an anchor; set the values by hand")
    except EditError as error:
        say(f"bmslint: {visible(str(file))} was not changed: {error}")
        return FAILED
    if options.diff:
        old, new = (each.splitlines(keepends=True) for each in (text, changed))
        sys.stdout.writelines(unified_diff(old, new, f"{file}", f"{file} (way {options.way})"))
        return OK
    if fault := _not_writable(file, content):
        say(f"bmslint: {visible(str(file))} was not changed: {fault}")
        return UNUSABLE
    kept = _keep(file, text)
    replace_file(file, changed)
    from bmslint.output.words import CAUTION, VERDICTS

    word = way.verdict.word
    print(
        f"{visible(str(file))} is now {word.upper()}: {VERDICTS[word]}. The old one is {visible(str(kept))}."
    )
    print(f"Caution: {CAUTION}")
    return OK


def _not_writable(file: Path, content: bytes) -> str:
    """Why a file should not be replaced, if so."""
    if not file.is_file():
        return "it is no regular file"
    if not stat.S_IMODE(file.stat().st_mode) & 0o222 or not os.access(file, os.W_OK):
        return "it may not be written; change its permissions first"
    if file.read_bytes() != content:
        return "it changed while ways were looked for; run this again"
    return ""


def _keep(file: Path, text: str) -> Path:
    """Write the old text beside the file under a name that is free."""
    from bmslint.output.files import replace_file

    kept = file.with_name(f"{file.name}.before")
    number = 2
    while kept.exists() or kept.is_symlink():
        kept = file.with_name(f"{file.name}.before-{number}")
        number += 1
    replace_file(kept, text)
    return kept
