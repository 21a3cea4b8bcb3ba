"""`bmslint facts`: every quantity derived from a settings file."""

from __future__ import annotations

import shutil
import sys
from typing import TYPE_CHECKING

from bmslint.commands.shared import OK, say_pack, say_problems

if TYPE_CHECKING:
    import argparse


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("file", metavar="FILE", help="settings file")
    parser.add_argument("--format", choices=("text", "json"), default="text", help="form of the facts")


def run(options: argparse.Namespace) -> int:
    """Derive the facts and write them."""
    from bmslint.settings import read

    document = read(options.file)
    if document.problems:
        return say_problems(document.problems)
    from bmslint.judge.judgement import derive_facts
    from bmslint.judge.unusable import unknown_chemistry
    from bmslint.limits import UnknownChemistry, UnusableTable
    from bmslint.output.facts import facts_json, facts_text

    try:
        facts = derive_facts(document)
    except UnknownChemistry as error:
        return say_problems([unknown_chemistry(document, error)])
    except UnusableTable as error:
        return say_pack(error)
    if options.format == "json":
        sys.stdout.write(facts_json(facts, document.file))
    else:
        sys.stdout.write(facts_text(facts, document.file, shutil.get_terminal_size().columns))
    return OK
