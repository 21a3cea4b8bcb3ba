"""`bmslint compare` as a person, a program and a pull request meet it."""

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from repositories import commit, repository

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "compare.schema.json").read_bytes())
HUT = (rules_dir().parent / "profiles" / "ridge-hut.yaml").read_text(encoding="utf-8")
COLD = "charge_cold: {inhibit_below_degC: 4, release_above_degC: 7,"
LOWER = HUT.replace(COLD, COLD.replace("7", "4.5"))
DAY = ("--today", "2026-07-01")


def compared(folder: Path, monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    return main(["compare", *DAY, "--ignore-configuration", *arguments])


def json_of(text: str) -> dict[str, Any]:
    written: dict[str, Any] = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(written, SCHEMA)
    return written


SMALL = (
    "format: 1\npack: {chemistry: lfp, series: 8, parallel: 1, capacity_Ah: 230, cell: {capacity_Ah: 230}}\n"
)
LARGER = SMALL.replace("1, capacity_Ah: 230", "1, capacity_Ah: 300")


def test_a_revision_is_compared_with_the_working_tree_and_with_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    over = "format: 1\nextends: base.yaml\ntitle: Over\n"
    repository(tmp_path)
    first = commit(tmp_path, {"base.yaml": SMALL, "over.yaml": over, "gone.yaml": LARGER, "notes.txt": "x"})
    commit(tmp_path, {"base.yaml": LARGER, "gone.yaml": None})
    (tmp_path / "new.yaml").write_text(LARGER, encoding="utf-8")
    states = {}
    for revisions in ([first], ["HEAD"], [first, "HEAD"], ["HEAD", first]):
        options = [part for each in revisions for part in ("--rev", each)]
        fail_on = ("--fail-on", "review")
        status = compared(tmp_path, monkeypatch, *options, *fail_on, "--format", "json")
        out, err = capsys.readouterr()
        assert err == ""
        written = json_of(out)
        ends = [written["old"].replace(first, "first"), written["new"].replace(first, "first")]
        files = {
            each["file"]: (each["state"], [one["rule"] for one in each["came"]]) for each in written["files"]
        }
        states[" ".join("first" if each == first else each for each in revisions)] = (
            [each.split(" (")[0] for each in ends], status, files, written["unchanged"]["files"],
        )  # fmt: skip
    larger = ["capacity-does-not-multiply"]
    moved = {"base.yaml": ("changed", larger), "over.yaml": ("changed", larger)}
    back = {"base.yaml": ("changed", []), "gone.yaml": ("came", larger), "over.yaml": ("changed", [])}
    new = {"new.yaml": ("came", larger)}
    gone = {"gone.yaml": ("went", [])}
    assert states == {
        "first": (["first", "the working tree"], 1, moved | gone | new, 0),
        "HEAD": (["HEAD", "the working tree"], 1, new, 2),
        "first HEAD": (["first", "HEAD"], 1, moved | gone, 0),
        "HEAD first": (["HEAD", "first"], 1, back, 0),
    }


def test_files_are_compared_whatever_their_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    (tmp_path / "b.yaml").write_text(LOWER, encoding="utf-8")
    assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml") == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.splitlines()[:8] == [
        "Compared: a.yaml with b.yaml",
        "",
        "b.yaml",
        "  REVIEW, was accepted",
        "  Less safe: protection.charge_cold.release_above_degC: 7 -> 4.5",
        "    the lower the threshold, the colder the cells that carry current",
        "    b.yaml:59:60",
        "  Came, review: So little lies between inhibit and release that charging",
    ]
    assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml", "--fail-on", "less-safe") == 1
    assert compared(tmp_path, monkeypatch, "b.yaml", "a.yaml", "--fail-on", "less-safe") == 0


