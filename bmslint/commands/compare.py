"""`bmslint compare`: what a change made less safe or safer, and which findings came and went."""

from __future__ import annotations

import gc
import io
import os
import sys
from contextlib import ExitStack, closing
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import (
    FAILED,
    NOT_JUDGED,
    OK,
    UNUSABLE,
    UnusableArgumentsError,
    say,
    say_pack,
    say_refused,
    take_rules,
    worst,
)

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from bmslint.commands.in_force import InForce
    from bmslint.gate.compare import Comparison, FileComparison, Side
    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack
    from bmslint.settings import Problem

FORMS = ("text", "json", "markdown")
LESS_SAFE = "less-safe"


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    from bmslint.commands.arguments import take_day, take_outputs, workers
    from bmslint.gate.configuration import FAIL_ON

    parser.add_argument(
        "paths",
        nargs="*",
        metavar="FILE",
        help="old and new settings file, or old and new folder; with --rev: files and folders to compare "
        "(default: those of the configuration, or the working folder)",
    )
    parser.add_argument(
        "--rev",
        metavar="COMMIT",
        action="append",
        default=[],
        help="compare this revision with the working tree; given twice, the first with the second",
    )
    parser.add_argument("--format", choices=FORMS, default="text", help="form on standard output")
    take_outputs(parser, FORMS, "comparison", "markdown=comment.md")
    parser.add_argument(
        "--fail-on",
        choices=(*FAIL_ON, LESS_SAFE),
        help="least severity of a finding that came that gives exit status 1 (default: reject); with "
        "less-safe a setting that became less safe does, too",
    )
    take_day(parser)
    parser.add_argument(
        "--allow-accepted-rejects",
        action="store_true",
        help="do not count findings `reject` that a person took on under `accepted`",
    )
    parser.add_argument(
        "--workers",
        metavar="N",
        type=workers,
        help="processes to judge files in that did not change (default: the usable CPUs)",
    )
    parser.set_defaults(exclude=[], baseline=None)
    take_rules(parser)
    parser.add_argument(
        "--ignore-configuration", action="store_true", help="go by the command line and the defaults alone"
    )


def run(options: argparse.Namespace) -> int:
    """Compare and write what changed."""
    from bmslint.commands.in_force import in_force
    from bmslint.gate.configuration import ConfigurationError
    from bmslint.gate.git import RevisionError
    from bmslint.judge.faults import PackError
    from bmslint.judge.pack import load_pack
    from bmslint.limits import UnusableTable

    gc.enable()
    try:
        chosen = in_force(options)
        pack = load_pack(own=chosen.rules, installed=chosen.installed_rules)
        with ExitStack() as opened:
            old, new = _sides(options, chosen, opened)
            if not old.files and not new.files:
                say("bmslint: no settings file found; a settings file has a line that begins with `format:`")
                return NOT_JUDGED
            comparison = _compared(old, new, pack, chosen, options)
    except ConfigurationError as error:
        say("bmslint: the configuration cannot be used, so nothing was compared", *error.problems)
        return UNUSABLE
    except (RevisionError, UnusableArgumentsError) as error:
        return say_refused(error)
    except (PackError, UnusableTable) as error:
        return say_pack(error)
    status = worst([OK, *(status_of(each, chosen.fail_on) for each in comparison.files)])
    return worst([status, _write(comparison, pack, options)])


def _sides(options: argparse.Namespace, chosen: InForce, opened: ExitStack) -> tuple[Side, Side]:
    if len(options.rev) > 2:
        raise UnusableArgumentsError("--rev is given more than twice; one change has two ends")
    if options.rev:
        return _of_revisions(options.rev, chosen, opened)
    if len(options.paths) != 2:
        told = "name an old and a new settings file, an old and a new folder, or a revision with --rev"
        raise UnusableArgumentsError(told)
    old, new = options.paths
    return _of_paths(old, new, chosen)


def _of_paths(old: str, new: str, chosen: InForce) -> tuple[Side, Side]:
    """Two files are matched as they are, the files of two folders by their names within them."""
    from bmslint.gate.compare import Side
    from bmslint.gate.find import find_settings

    for each in (old, new):
        if not os.path.lexists(each):
            raise UnusableArgumentsError(f"there is no {each}; check the path")
    folders = [Path(each).is_dir() for each in (old, new)]
    if folders[0] != folders[1]:
        raise UnusableArgumentsError(f"{old} and {new} have to be both files or both folders")
    if not folders[0]:
        return Side(old, {new: Path(old)}), Side(new, {new: Path(new)})
    sides = []
    for folder in (old, new):
        found = find_settings([folder], chosen.exclude)
        _hold_searched(found.unsearched)
        sides.append(Side(folder, {each.relative_to(folder).as_posix(): each for each in found.files}))
    return sides[0], sides[1]


