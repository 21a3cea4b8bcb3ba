"""`bmslint check`: judges settings files."""

from __future__ import annotations

import gc
import io
import sys
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
    take_rules,
    worst,
)

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence
    from datetime import date

    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("files", nargs="+", metavar="FILE", help="settings file, or folder to search")
    parser.add_argument("--format", choices=("text", "json"), default="text", help="form of the verdicts")
    parser.add_argument("--output", metavar="FILE", type=Path, help="write there and not to standard output")
    parser.add_argument(
        "--fail-on",
        choices=("reject", "review", "note"),
        default="reject",
        help="least severity that gives exit status 1 (default: reject)",
    )
    parser.add_argument(
        "--today",
        metavar="YEAR-MONTH-DAY",
        type=day,
        help="day that dates under `accepted` are held against (default: this computer's, in UTC)",
    )
    parser.add_argument(
        "--allow-accepted-rejects",
        action="store_true",
        help="do not count findings `reject` that a person took on under `accepted`; the verdict says so",
    )
    take_rules(parser)


def day(text: str) -> date:
    """Read a day as an argument gives it.

    Args:
        text: the day, as in 2027-03-31.

    Returns:
        The day.

    Raises:
        argparse.ArgumentTypeError: it is none.
    """
    import argparse
    import re
    from datetime import date

    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(f"{text!r} is no day; write it as in 2027-03-31")


def run(options: argparse.Namespace) -> int:
    """Judge every file and write the verdicts."""
    from bmslint.gate.find import settings_files
    from bmslint.settings import read

    paths = settings_files(options.files)
    if not paths:
        say("bmslint: no settings file found; a settings file has a line that begins with `format:`")
        return NOT_JUDGED
    if options.output is not None and _is_among(options.output, paths):
        say(f"bmslint: {options.output} is judged and would be written over; name another file for --output")
        return UNUSABLE
    from bmslint.judge.entries import utc_today
    from bmslint.judge.faults import PackError
    from bmslint.judge.judge import judge
    from bmslint.limits import UnusableTable

    if len(paths) > 1:
        gc.enable()
    try:
        pack = load_rules(options)
        today = options.today or utc_today()
        allowed = options.allow_accepted_rejects
        verdicts = [judge(read(path), pack, today=today, allow_accepted_rejects=allowed) for path in paths]
    except (PackError, UnusableTable) as error:
        return say_pack(error)
    try:
        _write(verdicts, pack, options.format, options.output)
    except OSError as error:
        if options.output is None:
            raise
        say(f"bmslint: cannot write {options.output}: {error.strerror}")
        return UNUSABLE
    return worst([_status(each, options.fail_on) for each in verdicts])


def _is_among(file: Path, paths: Sequence[Path]) -> bool:
    return file.exists() and any(path.exists() and path.samefile(file) for path in paths)


def _status(verdict: Verdict, fail_on: str) -> int:
    from bmslint.judge.finding import SEVERITIES

    counted = SEVERITIES[: SEVERITIES.index(fail_on) + 1]
    if verdict.word == "unusable":
        return UNUSABLE
    if any(finding.severity in counted for finding in verdict.findings):
        return FAILED
    return NOT_JUDGED if any(each.severity == "reject" for each in verdict.not_judged) else OK


def _write(verdicts: Sequence[Verdict], pack: Pack, form: str, output: Path | None) -> None:
    if form == "json":
        from bmslint.output.json import check_json

        text = check_json(verdicts, pack)
    else:
        from bmslint.output.text import write_check

        if output is None:
            write_check(verdicts, sys.stdout, own=pack.own)
            return
        page = io.StringIO()
        write_check(verdicts, page, own=pack.own)
        text = page.getvalue()
    if output is None:
        sys.stdout.write(text)
    else:
        from bmslint.output.files import replace_file

        replace_file(output, text)
