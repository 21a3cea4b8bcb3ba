"""Finding settings files: odd links, hidden and unreadable folders, exclusions. Nothing is passed over."""

import ctypes
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.gate.find import find_settings
from bmslint.gate.patterns import Exclusion, is_excluded

SETTINGS = "format: 1\npack: {chemistry: lfp, series: 8}\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def make(*names: str) -> None:
    for name in names:
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_text(SETTINGS)


def found(*names: str, exclude: Sequence[str] = ()) -> list[str]:
    search = find_settings(names, [Exclusion(each, Path()) for each in exclude])
    assert search.unsearched == ()
    assert search.empty == () or not search.files
    return [path.as_posix() for path in search.files]


def test_names_are_sorted_as_they_are_written_and_each_is_found_once() -> None:
    make("b/z.yaml", "b-a.yaml", "b/c/y.yml", "b/X.YAML", "a.json", "b/other.txt")
    every = ["a.json", "b-a.yaml", "b/X.YAML", "b/c/y.yml", "b/z.yaml"]
    assert found(".") == found("b", "./b", "a.json", ".", "b/z.yaml") == every


def test_hidden_folders_are_searched_and_what_git_keeps_is_not() -> None:
    make(".hidden/a.yaml", "b/.c.yaml", ".git/d.yaml", "b/.git/e.yaml")
    assert found(".") == [".hidden/a.yaml", "b/.c.yaml"]
    assert found(".git") == [".git/d.yaml"]


def test_links_are_followed_once_and_loops_end() -> None:
    make("real/a.yaml", "apart/b.yaml", "in/own.yaml")
    Path("in/up").symlink_to("..")
    Path("in/itself").symlink_to("itself")
    Path("in/first").symlink_to("../apart")
    Path("in/second").symlink_to("../apart")
    Path("in/real").symlink_to("../real")
    Path("in/link.yaml").symlink_to("own.yaml")
    assert found("in", "real") == [
        "in/first/b.yaml", "in/link.yaml", "in/own.yaml", "real/a.yaml",
    ]  # fmt: skip
    # Now nothing else leads to `real`, and the first link to it does.
    assert found("in") == ["in/first/b.yaml", "in/link.yaml", "in/own.yaml", "in/real/a.yaml"]


def test_what_cannot_be_read_is_found_so_that_it_is_reported(capsys: pytest.CaptureFixture[str]) -> None:
    make("a.yaml")
    Path("gone.yaml").symlink_to("nowhere.yaml")
    Path("loop.yaml").symlink_to("loop.yaml")
    assert found(".") == ["a.yaml", "gone.yaml", "loop.yaml"]
    assert main(["check", ".", "--format", "json"]) == 2
    told = {each["file"]: each["verdict"] for each in json.loads(capsys.readouterr().out)["files"]}
    assert told == {"a.yaml": "not judged", "gone.yaml": "unusable", "loop.yaml": "unusable"}


def test_a_pipe_in_a_folder_is_not_waited_for() -> None:
    make("a.yaml")
    os.mkfifo("b.yaml")
    assert found(".") == ["a.yaml"]


def test_a_large_file_is_found_by_its_head() -> None:
    Path("a.yaml").write_text(SETTINGS + "# x\n" * 1_000_000)
    Path("b.yaml").write_text("# x\n" * 1_000_000 + SETTINGS)
    assert found(".") == ["a.yaml"]


def test_a_folder_that_is_named_and_holds_none_is_told_and_is_no_success(
    capsys: pytest.CaptureFixture[str],
) -> None:
    make("full/a.yaml", "full/below/b.yaml", "left-out/c.yaml")
    Path("full/a.yaml").write_text(
        (rules_dir().parent / "profiles/ridge-hut.yaml").read_text(encoding="utf-8")
    )
    Path("empty").mkdir()
    Path("link").symlink_to("full")
    exclusions = [Exclusion("left-out/*", Path())]
    search = find_settings(["full", "empty", "link", "full/below", "left-out"], exclusions)
    assert (search.empty, search.unsearched) == (("empty", "left-out"), ())
    assert find_settings([".", "full"]).empty == ()
    assert find_settings(["empty", "full/a.yaml"]).empty == ("empty",)
    assert main(["check", "full/a.yaml", "link/a.yaml", "empty"]) == 3
    assert capsys.readouterr().err == "bmslint: no settings file found in empty\n"
    assert main(["check", "full/a.yaml"]) == 0


CAPABILITIES = 24, (1, 2)
"""To take from a process what lets the administrator read everything (Linux, prctl(2), capabilities(7))."""


def as_anybody() -> None:
    drop, which = CAPABILITIES
    for each in which:
        ctypes.CDLL(None).prctl(drop, each, 0, 0, 0)


