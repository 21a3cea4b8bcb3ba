"""Judges many files in many processes, with verdicts one by one in the order of the files' names."""

from __future__ import annotations

import os
import time
import warnings
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.gate.pool import Pool, usable_cpus
from bmslint.gate.worker import Answer, Task, digests, judge_chunk, judge_file, not_finished

if TYPE_CHECKING:
    from datetime import date

    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack

CHUNK = 8
"""Files that are handed over together."""

IN_FLIGHT = 4
"""Chunks for each worker that are handed over or wait for their turn; it bounds the memory."""

FEW = 24
"""So many files are judged in the process itself before workers are ready."""


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
) -> Iterator[Verdict]:
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
        workers: how many processes judge, or how many the executor has; the number of usable CPUs if left
            out. Whatever it is, the verdicts are the same.

    Returns:
        The verdicts one by one, sorted by the files' names.

    Raises:
        PackError: the rules cannot be used, or one is at fault, after the verdicts of the files before.
        UnusableTable: a shipped table cannot be used.
    """
    from bmslint.judge.entries import utc_today
    from bmslint.judge.pack import load_pack

    names = sorted({str(each) for each in files})
    rules = load_pack(own=own, installed=installed) if pack is None else pack
    day = today or utc_today()
    count = min(usable_cpus() if workers is None else workers, -(-len(names) // CHUNK))
    if executor is None and count > 1 and len(names) > FEW:
        executor = _processes(count)
    if executor is None:
        for name in names:
            yield judge_file(name, rules, day, allow_accepted_rejects)
        return
    run = f"{os.getpid()} {time.monotonic_ns()}"
    folders = tuple(str(each) for each in own)
    task = Task(folders, installed, digests(rules), day, allow_accepted_rejects, run)
    judging = _Run(task, executor, count)
    try:
        yield from judging.verdicts(names)
    finally:
        judging.end()


def _processes(count: int) -> Pool | None:
    """Start workers; None on a system that has no processes or locks for them."""
    try:
        pool = Pool(count)
        pool.submit(os.getpid)
    except (ImportError, NotImplementedError, OSError):
        return None
    return pool


class _Run:
    """Keeps workers busy, takes what they judged in order, and judges anew what a lost worker had."""

    def __init__(self, task: Task, executor: Executor, workers: int) -> None:
        self._task = task
        self._executor = executor
        self._workers = workers
        self._alone: Pool | None = None
        self._flight: deque[tuple[Sequence[str], Future[Answer]]] = deque()

    def verdicts(self, names: Sequence[str]) -> Iterator[Verdict]:
        """Give the verdicts in the order of the names."""
        chunks = (names[start : start + CHUNK] for start in range(0, len(names), CHUNK))
        for chunk in chunks:
            self._flight.append((chunk, self._submitted(chunk)))
            if len(self._flight) == IN_FLIGHT * self._workers:
                yield from self._first()
        while self._flight:
            yield from self._first()

    def _submitted(self, chunk: Sequence[str]) -> Future[Answer]:
        try:
            return self._executor.submit(judge_chunk, self._task, chunk)
        except RuntimeError as error:  # broken, or shut down by whom it belongs to
            self._warn(error)
            self._executor = Pool(self._workers)
            return self._executor.submit(judge_chunk, self._task, chunk)

    def _first(self) -> Iterator[Verdict]:
        chunk, future = self._flight.popleft()
        for answer in self._answers(chunk, future):
            yield from answer.verdicts
            if answer.fault is not None:
                raise answer.fault

    def _answers(self, chunk: Sequence[str], future: Future[Answer]) -> Iterator[Answer]:
        try:
            answer = future.result()
        except Exception as error:
            # A worker was lost. Which file of all in flight it was is not known, so each gets another chance.
            if not isinstance(self._executor, Pool):
                self._warn(error)
            return (self._alone_answer(name) for name in chunk)
        return iter((answer,))

    def _warn(self, error: Exception) -> None:
        what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
        told = f"the executor lost work, which is judged in a process here ({what})"
        warnings.warn(told, RuntimeWarning, stacklevel=2)

    def _alone_answer(self, name: str) -> Answer:
        """Judge a file in a process that has nothing else to do, so that it is known what ends it."""
        if self._alone is None:
            self._alone = Pool(1)
        for _ in range(2):
            with suppress(BrokenExecutor):
                return self._alone.submit(judge_chunk, self._task, (name,)).result()
        came = "the end of the process that judged it, twice, without a word from it"
        advice = "want of memory may have ended it; if not, report it together with the file"
        return Answer((not_finished(name, came, advice),))

    def end(self) -> None:
        """Let go of everything, finished or not."""
        for _, future in self._flight:
            future.cancel()
        for pool in (self._executor, self._alone):
            if isinstance(pool, Pool):
                pool.shutdown()