def test_folders_are_matched_by_names_within_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder, texts in (
        ("v1", {"x/a.yaml": HUT, "b.yaml": HUT}),
        ("v2", {"x/a.yaml": LOWER, "c.yaml": HUT}),
    ):
        for name, text in texts.items():
            (tmp_path / folder / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / folder / name).write_text(text, encoding="utf-8")
    assert compared(tmp_path, monkeypatch, "v1", "v2/", "--format", "json") == 0
    written = json_of(capsys.readouterr().out)
    assert [(each["file"], each["state"]) for each in written["files"]] == [
        ("b.yaml", "went"),
        ("c.yaml", "came"),
        ("x/a.yaml", "changed"),
    ]


def test_outputs_go_to_files_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    write = [part for form in ("text", "json", "markdown") for part in ("--write", f"{form}=out.{form}")]
    told = []
    for form in ("text", "json", "markdown"):
        assert compared(tmp_path, monkeypatch, "a.yaml", "a.yaml", "--format", form, *write) == 0
        out, err = capsys.readouterr()
        assert err == ""
        told.append(out)
    assert [
        (tmp_path / f"out.{form}").read_text(encoding="utf-8") for form in ("text", "json", "markdown")
    ] == told
    assert json_of(told[1])["unchanged"] == {"files": 1, "findings": {"reject": 0, "review": 0, "note": 1}}
    assert compared(tmp_path, monkeypatch, "a.yaml", "a.yaml", "--write", "json=no/out.json") == 2
    assert capsys.readouterr().err == "bmslint: cannot write no/out.json: No such file or directory\n"


OWN = """\
rules:
  cold-release-chatters: {severity: reject, reason: no board of ours may chatter}
"""


def test_rules_of_ones_own_judge_both_sides_and_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "changes.yaml").write_text(OWN, encoding="utf-8")
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    (tmp_path / "b.yaml").write_text(LOWER, encoding="utf-8")
    for form in ("text", "markdown", "json"):
        assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml", "--rules", "own", "--format", form) == 1
        out = capsys.readouterr().out
        assert "no board of ours may chatter" in " ".join(out.split())
    assert [each["name"] for each in json_of(out)["pack"]["own"]] == ["own"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "name an old and a new settings file, an old and a new folder, or a revision with --rev"),
        (
            ("a.yaml",),
            "name an old and a new settings file, an old and a new folder, or a revision with --rev",
        ),
        (("a.yaml", "gone"), "there is no gone; check the path"),
        (("a.yaml", "."), "a.yaml and . have to be both files or both folders"),
        (
            ("--rev", "a", "--rev", "b", "--rev", "c"),
            "--rev is given more than twice; one change has two ends",
        ),
        (("--rev", "HEAD", "gone.yaml"), "there is no gone.yaml on either side; check the path"),
        (
            ("--rev", "HEAD", "a\x1b[31m"),
            "there is no a<U+001B>[31m on either side; check the path",
        ),
        (
            ("--rev", "no"),
            "'no' is no commit of this repository; a clone that was not fetched whole may lack it",
        ),
    ],
)
def test_what_cannot_be_compared_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    arguments: Sequence[str], told: str,
) -> None:  # fmt: skip
    repository(tmp_path)
    commit(tmp_path, {"a.yaml": HUT})
    assert compared(tmp_path, monkeypatch, *arguments) == 2
    assert capsys.readouterr() == ("", f"bmslint: {told}\n")


