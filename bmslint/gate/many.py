"""Judges many files in many processes, with verdicts one by one in the order of the files' names."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Generator, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.gate.worker import Task, digests, judge_file

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from datetime import date

    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack

FEW = 24
"""So many files are judged in the process itself before workers are ready."""

MOST_ON_WINDOWS = 61
"""More processes its way of waiting does not take."""


def judge_files(
    files: Iterable[str | Path],
    executor: Executor | None = None,
    *,
    own: Sequence[Path] = (),
    installed: bool = False,
    pack: Pack | None = None,
    today: date | None = None,
    allow_accepted_rejects: bool = False,
    workers: int | None = None,
) -> Generator[Verdict]:
    """Judge settings files; a file whose judging does not come to its end is `unusable`, the others go on.

    Args:
        files: the files, each judged once. With an executor on other machines they and `own` have to lie
            there under the same names, and bmslint in the same version.
        executor: where to judge, such as that of a cluster; processes of the run's own if left out.
        own: folders of rules of one's own.
        installed: whether to judge with the rules that installed packages offer.
        pack: these rules, if they are loaded already.
        today: the day that dates under `accepted` are held against; the computer's in UTC if left out.
        allow_accepted_rejects: whether findings `reject` that a person took on do not count.
        workers: how many processes judge, or how many the executor has; as many as there are usable CPUs
            if left out. Whatever it is, the verdicts are the same.

    Returns:
        The verdicts one by one, sorted by the files' names; to close it ends the workers at once.

    Raises:
        PackError: the rules cannot be used, or one is at fault, after the verdicts of the files before.
        UnusableTable: a shipped table cannot be used.
    """
    from bmslint.judge.entries import utc_today
    from bmslint.judge.pack import load_pack

    names = sorted({str(each) for each in files})
    rules = load_pack(own=own, installed=installed) if pack is None else pack
    day = today or utc_today()
    count = usable_cpus() if workers is None else workers
    if executor is None and not _worth_it(len(names), count):
        for name in names:
            yield judge_file(name, rules, day, allow_accepted_rejects)
        return
    from bmslint.gate.dispatch import Dispatch

    run = f"{os.getpid()} {time.monotonic_ns()}"
    folders = tuple(str(each) for each in own)
    task = Task(folders, installed, digests(rules), day, allow_accepted_rejects, run)
    dispatch = Dispatch(task, executor, count)
    try:
        yield from dispatch.verdicts(names)
    finally:
        dispatch.end()


def start_early(files: int, workers: int | None) -> None:
    """Begin to get workers ready before the rules are loaded, in a program whose process is its own.

    Args:
        files: how many will be judged.
        workers: as `judge_files` will be told.
    """
    if _worth_it(files, usable_cpus() if workers is None else workers):
        from bmslint.gate.pool import start_server

        start_server()


def _worth_it(files: int, workers: int) -> bool:
    return files > FEW and workers > 1


def usable_cpus() -> int:
    """Count the CPUs that this process may use.

    Returns:
        Their number, at least 1; in a container with a share of the machine, that share.
    """
    affinity = hasattr(os, "sched_getaffinity")
    count = len(os.sched_getaffinity(0)) if affinity else os.cpu_count() or 1
    try:
        quota, period = Path("/sys/fs/cgroup/cpu.max").read_text(encoding="ascii").split()
        count = min(count, max(1, int(quota) // int(period)))
    except (OSError, ValueError):  # no such limit here
        pass
    return min(count, MOST_ON_WINDOWS) if sys.platform == "win32" else count
