"""Worker processes of a run's own, which end with it however it ends."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import suppress
from typing import ParamSpec, TypeVar

from bmslint.gate import worker

P = ParamSpec("P")
T = TypeVar("T")

FORKS = "forkserver" in multiprocessing.get_all_start_methods()


def start_server() -> None:
    """Begin to get workers ready, in a program whose process is its own.

    The server that workers are forked from imports what they need while this process does other things.
    """
    if FORKS:
        from multiprocessing import forkserver

        forkserver.set_forkserver_preload(["bmslint.gate.server"])
        forkserver.ensure_running()


class Pool(Executor):
    """Worker processes; where one was lost, which breaks a pool of the standard library, others begin."""

    def __init__(self, workers: int) -> None:
        """Start none yet; the first work does.

        Args:
            workers: how many processes, at least 1.
        """
        self._workers = workers
        self._begin()

    def _begin(self) -> None:
        # To fork this process would be quicker, but is unsafe once it has threads.
        context = multiprocessing.get_context("forkserver" if FORKS else "spawn")
        leash, self._held = context.Pipe(duplex=False)
        self._processes = ProcessPoolExecutor(
            self._workers, mp_context=context, initializer=worker.begin, initargs=(leash,)
        )

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Hand over some work.

        Args:
            fn: what to call in a worker.
            args: with what.
            kwargs: with what.

        Returns:
            What will come of it; a `BrokenExecutor` where a worker was lost meanwhile.
        """
        try:
            return self._processes.submit(fn, *args, **kwargs)
        except BrokenExecutor:
            self.shutdown()
            self._begin()
            return self._processes.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = True) -> None:
        """Let every worker end, in the middle of a file too.

        Args:
            wait: whether to return after they have ended.
            cancel_futures: what was not begun never is.
        """
        self._held.close()
        with suppress(
            RuntimeError
        ):  # its own thread, where garbage is collected there, cannot wait for itself
            self._processes.shutdown(wait=wait, cancel_futures=cancel_futures)
