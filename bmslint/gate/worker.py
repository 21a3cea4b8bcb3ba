"""What a worker process does: it loads the rules once and judges the files that it is given."""

from __future__ import annotations

import gc
import os
import pickle
import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bmslint import __version__

if TYPE_CHECKING:
    from datetime import date
    from multiprocessing.connection import Connection

    from bmslint.judge.finding import NotJudged, Outcome, Verdict
    from bmslint.judge.pack import Pack


class Task(NamedTuple):
    """What every worker has to know, small and picklable.

    A pack holds objects of the rule engine that cannot be sent, so each process loads it by itself: `own`
    and `installed` are what `load_pack` is given, `digests` and `version` what has to come out. `run` is
    another text for each run, so that an engine that knows a call again by its arguments judges anew.
    """

    own: tuple[str, ...]
    installed: bool
    digests: tuple[str, ...]
    today: date
    allow_accepted_rejects: bool
    run: str
    version: str = __version__


class Answer(NamedTuple):
    """What a worker sends back: a verdict for each file up to the one at which a rule was found at fault."""

    verdicts: tuple[Verdict, ...]
    fault: Exception | None = None

    @staticmethod
    def of(sent: bytes) -> Answer:
        """Take apart what `judge_chunk` gave.

        Args:
            sent: that, from a worker of this run.

        Returns:
            The answer.
        """
        answer: Answer = pickle.loads(zlib.decompress(sent))
        return answer


def digests(pack: Pack) -> tuple[str, ...]:
    """Tell one pack from another.

    Args:
        pack: the rules.

    Returns:
        A hash over the built-in folder, and one over each of one's own.
    """
    return (pack.digest, *(each.digest for each in pack.own))


_loaded: dict[tuple[tuple[str, ...], bool, tuple[str, ...]], Pack] = {}


def _pack(task: Task) -> Pack:
    """Load the rules of a run, once for all its files."""
    key = (task.own, task.installed, task.digests)
    if key not in _loaded:
        from bmslint.judge.faults import PackError, PackProblem
        from bmslint.judge.pack import load_pack

        pack = load_pack(own=[Path(each) for each in task.own], installed=task.installed)
        if (digests(pack), __version__) != (task.digests, task.version):
            what = f"a worker has other rules than the run that it works for (bmslint {__version__} there, "
            what += f"{task.version} here); were they changed meanwhile?"
            raise PackError([PackProblem(pack.name, 1, 1, what)])
        _loaded.clear()  # a process that serves run after run keeps one pack
        _loaded[key] = pack
    return _loaded[key]


GRACE_S = 1.0


class _StoppedError(BaseException):
    """The run wants no more answers."""


_stopping = _judging = False


def judge_chunk(task: Task, files: Sequence[str]) -> bytes:
    """Judge some files; what is wrong with the rules is part of the answer.

    Args:
        task: the run that they belong to.
        files: their names.

    Returns:
        What `Answer.of` takes. It is small, so that it is written to a pipe at once and whole: of an answer
        whose writer is killed half-way, the run would wait for the rest for ever.
    """
    global _judging
    answer = Answer(())
    try:
        _judging = True
        if not _stopping:
            answer = _answer(task, files)
    except _StoppedError:
        pass
    finally:
        _judging = False
    return zlib.compress(pickle.dumps(answer), level=1)


def _answer(task: Task, files: Sequence[str]) -> Answer:
    from bmslint.judge.faults import PackError
    from bmslint.limits import UnusableTable

    verdicts: list[Verdict] = []
    # What several verdicts say of a rule is one object, which is sent once.
    outcomes: dict[Outcome, Outcome] = {}
    lacks: dict[NotJudged, NotJudged] = {}
    try:
        pack = _pack(task)
        for file in files:
            verdict = judge_file(file, pack, task.today, task.allow_accepted_rejects)
            verdicts.append(
                verdict._replace(
                    outcomes={
                        rule: outcomes.setdefault(each, each) for rule, each in verdict.outcomes.items()
                    },
                    not_judged=tuple(lacks.setdefault(each, each) for each in verdict.not_judged),
                )
            )
    except (PackError, UnusableTable) as fault:
        return Answer(tuple(verdicts), fault)
    return Answer(tuple(verdicts))


