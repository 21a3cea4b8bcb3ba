"""The same call on a cluster: Dask's executor over worker processes of several threads each."""

import os
import signal
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from distributed import Client, LocalCluster

from bmslint.data import rules_dir
from bmslint.gate.many import judge_files
from bmslint.judge.judge import judge
from bmslint.judge.pack import load_pack
from bmslint.settings import read

PROFILES = rules_dir().parent / "profiles"
SMALL = "format: 1\npack: {{chemistry: lfp, series: {}}}\n"
TODAY = date(2026, 7, 1)


@pytest.fixture(scope="module")
def client() -> Iterator[Client]:
    """A cluster of two processes with two threads each on this machine."""
    with (
        LocalCluster(n_workers=2, threads_per_worker=2, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        yield client


def test_a_cluster_gives_the_verdicts_of_one_process(client: Client, tmp_path: Path) -> None:
    for number in range(40):
        (tmp_path / f"{number:02d}.yaml").write_text(SMALL.format(4 + number % 12), encoding="utf-8")
    (tmp_path / "broken.yaml").write_text(SMALL.format("eight"), encoding="utf-8")
    files = [
        *tmp_path.iterdir(),
        PROFILES / "snow-gauge.yaml",
        PROFILES / "failing" / "fahrenheit-release.yaml",
    ]
    pack = load_pack()
    expected = [judge(read(path), pack, today=TODAY) for path in sorted(files, key=str)]
    assert list(judge_files(files, client.get_executor(), today=TODAY)) == expected


def test_a_changed_file_is_judged_anew(client: Client, tmp_path: Path) -> None:
    """Dask knows a call again by its arguments, and would hand out what it gave before."""
    file = tmp_path / "a.yaml"
    words = []
    executor = client.get_executor(pure=True)
    for series in ("8", "eight"):
        file.write_text(SMALL.format(series), encoding="utf-8")
        words += [verdict.word for verdict in judge_files([file], executor, today=TODAY)]
    assert words == ["not judged", "unusable"]


def test_a_worker_of_the_cluster_that_is_killed_loses_nothing(client: Client, tmp_path: Path) -> None:
    for number in range(72):
        (tmp_path / f"{number:03d}.yaml").write_text(SMALL.format(4 + number % 12), encoding="utf-8")
    files = sorted(tmp_path.iterdir())
    victim = min(client.run(os.getpid).values())
    verdicts = []
    for verdict in judge_files(files, client.get_executor(), today=TODAY, workers=2):
        if not verdicts:
            os.kill(victim, signal.SIGKILL)
        verdicts.append((verdict.file, verdict.word))
    assert verdicts == [(str(path), "not judged") for path in files]
    client.wait_for_workers(2, timeout=30)
    assert victim not in client.run(os.getpid).values()
