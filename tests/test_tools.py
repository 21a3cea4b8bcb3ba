"""Style and types of the whole project, so that the one test command checks everything."""

import subprocess
import sys

from bmslint.data import rules_dir

ROOT = rules_dir().parent


def told_by(*arguments: str) -> tuple[int, str]:
    """Exit status and last line of a tool run over the project as pyproject.toml configures it."""
    run = subprocess.run(
        [sys.executable, "-m", *arguments], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    said = (run.stdout + run.stderr).strip()
    assert run.returncode == 0, said
    return run.returncode, said.splitlines()[-1]


def test_lint() -> None:
    assert told_by("ruff", "check", ".") == (0, "All checks passed!")


def test_format() -> None:
    status, said = told_by("ruff", "format", "--check", ".")
    assert (status, said.split(maxsplit=1)[1]) == (0, "files already formatted")


def test_types() -> None:
    status, said = told_by("mypy")
    assert (status, said.split(maxsplit=4)[:4]) == (0, ["Success:", "no", "issues", "found"])