def test_an_unreadable_folder_or_file_is_named_and_the_others_are_judged() -> None:
    make("a/a.yaml", "closed/b.yaml", "c/no.yaml")
    Path("closed").chmod(0)
    Path("c/no.yaml").chmod(0)
    command = [sys.executable, "-m", "bmslint.cli", "check", ".", "--format", "json"]
    try:
        done = subprocess.run(command, capture_output=True, timeout=60, check=False, preexec_fn=as_anybody)
    finally:
        Path("closed").chmod(0o700)
    assert (done.returncode, done.stderr.decode()) == (
        2,
        "bmslint: closed: expected a folder that can be searched, came one that cannot (Permission denied);"
        " what lies in it was not judged: check its permissions, or exclude it\n",
    )
    told = [
        (each["file"], each["verdict"], [error["came"] for error in each["errors"]])
        for each in json.loads(done.stdout)["files"]
    ]
    assert told == [
        ("a/a.yaml", "not judged", []),
        ("c/no.yaml", "unusable", ["a file that may not be read"]),
        ("closed", "unusable", ["one that cannot (Permission denied)"]),
    ]


def test_nothing_but_an_unreadable_folder_is_no_success() -> None:
    Path("closed").mkdir(mode=0)
    command = [sys.executable, "-m", "bmslint.cli", "check", "closed"]
    done = subprocess.run(command, capture_output=True, timeout=60, check=False, preexec_fn=as_anybody)
    Path("closed").chmod(0o700)
    assert done.returncode == 2
    assert b"UNUSABLE" in done.stdout
    assert b"closed: expected a folder that can be searched" in done.stderr


@pytest.mark.parametrize(
    ("pattern", "left"),
    [
        ("b", ["a.yaml", "c/b/z.yaml", "c/d.yaml"]),
        ("b/", ["a.yaml", "c/b/z.yaml", "c/d.yaml"]),
        ("./b", ["a.yaml", "c/b/z.yaml", "c/d.yaml"]),
        ("**/b", ["a.yaml", "c/d.yaml"]),
        ("*.yaml", ["b/x.yaml", "b/y.yaml", "c/b/z.yaml", "c/d.yaml"]),
        ("**/*.yaml", []),
        ("**", []),
        ("*/?.yaml", ["a.yaml", "c/b/z.yaml"]),
        ("c/*", ["a.yaml", "b/x.yaml", "b/y.yaml"]),
        ("c/**", ["a.yaml", "b/x.yaml", "b/y.yaml"]),
        ("c/**/z.yaml", ["a.yaml", "b/x.yaml", "b/y.yaml", "c/d.yaml"]),
        ("[b]", ["a.yaml", "b/x.yaml", "b/y.yaml", "c/b/z.yaml", "c/d.yaml"]),
    ],
)
def test_exclusions_leave_out_of_folders(pattern: str, left: list[str]) -> None:
    make("a.yaml", "b/x.yaml", "b/y.yaml", "c/b/z.yaml", "c/d.yaml")
    assert found(".", exclude=[pattern]) == left
    assert found("b/x.yaml", exclude=["b", "**"]) == ["b/x.yaml"]


def test_an_exclusion_starts_from_its_folder() -> None:
    place = Path("top/b/c.yaml")
    assert is_excluded(place, [Exclusion("b", Path("top"))]) is False
    assert is_excluded(Path("top/b"), [Exclusion("b", Path("top"))])
    assert is_excluded(place.absolute(), [Exclusion("b/*.yaml", Path("top"))])
    assert not is_excluded(Path("b/c.yaml"), [Exclusion("b/*.yaml", Path("top"))])


STEPS = st.sampled_from(["**", "*", "a", "b", "?", "a*", "*b", "ab", "*.y"])
NAMES = ["a", "b", "ab", "a/b", "b/a", "a/b/a", "ab/a.y", "a/b/b.y", "b/ab/a/ab.y", "a.y"]


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(STEPS, min_size=1, max_size=4).map("/".join))
def test_patterns_match_what_the_standard_library_s_glob_finds(
    tmp_path_factory: pytest.TempPathFactory, pattern: str
) -> None:
    """pathlib's `**` at the end finds folders alone, and ours everything: such patterns get one more step."""
    if pattern.endswith("**"):
        pattern += "/*"
    tree = tmp_path_factory.getbasetemp() / "tree"
    for name in NAMES:
        (tree / name).mkdir(parents=True, exist_ok=True)
    every = {path.relative_to(tree).as_posix() for path in tree.rglob("*")}
    matched = {path.relative_to(tree).as_posix() for path in tree.glob(pattern)}
    assert {name for name in every if is_excluded(tree / name, [Exclusion(pattern, tree)])} == matched