def judge_file(file: str, pack: Pack, today: date, allow_accepted_rejects: bool) -> Verdict:
    """Judge one file among many: whatever goes wrong with it is told as its verdict.

    Args:
        file: its name.
        pack: the rules.
        today: the day that the dates under `accepted` are held against.
        allow_accepted_rejects: whether findings `reject` that a person took on do not count.

    Returns:
        The verdict; `unusable` too where memory ran out or bmslint itself is at fault.

    Raises:
        PackError: a rule is at fault.
        UnusableTable: a shipped table is.
    """
    from bmslint.judge.faults import PackError
    from bmslint.judge.judge import judge
    from bmslint.limits import UnusableTable
    from bmslint.settings import read

    try:
        return judge(read(file), pack, today=today, allow_accepted_rejects=allow_accepted_rejects)
    except (PackError, UnusableTable):
        raise
    except MemoryError:
        return not_finished(file, "more memory needed than there is", "give the run more, or fewer workers")
    except Exception as error:
        came = f"a fault of bmslint itself, {_told(error)}"
        return not_finished(file, came, "report it together with the file")


def not_finished(file: str, came: str, advice: str) -> Verdict:
    """Give the verdict of a file at which judging did not come to its end.

    Args:
        file: its name.
        came: what happened.
        advice: what to do.

    Returns:
        The verdict `unusable`.
    """
    from bmslint.judge.finding import Verdict
    from bmslint.settings.places import Position, problem_at

    problem = problem_at(Position(file, 1, 1), "", "a file that is judged to its end", came, advice)
    return Verdict(file=file, word="unusable", errors=(problem,))


def _told(error: Exception) -> str:
    """Tell an exception and the line of this package that it came from, on one line."""
    import traceback

    root = Path(__file__).parents[1]
    frames = [
        each for each in traceback.extract_tb(error.__traceback__) if root in Path(each.filename).parents
    ]
    last = frames[-1]
    place = f"{Path(last.filename).relative_to(root).as_posix()}:{last.lineno}"
    said = " ".join(str(error).split())[:200]
    return f"{type(error).__name__} in {place}" + (f" ({said})" if said else "")


def begin(leash: Connection) -> None:
    """Make a fresh process a worker of a pool.

    Args:
        leash: ends when the run wants no more answers, or dies.
    """
    import signal
    import threading

    # Ctrl-C reaches every process of a terminal; the run decides, and lets go of the leash.
    signal.signal(signal.SIGINT, _interrupted)
    prepare()
    threading.Thread(target=_end_with, args=(leash,), daemon=True).start()


def _interrupted(*_: object) -> None:
    if _stopping and _judging:
        raise _StoppedError


def _end_with(leash: Connection) -> None:
    """Leave the file that is judged when the leash ends, and then the process.

    A process that ended at once might end while it sends an answer. One that does not end by itself soon
    waits for a lock that another took along when it was killed, or the run has died.
    """
    import _thread
    from contextlib import suppress
    from multiprocessing import parent_process

    global _stopping
    with suppress(OSError):
        leash.poll(None)
    _stopping = True
    _thread.interrupt_main()
    if (run := parent_process()) is not None:
        run.join(GRACE_S)
    os._exit(0)


def prepare() -> None:
    """Import what judging needs, once, with one thread for linear algebra and a collector that knows of it.

    What imports leave behind lives as long as the process; the collector need not look at it again.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    import bmslint.facts
    import bmslint.judge.judge
    import bmslint.judge.pack  # noqa: F401

    gc.enable()
    gc.collect()
    gc.freeze()