def _of_revisions(revisions: Sequence[str], chosen: InForce, opened: ExitStack) -> tuple[Side, Side]:
    """The same names in two revisions, or in one and the working tree."""
    from bmslint.gate.compare import Side
    from bmslint.gate.find import find_settings
    from bmslint.gate.revision import Revision

    names = chosen.paths or (".",)
    sides = []
    known: set[str] = set()
    for each in revisions:
        revision = opened.enter_context(Revision(each))
        known |= {name for name in names if revision.has(Path(name))}
        files = revision.find_settings(names, chosen.exclude)
        called = f"{each} ({revision.commit[:10]})"
        sides.append(Side(called, {path.as_posix(): path for path in files}, revision))
    if len(sides) == 1:
        there = [name for name in names if os.path.lexists(name)]
        found = find_settings(there, chosen.exclude)
        _hold_searched(found.unsearched)
        known |= set(there)
        sides.append(Side("the working tree", {path.as_posix(): path for path in found.files}))
    for name in names:
        if name not in known:
            raise UnusableArgumentsError(f"there is no {name} on either side; check the path")
    return sides[0], sides[1]


def _hold_searched(unsearched: Sequence[Problem]) -> None:
    if unsearched:
        raise UnusableArgumentsError("\n".join(f"{each.file}: {each.message}" for each in unsearched))


def _compared(old: Side, new: Side, pack: Pack, chosen: InForce, options: argparse.Namespace) -> Comparison:
    """Compare here, and judge the files that did not change in workers where they lie on the disk."""
    from bmslint.gate.compare import compare, gathered
    from bmslint.gate.many import judge_files
    from bmslint.judge.entries import utc_today
    from bmslint.settings.files import DISK

    today, allowed = options.today or utc_today(), options.allow_accepted_rejects

    def in_workers(paths: Sequence[Path]) -> Iterator[Verdict]:
        judged = judge_files(
            paths,
            own=chosen.rules,
            installed=chosen.installed_rules,
            pack=pack,
            today=today,
            allow_accepted_rejects=allowed,
            workers=options.workers,
        )
        with closing(judged):
            yield from judged

    on_disk = in_workers if new.source is DISK else None
    files = compare(old, new, pack, today=today, allow_accepted_rejects=allowed, elsewhere=on_disk)
    return gathered(old.name, new.name, files)


def status_of(file: FileComparison, fail_on: str) -> int:
    """Give the exit status that the change of one file deserves.

    Args:
        file: what became of it.
        fail_on: least severity of a finding that came, or `less-safe`.

    Returns:
        UNUSABLE where the file cannot be read now; FAILED where a finding that severe came or a finding
        became that severe; NOT_JUDGED where a rule of severity `reject` was judged before, or would be
        in a new file, and lacks data now.
    """
    from bmslint.judge.finding import SEVERITIES

    if file.now is not None and file.now.word == "unusable":
        return UNUSABLE
    severity = "reject" if fail_on == LESS_SAFE else fail_on
    counted = SEVERITIES[: list[str](SEVERITIES).index(severity) + 1]
    worse = [*file.came, *(each.now for each in file.stayed if each.raised)]
    if any(each.severity in counted for each in worse):
        return FAILED
    if fail_on == LESS_SAFE and any(each.direction == "less safe" for each in file.settings):
        return FAILED
    return NOT_JUDGED if any(each.severity == "reject" for each in file.unjudged) else OK


def _write(comparison: Comparison, pack: Pack, options: argparse.Namespace) -> int:
    from bmslint.output.files import replace_file

    faults = []
    for form, file in options.write:
        try:
            replace_file(file, _written(form, comparison, pack))
        except OSError as error:
            faults.append(f"bmslint: cannot write {file}: {error.strerror}")
    if options.format == "text":
        from bmslint.output.comparison.text import write_comparison

        write_comparison(comparison, sys.stdout, own=pack.own)
    else:
        sys.stdout.write(_written(options.format, comparison, pack))
    say(*faults)
    return UNUSABLE if faults else OK


def _written(form: str, comparison: Comparison, pack: Pack) -> str:
    if form == "json":
        from bmslint.output.comparison.json import comparison_json

        return comparison_json(comparison, pack)
    if form == "markdown":
        from bmslint.output.comparison.markdown import comparison_markdown

        return comparison_markdown(comparison, pack.own)
    from bmslint.output.comparison.text import write_comparison

    page = io.StringIO()
    write_comparison(comparison, page, own=pack.own)
    return page.getvalue()
