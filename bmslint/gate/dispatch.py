"""Hands chunks of files to workers, and takes the verdicts back in order."""

from __future__ import annotations

import os
import warnings
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import suppress
from typing import TYPE_CHECKING

from bmslint.gate.pool import Pool
from bmslint.gate.worker import Answer, Task, judge_chunk, not_finished

if TYPE_CHECKING:
    from bmslint.judge.finding import Verdict

CHUNK = 8
"""Files that are handed over together."""

IN_FLIGHT = 4
"""Chunks for each worker that are handed over or wait for their turn; it bounds the memory."""


class Dispatch:
    """Keeps workers busy, takes what they judged in order, and has judged anew what a lost worker had."""

    def __init__(self, task: Task, executor: Executor | None, workers: int) -> None:
        """Begin with workers of its own if no others are given.

        Args:
            task: the run.
            executor: where to judge.
            workers: how many it has, or is to have.
        """
        self._task = task
        self._workers = workers
        self._executor = _processes(workers) if executor is None else executor
        self._alone: Pool | None = None
        self._flight: deque[tuple[Sequence[str], Future[bytes]]] = deque()

    def verdicts(self, names: Sequence[str]) -> Iterator[Verdict]:
        """Have files judged.

        Args:
            names: the files.

        Yields:
            Their verdicts, in the same order.

        Raises:
            PackError: a rule is at fault.
            UnusableTable: a shipped table is.
        """
        chunks = (names[start : start + CHUNK] for start in range(0, len(names), CHUNK))
        for chunk in chunks:
            self._flight.append((chunk, self._submitted(chunk)))
            if len(self._flight) == IN_FLIGHT * self._workers:
                yield from self._first()
        while self._flight:
            yield from self._first()

    def _submitted(self, chunk: Sequence[str]) -> Future[bytes]:
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

    def _answers(self, chunk: Sequence[str], future: Future[bytes]) -> Iterator[Answer]:
        try:
            answer = Answer.of(future.result())
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
            with suppress(Exception):
                return Answer.of(self._alone.submit(judge_chunk, self._task, (name,)).result())
        came = "no answer from the process that judged it, twice"
        advice = "want of memory may have ended it; if not, report it with the file"
        return Answer((not_finished(name, came, advice),))

    def end(self) -> None:
        """Let go of everything, finished or not."""
        for _, future in self._flight:
            future.cancel()
        for pool in (self._executor, self._alone):
            if isinstance(pool, Pool):
                pool.shutdown()


def _processes(workers: int) -> Executor:
    """Start workers; a thread of this process on a system that has no processes or locks for them."""
    try:
        pool = Pool(workers)
        pool.submit(os.getpid)
    except (ImportError, NotImplementedError, OSError):
        return ThreadPoolExecutor(1)
    return pool
