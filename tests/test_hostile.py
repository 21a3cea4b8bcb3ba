"""What a careless or ill-meaning caller does: full and closed outputs, odd files, odd names."""

import fcntl
import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir

PROFILES = rules_dir().parent / "profiles"
GOOD = PROFILES / "street-light-mast.yaml"
SMALL = "format: 1\npack: {chemistry: lfp, series: 8}\n"
SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())


def run(*arguments: str, redirect: str = "") -> subprocess.CompletedProcess[bytes]:
    """Run the program in a shell that redirects its streams."""
    command = [sys.executable, "-m", "bmslint.cli", *arguments]
    script = f'exec "$@" {redirect}'
    return subprocess.run(
        ["/bin/sh", "-c", script, "sh", *command], capture_output=True, timeout=60, check=False
    )


@pytest.mark.parametrize("command", [["check", str(GOOD)], ["facts", str(GOOD)], ["rules"]])
def test_a_full_disk_is_told_and_is_no_verdict(command: list[str]) -> None:
    """The device that is always full is the system's own; a status of 1 would mean a rejected file."""
    done = run(*command, redirect="> /dev/full")
    assert (done.returncode, done.stderr.decode()) == (
        2,
        "bmslint: cannot use standard output: No space left on device\n",
    )


@pytest.mark.parametrize(("text", "status"), [(SMALL, 3), ("- a\n", 2)])
def test_only_the_status_is_left_where_standard_output_is_closed(
    tmp_path: Path, text: str, status: int
) -> None:
    (tmp_path / "a.yaml").write_text(text)
    done = run("check", str(tmp_path / "a.yaml"), redirect=">&-")
    assert (done.returncode, done.stdout, done.stderr) == (status, b"", b"")


def test_a_message_does_not_get_into_the_verdicts_where_standard_error_is_closed(tmp_path: Path) -> None:
    done = run("check", str(tmp_path), "--format", "json", redirect="2>&-")
    assert (done.returncode, done.stdout) == (3, b"")


def test_a_device_named_as_output_stays_a_device(tmp_path: Path) -> None:
    """A named pipe of the test's own in place of the null device, which must not be put at risk."""
    pipe, settings = tmp_path / "pipe", tmp_path / "a.yaml"
    settings.write_text(SMALL)
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    fcntl.fcntl(reader, fcntl.F_SETPIPE_SZ, 1 << 20)  # nobody reads before all is written
    try:
        assert main(["check", str(settings), "--write", f"json={pipe}"]) == 3
        assert json.loads(os.read(reader, 1 << 20))["files"][0]["verdict"] == "not judged"
    finally:
        os.close(reader)
    assert pipe.is_fifo()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.yaml", "pipe"]


def test_an_output_that_is_a_link_is_written_through_it(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SMALL)
    (tmp_path / "kept.json").write_text("old")
    (tmp_path / "link.json").symlink_to("kept.json")
    main(["check", str(tmp_path / "a.yaml"), "--write", f"json={tmp_path / 'link.json'}"])
    assert (tmp_path / "link.json").is_symlink()
    assert json.loads((tmp_path / "kept.json").read_text())["files"][0]["verdict"] == "not judged"


@pytest.mark.parametrize("named", ["a.yaml", "link.yaml", "folder/../a.yaml"])
def test_the_file_that_is_judged_is_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], named: str
) -> None:
    settings = tmp_path / "a.yaml"
    settings.write_text(SMALL)
    (tmp_path / "folder").mkdir()
    (tmp_path / "link.yaml").symlink_to("a.yaml")
    assert main(["check", str(settings), "--write", f"json={tmp_path / named}"]) == 2
    assert settings.read_text() == SMALL
    assert capsys.readouterr().err == (
        f"bmslint: {tmp_path / named} is judged and would be written over; name another file to write\n"
    )


@pytest.mark.parametrize(
    ("output", "why"), [("missing/out.json", "No such file or directory"), ("folder", "Is a directory")]
)
def test_an_output_that_cannot_be_written_is_told_and_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], output: str, why: str
) -> None:
    (tmp_path / "a.yaml").write_text(SMALL)
    (tmp_path / "folder").mkdir()
    named, settings = tmp_path / output, str(tmp_path / "a.yaml")
    assert main(["check", settings]) == 3
    text = capsys.readouterr().out
    assert main(["check", settings, "--write", f"json={named}"]) == 2
    assert capsys.readouterr() == (text, f"bmslint: cannot write {named}: {why}\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.yaml", "folder"]


def test_links_that_lead_in_a_circle_end_and_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The folder that leads to itself is searched once; what cannot be read may have been settings."""
    (tmp_path / "one.yaml").symlink_to("two.yaml")
    (tmp_path / "two.yaml").symlink_to("one.yaml")
    (tmp_path / "itself").symlink_to(".")
    (tmp_path / "a.yaml").write_text(SMALL)
    assert main(["check", str(tmp_path), "--format", "json"]) == 2
    files = json.loads(capsys.readouterr().out)["files"]
    came = "an error of the system (Too many levels of symbolic links)"
    assert [
        (each["file"], each["verdict"], [error["came"] for error in each["errors"]]) for each in files
    ] == [
        (str(tmp_path / "a.yaml"), "not judged", []),
        (str(tmp_path / "one.yaml"), "unusable", [came]),
        (str(tmp_path / "two.yaml"), "unusable", [came]),
    ]
    assert main(["check", str(tmp_path / "one.yaml"), "--write", f"json={tmp_path / 'two.yaml'}"]) == 2


# Colour and clearing of a terminal, right-to-left order, the library's own markup, a line's end.
HOSTILE = "[red]\x1b[31m\x1b[2J\u202e\u2028evil\r\n"


def test_names_from_outside_cannot_move_a_reader_s_cursor(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = tmp_path / "b\x1b[31m\u202e \n.yaml"
    path = {"name": HOSTILE, "max_A": 5, "obeys": ["cell_overvoltage"]}
    data = {"format": 1, "title": HOSTILE, "pack": {"chemistry": "lfp", "series": 8}, "charge_paths": [path]}
    settings.write_text(json.dumps(data))
    shown = "[red]<U+001B>[31m<U+001B>[2J<U+202E><U+2028>evil<U+000D><U+000A>"

    assert main(["check", str(settings)]) == 1
    text = capsys.readouterr().out
    assert [char for char in text if not char.isprintable() and char != "\n"] == []
    assert f'The path "{shown}" can push' in " ".join(text.split())

    assert main(["check", str(settings), "--format", "json"]) == 1
    written = capsys.readouterr().out
    assert written.isascii()
    verdicts = json.loads(written)
    jsonschema.validate(verdicts, SCHEMA)
    assert verdicts["files"][0]["file"] == str(settings)
    assert {each["rule"]: each["value"] for each in verdicts["files"][0]["findings"]} == {
        "path-ignores-cold-inhibit": HOSTILE
    }


def test_names_in_messages_cannot_move_a_reader_s_cursor(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    odd = "odd\x1b[2J\u202e\n"
    Path("a.yaml").write_text(SMALL)
    Path(odd).mkdir()
    assert main(["check", "a.yaml", odd, "--write", f"json={odd}", "--format", "json"]) == 2
    assert capsys.readouterr().err == (
        "bmslint: no settings file found in odd<U+001B>[2J<U+202E><U+000A>\n"
        "bmslint: cannot write odd<U+001B>[2J<U+202E><U+000A>: Is a directory\n"
    )
