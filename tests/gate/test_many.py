"""Many files in many processes: the same verdicts whatever judges them, and none of them lost."""

import os
import pickle
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest

from bmslint import __version__
from bmslint.data import rules_dir
from bmslint.gate import dispatch, pool, worker
from bmslint.gate.many import judge_files, usable_cpus
from bmslint.gate.pool import start_server
from bmslint.judge.faults import PackError, PackProblem
from bmslint.judge.finding import Verdict
from bmslint.judge.judge import judge
from bmslint.judge.pack import load_pack
from bmslint.settings import read

PROFILES = rules_dir().parent / "profiles"
QUICK = ("snow-gauge", "street-light-mast", "failing/fahrenheit-release", "failing/braking-ignores-cold")
SMALL = "format: 1\npack: {chemistry: lfp, series: 8}\n"
BROKEN = "format: 1\npack: {chemistry: lfp, series: eight}\n"
TODAY = date(2026, 7, 1)


@pytest.fixture(scope="module", autouse=True)
def server() -> None:
    """Let workers begin with what they need, as the command does."""
    start_server()


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Profiles of every verdict, a broken one among them, in more chunks than workers keep in flight."""
    folder = tmp_path_factory.mktemp("fleet")
    for number, stem in enumerate(QUICK):
        shutil.copy(PROFILES / f"{stem}.yaml", folder / f"{number}-{Path(stem).name}.yaml")
    doubtful = (PROFILES / "snow-gauge.yaml").read_text(encoding="utf-8") + "accepted: [{rule: unknown}]\n"
    (folder / "doubtful.yaml").write_text(doubtful, encoding="utf-8")
    for number in range(60):
        text = BROKEN if number == 33 else SMALL.replace("8", str(4 + number % 12))
        (folder / f"small-{number:02d}.yaml").write_text(text, encoding="utf-8")
    (folder / "gone.yaml").symlink_to("nowhere.yaml")
    return sorted(folder.iterdir())


@pytest.fixture(scope="module")
def alone(fleet: list[Path]) -> list[Verdict]:
    """Each file judged by itself, as the command does with one file."""
    pack = load_pack()
    return [judge(read(path), pack, today=TODAY) for path in fleet]


def test_the_fleet_of_these_tests_has_every_verdict(alone: list[Verdict]) -> None:
    assert {each.word for each in alone} == {"accepted", "review", "rejected", "not judged", "unusable"}


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_workers_change_nothing(fleet: list[Path], alone: list[Verdict], workers: int) -> None:
    """Whole verdicts, whatever the order of the arguments."""
    assert list(judge_files(reversed(fleet), today=TODAY, workers=workers)) == alone


@pytest.mark.parametrize("chunk", [1, 1000])
def test_chunks_change_nothing(
    fleet: list[Path], alone: list[Verdict], chunk: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dispatch, "CHUNK", chunk)
    with ThreadPoolExecutor(2) as executor:
        assert list(judge_files(fleet, executor, today=TODAY)) == alone


def test_threads_of_one_process_change_nothing(fleet: list[Path], alone: list[Verdict]) -> None:
    with ThreadPoolExecutor(4) as executor:
        assert list(judge_files(fleet, executor, today=TODAY, workers=4)) == alone


def test_each_file_is_judged_once(fleet: list[Path], alone: list[Verdict]) -> None:
    assert list(judge_files([*fleet[:5], *map(str, fleet[:5])], today=TODAY)) == alone[:5]


def test_no_file_gives_no_verdict() -> None:
    assert list(judge_files([])) == []


def test_a_system_without_processes_judges_all_the_same(
    fleet: list[Path], alone: list[Verdict], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*given: object, **named: object) -> None:
        raise PermissionError("no semaphores here")

    monkeypatch.setattr(pool, "ProcessPoolExecutor", refused)
    assert list(judge_files(fleet, today=TODAY, workers=2)) == alone


def test_verdicts_come_while_others_are_judged(fleet: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """No more chunks are handed over than may be in flight, so memory does not grow with the files."""
    taken, most = 0, 0

    class Counting(ThreadPoolExecutor):
        handed = 0

        def submit(self, *given, **named):  # type: ignore[no-untyped-def]
            nonlocal most
            self.handed += len(given[2])
            most = max(most, self.handed - taken)
            return super().submit(*given, **named)

    monkeypatch.setattr(dispatch, "CHUNK", 2)
    with Counting(1) as executor:
        for _ in judge_files(fleet, executor, today=TODAY, workers=2):
            taken += 1
    assert (executor.handed, most) == (len(fleet), 2 * dispatch.IN_FLIGHT * 2)


AT_ONCE = 16_000
"""Above 16,384 bytes the standard library writes a message in two parts; some are its own (bytes)."""


def test_an_answer_is_sent_in_one_part(alone: list[Verdict], fleet: list[Path]) -> None:
    """These are of files that lack nearly everything, and 230 kB one by one."""
    task = worker.Task((), False, worker.digests(load_pack()), TODAY, False, "")
    sent = worker.judge_chunk(task, [str(path) for path in fleet[10:18]])
    assert list(worker.Answer.of(sent).verdicts) == alone[10:18]
    assert len(sent) < AT_ONCE


def test_own_rules_are_loaded_by_the_workers(fleet: list[Path], tmp_path: Path) -> None:
    changes = "rules:\n  cold-inhibit-missing: {switched_off: true, reason: an example}\n"
    (tmp_path / "changes.yaml").write_text(changes, encoding="utf-8")
    verdicts = list(judge_files(fleet[:30], own=[tmp_path], today=TODAY, workers=2))
    pack = load_pack(own=[tmp_path])
    assert verdicts == [judge(read(path), pack, today=TODAY) for path in fleet[:30]]
    assert all("cold-inhibit-missing" not in each.outcomes for each in verdicts)


def test_a_worker_with_other_rules_is_refused(fleet: list[Path]) -> None:
    pack = load_pack()._replace(digest="of another day")
    with ThreadPoolExecutor(1) as executor, pytest.raises(PackError) as caught:
        list(judge_files(fleet, executor, pack=pack))
    assert str(caught.value) == (
        "built-in:1:1: a worker has other rules than the run that it works for "
        f"(bmslint {__version__} there, {__version__} here); were they changed meanwhile?"
    )


@pytest.mark.parametrize("workers", [1, 2])
def test_a_rule_at_fault_ends_the_run_after_the_files_before(
    tmp_path: Path, alone: list[Verdict], workers: int
) -> None:
    """At the same file, whoever judges."""
    rules = tmp_path / "own"
    rules.mkdir()
    rule = (
        "id: own-by-zero\ntitle: Divides\nseverity: note\nrequire: pack.series != 9.0\n"
        "value: 1.0 / (pack.series - 9.0)\nat: pack.series\nsays: Nine.\nwhy: An example.\nremedy: None.\n"
    )
    (rules / "own-by-zero.yaml").write_text(rule, encoding="utf-8")
    files = [tmp_path / f"{number:02d}.yaml" for number in range(40)]
    for number, path in enumerate(files):
        path.write_text(SMALL.replace("8", "9" if number == 29 else "8"), encoding="utf-8")
    judged = []

    def judge_all() -> None:
        for verdict in judge_files(files, own=[rules], today=TODAY, workers=workers):
            judged.append(verdict.file)

    with pytest.raises(PackError) as caught:
        judge_all()
    assert judged == [str(path) for path in files[:29]]
    assert caught.value.problems[0].file.endswith("own-by-zero.yaml")


def test_faults_of_the_rules_survive_the_way_from_a_worker() -> None:
    fault = PackError([PackProblem("own/a.yaml", 3, 1, "at fault")])
    again = pickle.loads(pickle.dumps(worker.Answer((), fault))).fault
    assert (str(again), type(again)) == (str(fault), PackError)


def test_usable_cpus_are_those_of_this_process() -> None:
    assert usable_cpus() <= len(os.sched_getaffinity(0))
