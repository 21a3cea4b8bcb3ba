"""`check` of many files with workers: the same bytes, and a clean end however it comes."""

import json
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bmslint.cli import main
from bmslint.data import rules_dir

PROFILES = rules_dir().parent / "profiles"
SMALL = "format: 1\npack: {{chemistry: lfp, series: {}}}\n"
BROKEN = "format: 1\npack: {chemistry: lfp, series: eight}\n"
COMMAND = [sys.executable, "-m", "bmslint.cli", "check", "--ignore-configuration", "--today", "2026-07-01"]


def fleet(folder: Path, count: int) -> Path:
    """Small files, one broken among them, and two whole profiles."""
    folder.mkdir()
    for number in range(count):
        text = BROKEN if number == 20 else SMALL.format(4 + number % 12)
        (folder / f"{number:04d}.yaml").write_text(text, encoding="utf-8")
    for stem in ("snow-gauge", "failing/fahrenheit-release"):
        shutil.copy(PROFILES / f"{stem}.yaml", folder)
    return folder


@pytest.mark.parametrize("form", ["json", "text"])
def test_the_number_of_workers_changes_no_byte(
    tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = fleet(tmp_path / "fleet", 36)
    written = set()
    for workers in ("1", "2", "3"):
        assert main([*COMMAND[3:], str(folder), "--format", form, "--workers", workers]) == 2
        out, err = capsys.readouterr()
        assert err == ""
        written.add(out)
    (text,) = written
    assert text.count("unusable" if form == "json" else "UNUSABLE") == 1


def test_neither_hash_seed_nor_place_nor_order_change_a_byte(tmp_path: Path) -> None:
    """Worker processes get other hash seeds than their parent only if nobody fixes them."""
    folder = fleet(tmp_path / "fleet", 32)
    written = set()
    files = sorted(map(str, folder.iterdir()))
    for seed, zone, arguments in (("1", "UTC", [str(folder)]), ("2", "Asia/Kathmandu", files[::-1])):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C"}
        command = [*COMMAND, *arguments, "--format", "json", "--workers", "2"]
        done = subprocess.run(command, capture_output=True, env=environment, timeout=120, check=False)
        assert (done.returncode, done.stderr) == (2, b"")
        written.add(done.stdout)
    assert len(written) == 1


@pytest.mark.parametrize("number", ["0", "-1", "two", "1001", "1.5", "\u0662"])
def test_a_number_of_workers_that_is_none_is_told(number: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["check", "a.yaml", f"--workers={number}"])
    assert caught.value.code == 2
    assert f"{number!r} is no number of workers; write one from 1 to 1000" in capsys.readouterr().err


def started(*arguments: str) -> subprocess.Popen[bytes]:
    """Start a run in a process group of its own, with interrupts as a terminal's shell leaves them."""
    default = "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler);"
    code = f"{default} from bmslint.cli import main; sys.exit(main(sys.argv[1:]))"
    command = [sys.executable, "-c", code, *COMMAND[3:], "--format", "json", "--workers", "2", *arguments]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True)


def read_past(run: subprocess.Popen[bytes], name: bytes) -> None:
    """Read what a run writes until it comes to the verdict of a file."""
    assert run.stdout is not None
    while name not in run.stdout.readline():
        assert run.poll() is None, "it ended before it came there"


def ended(run: subprocess.Popen[bytes]) -> tuple[int, bytes]:
    """Status and standard error of a run whose output nobody wants."""
    assert run.stderr is not None
    if run.stdout is not None and not run.stdout.closed:
        run.stdout.read()
    return run.wait(timeout=30), run.stderr.read()


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


@pytest.mark.parametrize("whole_group", [True, False], ids=["as a terminal does", "the run alone"])
def test_an_interrupt_ends_run_and_workers_and_leaves_no_half_file(tmp_path: Path, whole_group: bool) -> None:
    folder, report = fleet(tmp_path / "fleet", 500), tmp_path / "report.json"
    with started(str(folder), "--write", f"json={report}") as run:
        read_past(run, b"0009.yaml")
        (os.killpg if whole_group else os.kill)(run.pid, signal.SIGINT)
        assert ended(run) == (130, b"")
        assert group_is_empty(run.pid)
    assert [path.name for path in tmp_path.iterdir()] == ["fleet"]


