"""`bmslint report`: one self-contained page about settings files."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import (
    FAILED,
    NOT_JUDGED,
    OK,
    UNUSABLE,
    load_rules,
    say,
    say_pack,
    say_problems,
    take_rules,
    worst,
)

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

STATUS = {"rejected": FAILED, "not judged": NOT_JUDGED, "unusable": UNUSABLE}
"""Exit status by verdict, where it is not 0."""


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    from bmslint.commands.arguments import take_day

    parser.add_argument("files", nargs="+", metavar="FILE", help="settings file, or folder to search")
    parser.add_argument("-o", "--output", metavar="PAGE", type=Path, required=True, help="the page to write")
    take_day(parser)
    parser.add_argument(
        "--allow-accepted-rejects",
        action="store_true",
        help="do not count findings `reject` that a person took on under `accepted`; the page says so",
    )
    take_rules(parser)


def run(options: argparse.Namespace) -> int:
    """Judge every file and write the page."""
    from bmslint import __version__
    from bmslint.commands.subjects import subject
    from bmslint.gate.find import find_settings
    from bmslint.judge.entries import utc_today
    from bmslint.judge.faults import PackError
    from bmslint.judge.template import visible
    from bmslint.limits import UnusableTable
    from bmslint.output.files import replace_file
    from bmslint.output.report.page import page
    from bmslint.output.report.subject import Occasion

    found = find_settings(options.files)
    if found.unsearched:
        return say_problems(found.unsearched)
    if not found.files:
        say("bmslint: no settings file found; a settings file has the key `format` at its top level")
        return NOT_JUDGED
    if len(found.files) > 1:
        gc.enable()
    today = options.today or utc_today()
    try:
        pack = load_rules(options)
        told = [subject(each, pack, today, options.allow_accepted_rejects) for each in found.files]
    except (PackError, UnusableTable) as error:
        return say_pack(error)
    read = [Path(file) for each in told for file in (each.verdict.file, *(name for name, _ in each.digests))]
    if _is_among(options.output, read):
        say(f"bmslint: {options.output} is a settings file and would be written over; name another page")
        return UNUSABLE
    try:
        replace_file(options.output, page(told, Occasion(pack, today, __version__)))
    except OSError as error:
        say(f"bmslint: cannot write {options.output}: {error.strerror}")
        return UNUSABLE
    for each in told:
        say(visible(f"{each.verdict.file}: {each.verdict.word}; told in {options.output}"))
    return worst([STATUS.get(each.verdict.word, OK) for each in told])


def _is_among(file: Path, read: Sequence[Path]) -> bool:
    return file.exists() and any(path.exists() and path.samefile(file) for path in read)