def test_no_settings_file_on_either_side_is_not_a_pass(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    repository(tmp_path)
    commit(tmp_path, {"notes.txt": "x"})
    assert compared(tmp_path, monkeypatch, "--rev", "HEAD") == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("bmslint: no settings file found")


def test_a_configuration_says_what_to_compare_and_by_which_rules(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    repository(tmp_path)
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "changes.yaml").write_text(OWN, encoding="utf-8")
    said = "paths: [p]\nexclude: ['p/draft-*']\nrules: [own]\nfail_on: note\nwrite: {sarif: x.sarif}\n"
    commit(tmp_path, {".bmslint.yaml": said, "p/a.yaml": HUT, "p/draft-b.yaml": HUT, "q/c.yaml": HUT})
    for name in ("p/a.yaml", "p/draft-b.yaml", "q/c.yaml"):
        (tmp_path / name).write_text(LOWER, encoding="utf-8")
    monkeypatch.chdir(tmp_path / "q")
    assert main(["compare", *DAY, "--rev", "HEAD", "--format", "json"]) == 1
    written = json_of(capsys.readouterr().out)
    (told,) = written["files"]
    assert (told["file"], [(each["rule"], each["severity"]) for each in told["came"]]) == (
        "../p/a.yaml",
        [("cold-release-chatters", "reject")],
    )
    assert not (tmp_path / "x.sarif").exists()
    assert main(["compare", *DAY, "--rev", "HEAD", "--ignore-configuration", "--format", "json"]) == 0
    assert [each["file"] for each in json_of(capsys.readouterr().out)["files"]] == ["c.yaml"]


def test_the_same_bytes_come_out_wherever_it_runs(tmp_path: Path) -> None:
    """Under another hash seed, time zone, locale, width and order of names."""
    repository(tmp_path)
    commit(tmp_path, {"a.yaml": HUT, "b.yaml": LOWER})
    (tmp_path / "a.yaml").write_text(LOWER.replace("obeys: [charge_cold, ", "obeys: ["), encoding="utf-8")
    (tmp_path / "b.yaml").write_text(HUT, encoding="utf-8")
    outs = []
    for names, surroundings in (
        (["a.yaml", "b.yaml"], {"PYTHONHASHSEED": "1", "TZ": "UTC", "COLUMNS": "80", "LC_ALL": "C"}),
        (
            ["b.yaml", "a.yaml"],
            {"PYTHONHASHSEED": "2", "TZ": "Asia/Tokyo", "COLUMNS": "50", "LC_ALL": "C.UTF-8"},
        ),
    ):
        writes = ["--write", "json=out.json", "--write", "markdown=out.md"]
        command = [sys.executable, "-m", "bmslint.cli", "compare", *DAY, "--rev", "HEAD", *names, *writes]
        environment = {**os.environ, **surroundings}
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, timeout=60, check=False
        )
        assert (done.returncode, done.stderr) == (1, b"")
        outs.append([(tmp_path / name).read_bytes() for name in ("out.json", "out.md")])
    assert outs[0] == outs[1]


@pytest.mark.parametrize(
    ("file", "text", "message"),
    [
        (".bmslint.yaml", "pats: []\n", "bmslint: the configuration cannot be used, so nothing was compared"),
        ("own/changes.yaml", "rules: 7\n", "bmslint: the rules cannot be used, so nothing was judged"),
    ],
)
def test_a_configuration_or_rules_at_fault_stop_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    file: str, text: str, message: str,
) -> None:  # fmt: skip
    (tmp_path / ".git").mkdir()
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "changes.yaml").write_text(OWN, encoding="utf-8")
    (tmp_path / file).write_text(text, encoding="utf-8")
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["compare", "a.yaml", "a.yaml", "--rules", "own"]) == 2
    out, err = capsys.readouterr()
    assert (out, err.splitlines()[0]) == ("", message)


def test_a_folder_that_cannot_be_searched_is_not_taken_for_empty(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("v1", "v2"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a.yaml").write_text(HUT, encoding="utf-8")

    def scandir(path: Path, real: Any = os.scandir) -> Any:
        if Path(path).name == "v1":
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr("bmslint.gate.find.os.scandir", scandir)
    assert compared(tmp_path, monkeypatch, "v1", "v2") == 2
    assert capsys.readouterr() == (
        "",
        "bmslint: v1: expected a folder that can be searched, came one that cannot (Permission denied); "
        "what lies in it was not judged: check its permissions, or exclude it\n",
    )


def test_an_output_of_no_known_form_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        compared(tmp_path, monkeypatch, "a", "b", "--write", "sarif=x")
    assert ended.value.code == 2
    told = "'sarif=x' is no output; write one of text, json, markdown, then = and a file"
    assert told in " ".join(capsys.readouterr().err.split())
