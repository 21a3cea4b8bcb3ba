"""The same files give the same bytes, whatever the order of arguments, workers and the world around are."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bmslint.data import rules_dir
from bmslint.gate.configuration import OUTPUT_FORMATS

BASE = "format: 1\npack: {{chemistry: lfp, series: {}}}\nprotection: {{charge_cold: none}}\n"

WORLDS = [
    (["one", "two", "broken.yaml"], "1", {"PYTHONHASHSEED": "1", "LC_ALL": "C.UTF-8", "COLUMNS": "80"}),
    (["two", "./one", "broken.yaml", "one"], "2", {"PYTHONHASHSEED": "2", "LC_ALL": "C", "COLUMNS": "80"}),
    (
        ["broken.yaml", "two", "one"],
        "3",
        {"PYTHONHASHSEED": "3", "TZ": "Pacific/Kiritimati", "COLUMNS": "31", "PYTHONIOENCODING": "latin-1"},
    ),
]
"""Order of arguments, workers, environment. Some thirty files, so that workers are used."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("world")
    for name in ("one", "two"):
        (folder / name).mkdir()
    (folder / ".git").mkdir()
    (folder / "base.yaml").write_text(BASE.format(8))
    for number in range(24):
        own = f"extends: ../base.yaml\ntitle: h\u00fctte {number}\n"
        (folder / ("one", "two")[number % 2] / f"h\u00fctte-{number}.yaml").write_text(
            own if number % 3 else BASE.format(number + 1), encoding="utf-8"
        )
    (folder / "two" / "good.yaml").write_bytes((rules_dir().parent / "profiles/ridge-hut.yaml").read_bytes())
    (folder / "broken.yaml").write_text("format: 1\npack: {series: eight}\n")
    return folder


def outputs(folder: Path, arguments: list[str], workers: str, world: dict[str, str]) -> dict[str, bytes]:
    """Every form as a file, and one on standard output."""
    write = [part for form in OUTPUT_FORMATS for part in ("--write", f"{form}=run.{form}")]
    command = [sys.executable, "-m", "bmslint.cli", "check", *arguments, "--workers", workers, *write]
    done = subprocess.run(
        [*command, "--format", "markdown", "--today", "2026-07-01"],
        cwd=folder, env={"PATH": os.environ["PATH"], **world}, capture_output=True, timeout=120, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (2, b"")
    return {
        "on a pipe": done.stdout,
        **{form: (folder / f"run.{form}").read_bytes() for form in OUTPUT_FORMATS},
    }


def test_the_same_bytes_in_every_world(folder: Path) -> None:
    first, second, third = (outputs(folder, *world) for world in WORLDS)
    assert first["on a pipe"] == first["markdown"]
    assert "h\u00fctte-1.yaml".encode() in first["markdown"]
    assert second == first
    # Text is for a person, and goes by the width that the person has.
    assert third.pop("text") != first.pop("text")
    assert third == first
