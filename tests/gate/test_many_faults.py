"""What goes wrong while many files are judged: the file is named, and no other finding is lost."""

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from datetime import date
from pathlib import Path

import deadly
import pytest

from bmslint.gate import dispatch
from bmslint.gate.many import judge_files
from bmslint.gate.pool import Pool, start_server
from bmslint.judge import judge as judging
from bmslint.judge.finding import Verdict
from bmslint.settings.reader import Document

SMALL = "format: 1\npack: {{chemistry: lfp, series: {}}}\n"
TODAY = date(2026, 7, 1)


@pytest.fixture(scope="module", autouse=True)
def server() -> None:
    """Let workers begin with what they need, as the command does."""
    start_server()


def small(folder: Path, *more: str, count: int = 40) -> list[Path]:
    """Files that are quick to judge, and some whose names say what they do to a worker."""
    for number in range(count):
        (folder / f"{number:02d}.yaml").write_text(SMALL.format(4 + number % 12), encoding="utf-8")
    for name in more:
        (folder / name).write_text(SMALL.format(8), encoding="utf-8")
    return sorted(folder.glob("*.yaml"))


def unusable(file: Path, came: str, advice: str) -> tuple[str, str, list[str]]:
    told = f"expected a file that is judged to its end, came {came}; {advice}"
    return str(file), "unusable", [told]


def told(verdict: Verdict) -> tuple[str, str, list[str]]:
    return verdict.file, verdict.word, [each.message for each in verdict.errors]


def whole(files: list[Path], **different: tuple[str, str, list[str]]) -> list[tuple[str, str, list[str]]]:
    return [different.get(path.stem.replace("-", "_"), (str(path), "not judged", [])) for path in files]


TWICE = "no answer from the process that judged it, twice"
MEMORY = "want of memory may have ended it; if not, report it with the file"


def test_a_file_that_ends_its_worker_twice_is_named_and_the_others_are_judged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = small(tmp_path, "10-deadly-always.yaml", "20-deadly-once.yaml", "35-deadly-always.yaml")
    monkeypatch.setattr(dispatch, "judge_chunk", deadly.judge_chunk)
    verdicts = list(map(told, judge_files(files, today=TODAY, workers=2)))
    named = {
        f"{number}_deadly_always": unusable(tmp_path / f"{number}-deadly-always.yaml", TWICE, MEMORY)
        for number in (10, 35)
    }
    assert verdicts == whole(files, **named)


def test_a_worker_killed_from_outside_loses_nothing(tmp_path: Path) -> None:
    files = small(tmp_path)
    before = set(multiprocessing.active_children())
    verdicts = []
    for verdict in judge_files(files, today=TODAY, workers=2):
        if not verdicts:
            (victim, *_) = set(multiprocessing.active_children()) - before
            victim.kill()
        verdicts.append(told(verdict))
    assert verdicts == whole(files)


def test_an_executor_that_breaks_is_replaced_and_said_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = small(tmp_path, "20-deadly-always.yaml")
    monkeypatch.setattr(dispatch, "judge_chunk", deadly.judge_chunk)
    context = multiprocessing.get_context("forkserver")
    with (
        ProcessPoolExecutor(2, mp_context=context) as executor,
        pytest.warns(RuntimeWarning, match="lost work, which is judged in a process here"),
    ):
        verdicts = list(map(told, judge_files(files, executor, today=TODAY, workers=2)))
    named = unusable(tmp_path / "20-deadly-always.yaml", TWICE, MEMORY)
    assert verdicts == whole(files, **{"20_deadly_always": named})


def test_work_that_a_cluster_lost_is_judged_here(tmp_path: Path) -> None:
    """As engines do it whose workers may go: the work fails, and the executor goes on."""

    class Forgetful(Executor):
        def __init__(self) -> None:
            self.handed = 0

        def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
            self.handed += 1
            future: Future[object] = Future()
            if self.handed % 3:
                future.set_result(fn(*args, **kwargs))
            else:
                future.set_exception(ConnectionError("worker 7 is gone"))
            return future

    files = small(tmp_path)
    with pytest.warns(RuntimeWarning, match=r"\(ConnectionError: worker 7 is gone\)"):
        verdicts = list(map(told, judge_files(files, Forgetful(), today=TODAY, workers=2)))
    assert verdicts == whole(files)


