"""`bmslint report` as a person meets it: the page is there whole or not at all; what the status says."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from report_samples import MAST, PROFILES, tree

from bmslint.cli import main

REJECTED = (
    "format: 1\ntitle: Without a stop\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n"
)
UNKNOWN = "format: 1\npack: {chemistry: lfp, series: 8}\n"
BROKEN = "format: 1\npack: 5\n"


def file(folder: Path, name: str, text: str) -> str:
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


@pytest.mark.parametrize(
    ("texts", "status"),
    [
        ([REJECTED], 1),
        ([UNKNOWN], 3),
        ([BROKEN], 2),
        ([REJECTED, UNKNOWN], 1),
        ([REJECTED, BROKEN, UNKNOWN], 2),
    ],
)
def test_the_status_is_the_worst_of_the_files(tmp_path: Path, texts: list[str], status: int) -> None:
    names = [file(tmp_path, f"{number}.yaml", text) for number, text in enumerate(texts)]
    page = tmp_path / "page.html"
    assert main(["report", *names, "-o", str(page)]) == status
    articles = tree(page.read_text(encoding="utf-8")).of_class("verdict")
    assert len(articles) == len(texts)


def test_an_accepted_file_gives_0_and_says_where_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "page.html"
    assert main(["report", str(PROFILES / MAST), "-o", str(page)]) == 0
    out, err = capsys.readouterr()
    assert (out, err) == ("", f"{PROFILES / MAST}: accepted; told in {page}\n")


def test_files_are_told_in_the_order_of_their_names_whatever_was_asked(tmp_path: Path) -> None:
    names = [file(tmp_path, "b.yaml", UNKNOWN), file(tmp_path, "a.yaml", REJECTED)]
    pages = []
    for order in (names, names[::-1], [str(tmp_path)]):
        assert main(["report", *order, "-o", str(tmp_path / "page.html"), "--today", "2026-11-25"]) == 1
        pages.append((tmp_path / "page.html").read_bytes())
    assert pages[0] == pages[1] == pages[2]
    links = tree(pages[0].decode()).of_class("overview")[0].every("a")
    assert [each.text for each in links] == ["Without a stop", names[0]]


@pytest.mark.parametrize("way", ["itself", "link", "base"])
def test_no_page_is_written_over_what_was_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], way: str
) -> None:
    judged = file(tmp_path, "base.yaml", REJECTED)
    target = Path(judged)
    if way == "link":
        target = tmp_path / "link.html"
        target.symlink_to(judged)
    if way == "base":
        judged = file(tmp_path, "above.yaml", "format: 1\nextends: base.yaml\n")
    assert main(["report", judged, "-o", str(target)]) == 2
    assert (tmp_path / "base.yaml").read_text(encoding="utf-8") == REJECTED
    told = f"bmslint: {target} is a settings file and would be written over; name another page\n"
    assert capsys.readouterr().err == told


def test_a_folder_that_is_not_there_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "no" / "page.html"
    assert main(["report", file(tmp_path, "a.yaml", UNKNOWN), "-o", str(page)]) == 2
    assert capsys.readouterr().err == f"bmslint: cannot write {page}: No such file or directory\n"
    assert [each.name for each in tmp_path.iterdir()] == ["a.yaml"]


def test_a_page_that_cannot_be_finished_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.html"
    page.write_text("the old one", encoding="utf-8")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert main(["report", file(tmp_path, "a.yaml", UNKNOWN), "-o", str(page)]) == 2
    assert page.read_text(encoding="utf-8") == "the old one"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.yaml", "page.html"]


def test_a_folder_without_settings_gives_3(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "page.html"
    assert main(["report", str(tmp_path), "-o", str(page)]) == 3
    assert "no settings file found" in capsys.readouterr().err
    assert not page.exists()


def test_rules_of_ones_own_take_part_and_are_named(tmp_path: Path) -> None:
    own = tmp_path / "company"
    own.mkdir()
    (own / "changes.yaml").write_text(
        "rules:\n  cold-inhibit-missing: {severity: note, reason: 'a <b>bench</b> unit'}\n", encoding="utf-8"
    )
    page = tmp_path / "page.html"
    main(["report", file(tmp_path, "a.yaml", REJECTED), "--rules", str(own), "-o", str(page)])
    first = tree(page.read_text(encoding="utf-8")).every("section")[0]
    assert "cold-inhibit-missing: severity note, was reject (a <b>bench</b> unit)" in first.words


def test_a_pack_at_fault_judges_nothing_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = tmp_path / "company"
    own.mkdir()
    (own / "odd.yaml").write_text("id: odd\n", encoding="utf-8")
    page = tmp_path / "page.html"
    assert main(["report", file(tmp_path, "a.yaml", REJECTED), "--rules", str(own), "-o", str(page)]) == 2
    assert "nothing was judged" in capsys.readouterr().err
    assert not page.exists()


def test_two_processes_write_the_same_bytes(tmp_path: Path) -> None:
    source = file(tmp_path, "a.yaml", REJECTED)
    pages = []
    for seed in ("1", "2"):
        page = tmp_path / f"{seed}.html"
        command = [
            sys.executable,
            "-m",
            "bmslint.cli",
            "report",
            source,
            "-o",
            str(page),
            "--today",
            "2026-11-25",
        ]
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        assert subprocess.run(command, env=environment, capture_output=True, check=False).returncode == 1
        pages.append(page.read_bytes())
    assert pages[0] == pages[1]
