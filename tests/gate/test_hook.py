"""The hook definition, held by the tool that reads it, and run by that tool on a repository of its own."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from pre_commit.clientlib import load_manifest
from repositories import SURROUNDINGS, commit, git, repository

from bmslint.data import rules_dir

ROOT = rules_dir().parent
DEFINITION = ROOT / ".pre-commit-hooks.yaml"
GOOD = (ROOT / "profiles" / "snow-gauge.yaml").read_text(encoding="utf-8")
HIGH = GOOD.replace("cell_overvoltage: {trip_above_V: 3.90,", "cell_overvoltage: {trip_above_V: 4.2,")
OVER = "format: 1\nextends: ../base/gauge.yaml\ntitle: Over\n"


def the_hook() -> dict[str, Any]:
    (hook,) = load_manifest(str(DEFINITION))
    return dict(hook)


def test_the_definition_is_read_as_it_is_meant() -> None:
    hook = the_hook()
    told = {
        key: hook[key] for key in ("id", "entry", "args", "language", "pass_filenames", "types_or", "stages")
    }
    assert told == {
        "id": "bmslint",
        "entry": "bmslint check",
        "args": ["."],
        "language": "python",
        "pass_filenames": False,
        "types_or": ["yaml", "json", "toml"],
        "stages": [],
    }


@pytest.fixture
def user(tmp_path: Path) -> Path:
    """A repository that runs the hook, with this bmslint in the place of one that is installed for it."""
    here = {**the_hook(), "language": "system", "entry": f"{sys.executable} -m bmslint.cli check"}
    keys = ("id", "name", "entry", "args", "language", "pass_filenames", "types_or")
    repo = {"repo": "local", "hooks": [{key: here[key] for key in keys}]}
    made = repository(tmp_path / "user")
    commit(made, {".pre-commit-config.yaml": json.dumps({"repos": [repo]}), "notes.txt": "x\n"})
    return made


def run(folder: Path) -> tuple[int, str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    environment |= SURROUNDINGS | {
        "PRE_COMMIT_HOME": str(folder.parent / "home"),
        "PRE_COMMIT_COLOR": "never",
    }
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "run"],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


def test_a_base_that_changed_hurts_profiles_that_did_not(user: Path) -> None:
    commit(user, {"base/gauge.yaml": GOOD, "site/over.yaml": OVER})
    (user / "base" / "gauge.yaml").write_text(HIGH, encoding="utf-8")
    git(user, "add", "--all")
    status, out = run(user)
    assert status == 1
    assert "- exit code: 1" in out
    assert {line for line in out.splitlines() if line.endswith("over.yaml")} >= {"site/over.yaml"}
    assert "2 files: 2 rejected." in out


def test_what_is_no_settings_file_is_left_alone(user: Path) -> None:
    (user / "site.yaml").write_text(GOOD, encoding="utf-8")
    (user / "other.yaml").write_text("kind: of another program\n", encoding="utf-8")
    git(user, "add", "--all")
    status, out = run(user)
    assert (status, out.split(".")[0], out.rstrip().rsplit(".", 1)[1]) == (0, "bmslint", "Passed")
    git(user, "commit", "--quiet", "--no-verify", "--message", "a change")
    (user / "notes.txt").write_text("y\n", encoding="utf-8")
    git(user, "add", "--all")
    status, out = run(user)
    assert (status, out.strip().endswith("Skipped")) == (0, True)