@pytest.mark.parametrize("delay_s", [0.0, 0.15, 0.3, 0.5])
def test_an_interrupt_while_workers_start_is_as_quiet(tmp_path: Path, delay_s: float) -> None:
    with started(str(fleet(tmp_path / "fleet", 500))) as run:
        read_past(run, b"{")
        time.sleep(delay_s)
        os.killpg(run.pid, signal.SIGINT)
        assert ended(run) == (130, b"")
        assert group_is_empty(run.pid)


def test_a_reader_that_goes_away_ends_run_and_workers(tmp_path: Path) -> None:
    """As `bmslint check folder | head` does."""
    with started(str(fleet(tmp_path / "fleet", 500))) as run:
        read_past(run, b"0009.yaml")
        assert run.stdout is not None
        run.stdout.close()
        assert ended(run) == (141, b"")
        assert group_is_empty(run.pid)


def test_a_full_disk_ends_run_and_workers(tmp_path: Path) -> None:
    """The device that is always full is the system's own."""
    command = [*COMMAND, str(fleet(tmp_path / "fleet", 100)), "--format", "json", "--workers", "2"]
    with Path("/dev/full").open("wb") as full:
        run = subprocess.Popen(command, stdout=full, stderr=subprocess.PIPE, start_new_session=True)
        _, told = run.communicate(timeout=60)
    assert (run.returncode, told) == (2, b"bmslint: cannot use standard output: No space left on device\n")
    assert group_is_empty(run.pid)


def shown_on_a_terminal(
    folder: Path, *arguments: str, both: bool = False, **environment: str
) -> tuple[bytes, bytes]:
    """What a run writes to standard output and to a terminal that is its standard error, or both."""
    terminal, its_end = pty.openpty()
    kept = {key: value for key, value in os.environ.items() if key not in ("CI", "NO_COLOR")}
    run = subprocess.Popen(
        [*COMMAND, str(folder), *arguments],
        stdout=its_end if both else subprocess.PIPE,
        stderr=its_end,
        env={**kept, "TERM": "xterm", **environment},
    )
    os.close(its_end)
    out, shown = run.stdout.read() if run.stdout is not None else b"", b""
    try:
        while part := os.read(terminal, 65536):
            shown += part
    except OSError:  # the other end is closed, which a terminal tells so
        pass
    os.close(terminal)
    run.communicate(timeout=60)
    return out, shown


def test_a_terminal_sees_how_far_a_run_is_and_nothing_of_it_is_written(tmp_path: Path) -> None:
    folder = fleet(tmp_path / "fleet", 31)
    out, shown = shown_on_a_terminal(folder, "--format", "json", "--workers", "2")
    assert len(json.loads(out)["files"]) == 33
    assert b"judged" in shown
    assert b"/33" in shown
    for quiet in ({"CI": "true"}, {"TERM": "dumb"}):
        assert shown_on_a_terminal(folder, "--format", "json", "--workers", "1", **quiet) == (out, b"")


def test_on_the_terminal_of_the_verdicts_progress_is_out_of_their_way(tmp_path: Path) -> None:
    """No line is broken; beside a form whose verdicts end amid a line nothing is shown."""
    folder = fleet(tmp_path / "fleet", 25)
    command = [*COMMAND, str(folder), "--workers", "2"]
    for form in ("text", "json"):
        piped = subprocess.run(
            [*command, "--format", form],
            capture_output=True,
            env={**os.environ, "COLUMNS": "80"},
            check=False,
        ).stdout
        _, shown = shown_on_a_terminal(folder, "--workers", "2", "--format", form, both=True)
        assert (b"/27" in shown) == (form == "text")
        shown, at = re.sub(rb"\x1b\[[0-9;]*m", b"", shown), 0  # bold and dim
        for line in piped.splitlines():
            at = shown.find(line + b"\r\n", at)
            assert at >= 0, line


def test_few_files_show_no_progress(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SMALL.format(8), encoding="utf-8")
    assert shown_on_a_terminal(tmp_path)[1] == b""
