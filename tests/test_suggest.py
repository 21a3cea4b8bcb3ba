"""`bmslint suggest`: what it shows, and what it does to a file."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bmslint.cli import main
from bmslint.data import rules_dir

FAILING = rules_dir().parent / "profiles" / "failing"
WRONG = (FAILING / "wrong-curve.yaml").read_text(encoding="utf-8")
CURVE = "read_as: {r25_ohm: 10000, beta_K: 3950}"
RIGHT = WRONG.replace(CURVE, CURVE.replace("3950", "3435"))
CAUTION = "Physical tests on cold or damaged cells can end in fire."


def pack(folder: Path, text: str = WRONG) -> Path:
    file = folder / "pack.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def listing(folder: Path) -> dict[str, str]:
    return {each.name: each.read_text(encoding="utf-8") for each in folder.iterdir()}


def test_ways_are_shown_with_their_places_and_the_caution(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    pack(tmp_path)
    assert main(["suggest", "pack.yaml"]) == 0
    text = capsys.readouterr().out
    assert text.splitlines()[:5] == [
        "pack.yaml",
        "REJECTED: do not flash.",
        "",
        "Way 1: leads to ACCEPTED (settings only)",
        "  Set sensors.core.read_as.beta_K: 3950 -> 3435   (pack.yaml:42)",
    ]
    assert text.rstrip().endswith("end in fire.")
    assert listing(tmp_path) == {"pack.yaml": WRONG}


def test_the_difference_is_shown_and_nothing_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    pack(tmp_path)
    assert main(["suggest", "pack.yaml", "--diff"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[:2] == ["--- pack.yaml", "+++ pack.yaml (way 1)"]
    assert [line for line in lines[2:] if line[0] in "+-"] == [
        f"-    {CURVE}",
        f"+    {CURVE.replace('3950', '3435')}",
    ]
    assert listing(tmp_path) == {"pack.yaml": WRONG}


def test_a_way_is_written_and_the_old_file_kept(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = pack(tmp_path)
    assert main(["suggest", str(file), "--write"]) == 0
    out = capsys.readouterr().out
    assert out.startswith(
        f"{file} is now ACCEPTED: every rule that applies holds. The old one is {file}.before.\n"
    )
    assert CAUTION in out
    assert listing(tmp_path) == {"pack.yaml": RIGHT, "pack.yaml.before": WRONG}
    pack(tmp_path)
    assert main(["suggest", str(file), "--write"]) == 0
    assert set(listing(tmp_path)) == {"pack.yaml", "pack.yaml.before", "pack.yaml.before-2"}


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            WRONG.replace(CURVE, "read_as: &curve {r25_ohm: 10000, beta_K: 3950}")
            .replace(
                "thermistor: {r25_ohm: 10000, beta_K: 3435}",
                "thermistor: {r25_ohm: 10000, beta_K: 3435}",
            )
            .replace(
                "  board: {place: board,",
                "  spare: {place: case, thermistor: *curve}\n  board: {place: board,",
            ),
            "a value stands in several places by an anchor; set the values by hand",
        ),
        ("  {}", None),
    ],
)
def test_a_file_that_cannot_be_set_as_wanted_stays(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, problem: str | None
) -> None:
    file = pack(tmp_path, text)
    status = main(["suggest", str(file), "--write"])
    out, err = capsys.readouterr()
    assert out == ""
    assert listing(tmp_path) == {"pack.yaml": text}
    if problem is None:
        assert status == 2
    else:
        assert (status, err) == (1, f"bmslint: {file} was not changed: {problem}\n")


def test_a_value_of_a_base_is_set_in_the_file_that_was_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "base.yaml").write_text(WRONG, encoding="utf-8")
    text = "format: 1\nextends: base.yaml\n# ours\ntitle: Mast 12\n"
    file = pack(tmp_path, text)
    assert main(["suggest", str(file), "--write"]) == 0
    assert listing(tmp_path) == {
        "base.yaml": WRONG,
        "pack.yaml": f"{text}sensors:\n  core:\n    read_as:\n      beta_K: 3435\n",
        "pack.yaml.before": text,
    }
    assert "is now ACCEPTED" in capsys.readouterr().out


def test_a_file_that_may_not_be_written_stays(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = pack(tmp_path)
    file.chmod(0o444)
    assert main(["suggest", str(file), "--write"]) == 2
    assert capsys.readouterr().err == (
        f"bmslint: {file} was not changed: it may not be written; change its permissions first\n"
    )
    assert listing(tmp_path) == {"pack.yaml": WRONG}


def test_a_file_that_changed_meanwhile_stays(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bmslint.settings import edit

    file = pack(tmp_path)
    other = WRONG.replace("# ", "#  ", 1)

    def meanwhile(text: str, changes: dict[str, object]) -> str:
        file.write_text(other, encoding="utf-8")
        return edited(text, changes)

    edited = edit.edited
    monkeypatch.setattr(edit, "edited", meanwhile)
    assert main(["suggest", str(file), "--write"]) == 2
    assert capsys.readouterr().err == (
        f"bmslint: {file} was not changed: it changed while ways were looked for; run this again\n"
    )
    assert listing(tmp_path) == {"pack.yaml": other}


@pytest.mark.parametrize("moment", [1, 2])
def test_a_killed_write_leaves_the_old_file_or_the_new(tmp_path: Path, moment: int) -> None:
    """Killed as the copy of the old file is put in place, and as the new one is."""
    file = pack(tmp_path)
    code = (
        "import os, signal, sys; from pathlib import Path; from bmslint.cli import main\n"
        "replace, seen = Path.replace, []\n"
        "def killed(self, target):\n"
        "    seen.append(target)\n"
        f"    if len(seen) == {moment}:\n"
        "        os.kill(os.getpid(), signal.SIGKILL)\n"
        "    return replace(self, target)\n"
        "Path.replace = killed\n"
        "main(['suggest', sys.argv[1], '--write'])\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(file)], capture_output=True, timeout=120, check=False
    )
    assert run.returncode == -signal.SIGKILL
    assert file.read_text(encoding="utf-8") == WRONG
    if moment == 2:
        assert (tmp_path / "pack.yaml.before").read_text(encoding="utf-8") == WRONG


def test_a_number_that_no_way_has(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = pack(tmp_path)
    assert main(["suggest", str(file), "--write", "--way", "9"]) == 1
    assert capsys.readouterr().err == "bmslint: there is no way 9; 1 found\n"
    assert listing(tmp_path) == {"pack.yaml": WRONG}


def test_nothing_to_change(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["suggest", str(FAILING.parent / "street-light-mast.yaml")]) == 0
    assert "\nThere is nothing to change.\n" in capsys.readouterr().out


def test_a_missing_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    name = os.fspath(tmp_path / "none.yaml")
    assert main(["suggest", name]) == 2
    assert capsys.readouterr() == (
        "",
        f"{name}:1:1: expected a settings file, came no such file; check the path\n",
    )
