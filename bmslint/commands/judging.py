"""What `bmslint check` does when it knows what to judge: judges, writes, and gives the status."""

from __future__ import annotations

import gc
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import FAILED, NOT_JUDGED, OK, UNUSABLE, say, say_pack, worst

if TYPE_CHECKING:
    import argparse
    from collections.abc import Generator, Iterator

    from bmslint.commands.in_force import InForce
    from bmslint.commands.known import Known
    from bmslint.gate.find import Found
    from bmslint.judge.finding import Severity, Verdict
    from bmslint.judge.pack import Pack
    from bmslint.output.sinks import Outputs


def judge_all(found: Found, chosen: InForce, known: Known | None, options: argparse.Namespace) -> int:
    """Judge what was found.

    Args:
        found: the files, at least one or a folder that could not be searched.
        chosen: what is in force.
        known: the baseline, if the run has to do with one.
        options: of the command.

    Returns:
        The exit status.

    Raises:
        OSError: standard output takes less than all.
    """
    from itertools import chain

    from bmslint.gate.many import start_early
    from bmslint.judge.faults import PackError
    from bmslint.judge.pack import load_pack
    from bmslint.limits import UnusableTable
    from bmslint.output.sinks import Outputs
    from bmslint.output.writers import Run

    files = len(found.files) + len(found.unsearched)
    if files > 1:
        gc.enable()
    outputs = None
    start_early(len(found.files), options.workers)
    try:
        pack = load_pack(own=chosen.rules, installed=chosen.installed_rules)
        with _judged(found, pack, chosen, options) as verdicts:
            first = next(verdicts)  # rules at fault are told before anything is written
            baseline = known.baseline if known else None
            run = Run(pack, files, chosen.fail_on, _root(), baseline)
            outputs = Outputs(options.format, chosen.write, run)
            return _write_all(chain((first,), verdicts), outputs, known, chosen.fail_on)
    except (PackError, UnusableTable) as error:
        return say_pack(error)
    finally:
        if outputs is not None:
            outputs.drop()


def _root() -> Path:
    from bmslint.settings.repository import repository_root

    here = Path.cwd()
    return repository_root(here) or here


@contextmanager
def _judged(
    found: Found, pack: Pack, chosen: InForce, options: argparse.Namespace
) -> Iterator[Iterator[Verdict]]:
    """Judge while they are taken: each file in the order of their names, and folders nobody could look into.

    However the taking ends, the workers end with it.
    """
    from bmslint.gate.many import judge_files
    from bmslint.output.progress import with_progress

    judged = judge_files(
        found.files,
        own=chosen.rules,
        installed=chosen.installed_rules,
        pack=pack,
        today=options.today,
        allow_accepted_rejects=options.allow_accepted_rejects,
        workers=options.workers,
    )
    files = len(found.files) + len(found.unsearched)
    with (
        closing(judged),
        closing(with_progress(_with_unsearched(judged, found), files, options.format)) as verdicts,
    ):
        yield verdicts


def _with_unsearched(judged: Iterator[Verdict], found: Found) -> Generator[Verdict, None, None]:
    if not found.unsearched:
        yield from judged
        return
    from heapq import merge

    from bmslint.judge.finding import Verdict

    unsearched = (Verdict(each.file, "unusable", errors=(each,)) for each in found.unsearched)
    yield from merge(judged, unsearched, key=lambda verdict: verdict.file)


def _write_all(verdicts: Iterator[Verdict], outputs: Outputs, known: Known | None, fail_on: Severity) -> int:
    """Write each verdict as it comes, and give the status of the run."""
    statuses = {OK}
    for whole in verdicts:
        verdict = known.new(whole) if known else whole
        statuses.add(status_of(verdict, fail_on))
        outputs.add(verdict)
    try:
        outputs.end()
    finally:
        say(*(f"bmslint: {fault}" for fault in outputs.faults))
    if known:
        statuses.add(known.end())
    return worst([*statuses, *([UNUSABLE] if outputs.faults else [])])


def status_of(verdict: Verdict, fail_on: Severity) -> int:
    """Give the status that a verdict ends the run with, if none goes before it.

    Args:
        verdict: of a file.
        fail_on: least severity that fails.

    Returns:
        The exit status.
    """
    from bmslint.judge.finding import SEVERITIES

    counted = SEVERITIES[: SEVERITIES.index(fail_on) + 1]
    if verdict.word == "unusable":
        return UNUSABLE
    if any(finding.severity in counted for finding in verdict.findings):
        return FAILED
    return NOT_JUDGED if any(each.severity == "reject" for each in verdict.not_judged) else OK