class OwnError(Exception):
    """Stands for any fault of our own."""


@pytest.mark.parametrize(
    ("error", "came", "advice"),
    [
        (MemoryError(), "more memory needed than there is", "give the run more, or fewer workers"),
        (
            OwnError("a\nb"),
            "a fault of bmslint itself, OwnError in gate/worker.py:*** (a b)",
            "report it together with the file",
        ),
        (
            RecursionError(),
            "a fault of bmslint itself, RecursionError in gate/worker.py:***",
            "report it together with the file",
        ),
    ],
)
@pytest.mark.parametrize("workers", [1, 2])
def test_whatever_judging_one_file_raises_is_told_of_that_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, came: str, advice: str, workers: int
) -> None:
    judge = judging.judge

    def failing(document: Document, *given: object, **named: object) -> Verdict:
        if document.file.endswith("07.yaml"):
            raise error
        return judge(document, *given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(judging, "judge", failing)
    files = small(tmp_path, count=30)
    with ThreadPoolExecutor(workers) as executor:
        verdicts = [told(each) for each in judge_files(files, executor, today=TODAY, workers=workers)]
    line = verdicts[7][2][0].partition("worker.py:")[2].partition(" ")[0].rstrip(";")
    assert verdicts == whole(files, **{"07": unusable(files[7], came.replace("***", line), advice)})


def test_a_worker_out_of_memory_says_so_and_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a real worker, with what raises it standing in for the physics."""
    files = small(tmp_path, "07-greedy.yaml", count=30)
    monkeypatch.setattr(dispatch, "judge_chunk", deadly.judge_chunk_greedily)
    verdicts = list(map(told, judge_files(files, today=TODAY, workers=2)))
    greedy = unusable(
        tmp_path / "07-greedy.yaml", "more memory needed than there is", "give the run more, or fewer workers"
    )
    assert verdicts == whole(files, **{"07_greedy": greedy})


SCRIPT = """
import sys
from datetime import date
from pathlib import Path
from bmslint.gate.many import judge_files
from bmslint.gate.pool import Pool, start_server

if __name__ == "__main__":
    for number, verdict in enumerate(judge_files(Path(sys.argv[1]).glob("*.yaml"), workers=2)):
        print(number, flush=True)
"""


def group_is_empty(group: int, patience_s: float = 10.0) -> bool:
    """Whether no process of a group is left, after some time for the last to go."""
    end = time.monotonic() + patience_s
    while time.monotonic() < end:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


@pytest.mark.parametrize("ending", [signal.SIGKILL, signal.SIGTERM])
def test_workers_end_with_a_run_that_is_killed(tmp_path: Path, ending: signal.Signals) -> None:
    small(tmp_path, count=400)
    (tmp_path / "run.py").write_text(SCRIPT, encoding="utf-8")
    run = subprocess.Popen(
        [sys.executable, str(tmp_path / "run.py"), str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    with run:
        assert run.stdout is not None
        assert run.stderr is not None
        assert run.stdout.readline() == b"0\n"
        run.send_signal(ending)
        assert run.wait(timeout=30) == -ending
        assert group_is_empty(run.pid)
        # The standard library may tell of locks that it cleared away.
        assert b"Traceback" not in run.stderr.read()


def test_a_run_that_nobody_takes_on_ends_its_workers(tmp_path: Path) -> None:
    before = set(multiprocessing.active_children())
    verdicts = judge_files(small(tmp_path, count=200), workers=2)
    next(verdicts)
    verdicts.close()  # type: ignore[attr-defined]
    assert set(multiprocessing.active_children()) == before


def test_a_pool_that_lost_a_worker_takes_work_again() -> None:
    pool = Pool(1)
    try:
        with pytest.raises(BrokenExecutor):
            pool.submit(deadly.end).result()
        assert pool.submit(len, "abc").result() == 3
    finally:
        pool.shutdown()
