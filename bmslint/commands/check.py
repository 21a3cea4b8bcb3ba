"""`bmslint check`: judges settings files."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import (
    NOT_JUDGED,
    OK,
    UNUSABLE,
    UnusableArgumentsError,
    say,
    say_refused,
    take_rules,
    worst,
)

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from bmslint.commands.in_force import InForce
    from bmslint.commands.known import Known
    from bmslint.gate.find import Found


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    from bmslint.commands.arguments import take_day, take_outputs, workers
    from bmslint.gate.configuration import FAIL_ON, OUTPUT_FORMATS

    parser.add_argument(
        "paths",
        nargs="*",
        metavar="FILE",
        help="settings file, or folder to search; those of the configuration if left out",
    )
    parser.add_argument(
        "--format", choices=OUTPUT_FORMATS, default="text", help="form of the verdicts on standard output"
    )
    take_outputs(parser, OUTPUT_FORMATS, "verdicts", "json=verdicts.json")
    parser.add_argument(
        "--exclude",
        metavar="PATTERN",
        action="append",
        default=[],
        help="leave out of folders, as in 'profiles/base' or '**/draft-*.yaml'; may be given again",
    )
    parser.add_argument(
        "--fail-on",
        choices=FAIL_ON,
        help="least severity that gives exit status 1 (default: reject)",
    )
    take_day(parser)
    parser.add_argument(
        "--allow-accepted-rejects",
        action="store_true",
        help="do not count findings `reject` that a person took on under `accepted`; the verdict says so",
    )
    _describe_baseline(parser)
    take_rules(parser)
    parser.add_argument(
        "--workers",
        metavar="N",
        type=workers,
        help="processes to judge many files in; the verdicts are the same (default: the usable CPUs)",
    )
    parser.add_argument(
        "--ignore-configuration", action="store_true", help="go by the command line and the defaults alone"
    )
    parser.add_argument(
        "--show-configuration",
        action="store_true",
        help="print what is in force and where each value came from, and judge nothing",
    )


def _describe_baseline(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--baseline",
        metavar="FILE",
        type=Path,
        help="hold back the findings that this file knows, and show and count only what is new",
    )
    parser.add_argument(
        "--write-baseline",
        metavar="FILE",
        type=Path,
        help="without a baseline in force: write all findings there, to take over a repository; with one: "
        "write it without what is gone, and add nothing",
    )
    parser.add_argument(
        "--baseline-reason",
        metavar="TEXT",
        help="reason for findings `reject` that --write-baseline takes over; without one they still count",
    )


def run(options: argparse.Namespace) -> int:
    """Judge every file and write the verdicts."""
    from bmslint.commands.in_force import in_force, shown
    from bmslint.gate.configuration import ConfigurationError
    from bmslint.gate.find import find_settings

    try:
        chosen = in_force(options)
    except ConfigurationError as error:
        say("bmslint: the configuration cannot be used, so nothing was judged", *error.problems)
        return UNUSABLE
    if options.show_configuration:
        sys.stdout.write(shown(chosen))
        return OK
    try:
        known = _known(chosen, options)
    except UnusableArgumentsError as error:
        return say_refused(error)
    if not chosen.paths:
        say("bmslint: nothing to judge: name a file or folder, or set `paths` in .bmslint.yaml")
        return UNUSABLE
    found = find_settings(chosen.paths, chosen.exclude)
    for each in found.unsearched:
        say(f"bmslint: {each.file}: {each.message}")
    if not found.files and not found.unsearched:
        say("bmslint: no settings file found; a settings file has a line that begins with `format:`")
        return NOT_JUDGED
    say(*(f"bmslint: no settings file found in {folder}" for folder in found.empty))
    if fault := _written_over([*chosen.write, *(known.writes() if known else [])], found):
        say(f"bmslint: {fault}")
        return UNUSABLE
    from bmslint.commands.judging import judge_all

    return worst([judge_all(found, chosen, known, options), NOT_JUDGED if found.empty else OK])


def _known(chosen: InForce, options: argparse.Namespace) -> Known | None:
    """The baseline of the run, if it has to do with one."""
    if chosen.baseline is None and options.write_baseline is None and options.baseline_reason is None:
        return None
    from bmslint.commands.known import Known

    return Known(chosen.baseline, options.write_baseline, options.baseline_reason)


def _written_over(write: Sequence[tuple[str, Path]], found: Found) -> str:
    """What an output would destroy: another one, a file that is judged, or one that such files may extend."""
    for number, (_, file) in enumerate(write):
        if any(file.absolute() == other.absolute() for _, other in write[:number]):
            return f"two outputs go to {file}; name another file for one of them"
        if file.is_file():
            from bmslint.gate.find import may_be_settings

            judged = any(path.exists() and path.samefile(file) for path in found.files)
            if judged or may_be_settings(file):
                what = "is judged" if judged else "is a settings file"
                return f"{file} {what} and would be written over; name another file to write"
    return ""
