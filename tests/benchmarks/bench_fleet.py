"""A fleet of distinct profiles judged, physics included; prints figures, asserts nothing. For quiet machines.

    .venv/bin/python tests/benchmarks/bench_fleet.py load [FILES] [ROUNDS]    1000 files, 3 rounds
    .venv/bin/python tests/benchmarks/bench_fleet.py memory [FILES]          10000 files
    .venv/bin/python tests/benchmarks/bench_fleet.py workers [FILES] [ROUNDS]  400 files, 3 rounds

load: against ruamel.yaml's round-trip loader, which loads the same files in as many processes, in alternating
runs; as elapsed time, and as processor time of all processes, which other work on the machine disturbs less.
memory: peak of each worker and of the run's own process, and how the workers' memory grows with the files.
workers: two of them against one, and against the run's own process alone.
"""

import os
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any, NamedTuple

# As the command line does: threads of the linear algebra cost more than they give on matrices this small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from fleet import write_fleet

from bmslint import judge_files
from bmslint.gate.dispatch import CHUNK
from bmslint.gate.many import usable_cpus
from bmslint.gate.pool import Pool

MIB = 1024.0


class Measured(NamedTuple):
    """What a worker process has used since it began: processor time (s), memory now and at its peak (MiB)."""

    process: int
    cpu_s: float
    memory_MiB: float
    peak_MiB: float


def measured() -> Measured:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MIB
    return Measured(os.getpid(), time.process_time(), pages * resource.getpagesize() / MIB**2, peak)


def call(fn: Callable[..., Any], given: Sequence[Any]) -> tuple[Any, Measured]:
    return fn(*given), measured()


class Counting(Executor):
    """Workers as a run of its own has them, which tell beside each answer what they have used."""

    def __init__(self, workers: int) -> None:
        self.pool = Pool(workers)
        self.told: list[Measured] = []

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        answer: Future[Any] = Future()

        def passed_on(done: Future[tuple[Any, Measured]]) -> None:
            if (lost := done.exception()) is not None:
                answer.set_exception(lost)
                return
            value, used = done.result()
            self.told.append(used)
            answer.set_result(value)

        self.pool.submit(call, fn, args).add_done_callback(passed_on)
        return answer

    def cpu_s(self) -> float:
        """Processor time of all workers (s)."""
        return sum({each.process: each.cpu_s for each in self.told}.values())


def round_trip(files: Sequence[str]) -> None:
    from ruamel.yaml import YAML

    for file in files:
        YAML(typ="rt").load(Path(file))


def judge_all(files: list[Path], executor: Executor, workers: int) -> None:
    for _ in judge_files(files, executor, workers=workers):
        pass


def load_all(files: list[Path], executor: Executor, workers: int) -> None:
    names = [str(each) for each in files]
    chunks = [names[start : start + CHUNK] for start in range(0, len(names), CHUNK)]
    for each in [executor.submit(round_trip, chunk) for chunk in chunks]:
        each.result()


def timed(work: Callable[[list[Path], Executor, int], None], files: list[Path], workers: int) -> Any:
    """Give elapsed and processor time (s) of a run with fresh workers, and what they told."""
    start, own = time.perf_counter(), time.process_time()
    executor = Counting(workers)
    try:
        work(files, executor, workers)
    finally:
        executor.pool.shutdown()
    taken = time.perf_counter() - start
    return taken, executor.cpu_s() + time.process_time() - own, executor.told


def medians(runs: list[tuple[Any, ...]]) -> list[float]:
    return [statistics.median(column) for column in zip(*(run[:2] for run in runs), strict=True)]


def load(files: list[Path], rounds: int) -> None:
    workers = usable_cpus()
    pairs = [(timed(judge_all, files, workers), timed(load_all, files, workers)) for _ in range(rounds)]
    ours, peer = (medians([pair[side] for pair in pairs]) for side in (0, 1))
    for what, mine, theirs in zip(("elapsed", "processor"), ours, peer, strict=True):
        print(
            f"{len(files)} files, {workers} workers, {what} time: judged in {mine:.1f} s, "
            f"loaded in {theirs:.1f} s: ratio {mine / theirs:.2f}"
        )


def memory(files: list[Path]) -> None:
    workers = usable_cpus()
    *_, told = timed(judge_all, files, workers)
    for number, process in enumerate(sorted({each.process for each in told}), 1):
        grown = [each for each in told if each.process == process]
        at = {part: grown[round(part * (len(grown) - 1) / 4)].memory_MiB for part in (1, 2, 3, 4)}
        course = ", ".join(f"{value:.0f}" for value in at.values())
        peak = max(each.peak_MiB for each in grown)
        print(f"worker {number}: peak {peak:.0f} MiB; after each quarter {course}")
    print(f"the run's own process: peak {measured().peak_MiB:.0f} MiB, {len(files)} files")


def scaling(files: list[Path], rounds: int) -> None:
    def alone() -> float:
        start = time.perf_counter()
        for _ in judge_files(files, workers=1):
            pass
        return time.perf_counter() - start

    runs = [(timed(judge_all, files, 1)[0], timed(judge_all, files, 2)[0], alone()) for _ in range(rounds)]
    one, two, none = (statistics.median(column) for column in zip(*runs, strict=True))
    print(f"{len(files)} files: one worker {one:.1f} s, two {two:.1f} s: {one / two:.2f} times as fast;")
    print(f"in the run's own process {none:.1f} s: two workers are {none / two:.2f} times as fast")


if __name__ == "__main__":
    what, *numbers = sys.argv[1:]
    count = int(numbers[0]) if numbers else {"load": 1000, "memory": 10_000, "workers": 400}[what]
    times = int(numbers[1]) if len(numbers) > 1 else 3
    with tempfile.TemporaryDirectory() as place:
        written = write_fleet(Path(place), count)
        if what == "memory":
            memory(written)
        else:
            {"load": load, "workers": scaling}[what](written, times)
