"""What goes wrong while verdicts are written: full disks, closed pipes, an interrupt, a broken file.

No file is ever half written, no other output is lost, and the status says that something was.
"""

import json
import os
import resource
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from bmslint.cli import main
from bmslint.gate.configuration import OUTPUT_FORMATS

SETTINGS = "format: 1\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n"
COMMAND = [sys.executable, "-m", "bmslint.cli", "check"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "profiles").mkdir()
    for name in "abc":
        (tmp_path / "profiles" / f"{name}.yaml").write_text(SETTINGS)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def expected() -> bytes:
    return subprocess.run([*COMMAND, "profiles"], capture_output=True, timeout=60, check=False).stdout


@pytest.mark.parametrize("form", OUTPUT_FORMATS)
def test_a_disk_that_is_full_from_the_start_loses_one_output_and_nothing_else(
    capsys: pytest.CaptureFixture[str], folder: Path, form: str
) -> None:
    """The device that is always full is the system's own."""
    assert main(["check", "profiles"]) == 1
    text = capsys.readouterr().out
    assert main(["check", "profiles", "--write", f"{form}=/dev/full", "--write", "json=kept.json"]) == 2
    assert capsys.readouterr() == (text, "bmslint: cannot write /dev/full: No space left on device\n")
    assert len(json.loads(Path("kept.json").read_bytes())["files"]) == 3


def small_files() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))


def test_a_disk_that_fills_up_in_the_middle_leaves_what_was_there(folder: Path) -> None:
    """A limit of 1000 bytes for a file stands for it; pipes have none."""
    outputs = []
    for form in OUTPUT_FORMATS:
        (folder / form).write_text("before")
        outputs += ["--write", f"{form}={form}"]
    done = subprocess.run(
        [*COMMAND, "profiles", *outputs], capture_output=True, timeout=60, check=False, preexec_fn=small_files
    )
    assert done.returncode == 2
    assert done.stdout == expected()
    assert sorted(done.stderr.decode().splitlines()) == sorted(
        f"bmslint: cannot write {form}: File too large" for form in OUTPUT_FORMATS
    )
    assert {path.name: path.read_text() for path in folder.iterdir() if path.is_file()} == dict.fromkeys(
        OUTPUT_FORMATS, "before"
    )


def test_files_are_whole_when_the_reader_of_the_pipe_went_away(folder: Path) -> None:
    main(["check", "profiles", "--write", "json=whole.json", "--write", "junit=whole.xml"])
    reader, writer = os.pipe()
    os.close(reader)
    outputs = ["--write", "json=run.json", "--write", "junit=run.xml"]
    done = subprocess.run(
        [*COMMAND, "profiles", *outputs], stdout=writer, stderr=subprocess.PIPE, timeout=60, check=False
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (141, b"")
    assert Path("run.json").read_bytes() == Path("whole.json").read_bytes()
    assert Path("run.xml").read_bytes() == Path("whole.xml").read_bytes()


def test_files_are_whole_when_standard_output_is_a_full_disk(folder: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*COMMAND, "profiles", "--write", "json=run.json"],
            stdout=full, stderr=subprocess.PIPE, timeout=60, check=False,
        )  # fmt: skip
    assert (done.returncode, done.stderr) == (
        2,
        b"bmslint: cannot use standard output: No space left on device\n",
    )
    assert len(json.loads(Path("run.json").read_bytes())["files"]) == 3


def test_an_interrupt_leaves_what_was_there(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from bmslint.output.json import JsonWriter

    Path("run.json").write_text("before")
    add, added = JsonWriter.add, []

    def interrupted(self: JsonWriter, verdict: object) -> None:
        added.append(verdict)
        if len(added) == 2:
            raise KeyboardInterrupt
        add(self, verdict)  # type: ignore[arg-type]

    monkeypatch.setattr(JsonWriter, "add", interrupted)
    assert main(["check", "profiles", "--write", "json=run.json"]) == 130
    assert {path.name: path.read_text() for path in folder.iterdir() if path.is_file()} == {
        "run.json": "before"
    }


def test_a_broken_file_among_others_is_told_in_every_form_and_the_others_are_judged(
    capsys: pytest.CaptureFixture[str], folder: Path
) -> None:
    Path("profiles/b.yaml").write_bytes(b"format: 1\npack: [\x00")
    outputs = [part for form in OUTPUT_FORMATS[1:] for part in ("--write", f"{form}=run.{form}")]
    assert main(["check", "profiles", *outputs]) == 2
    text = capsys.readouterr().out
    words = [
        line.split(":")[0] for line in text.splitlines() if line.isupper() or line.startswith(("REJ", "UNU"))
    ]
    assert words == ["REJECTED", "UNUSABLE", "REJECTED"]
    assert text.endswith("\n3 files: 2 rejected, 1 unusable.\n")
    files = json.loads(Path("run.json").read_bytes())["files"]
    assert [each["verdict"] for each in files] == ["rejected", "unusable", "rejected"]
    suites = ElementTree.parse("run.junit").getroot()
    assert [suite.get("errors") for suite in suites] == ["0", "1", "0"]
    (invocation,) = json.loads(Path("run.sarif").read_bytes())["runs"][0]["invocations"]
    assert invocation["executionSuccessful"] is False
    assert Path("run.markdown").read_text().startswith("## UNUSABLE: ")


@pytest.mark.parametrize(
    ("write", "told"),
    [
        (["json=x", "sarif=x"], "two outputs go to x; name another file for one of them"),
        (["json=profiles/a.yaml"], "profiles/a.yaml is judged and would be written over; name another file"),
        (["json=base.yaml"], "base.yaml is a settings file and would be written over; name another file"),
    ],
)
def test_an_output_destroys_no_settings_and_no_other_output(
    capsys: pytest.CaptureFixture[str], folder: Path, write: list[str], told: str
) -> None:
    Path("base.yaml").write_text(SETTINGS)
    options = [part for each in write for part in ("--write", each)]
    assert main(["check", "profiles", *options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"bmslint: {told}")
    assert Path("base.yaml").read_text() == Path("profiles/a.yaml").read_text() == SETTINGS
    assert not Path("x").exists()
