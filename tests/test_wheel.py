"""The wheel, installed into an empty environment away from the checkout, judges as the checkout does."""

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from bmslint.data import rules_dir

ROOT = rules_dir().parent
PROFILES = [("ridge-hut.yaml", 0), ("failing/skin-decides.yaml", 1)]
"""Each with the exit status of its check."""
FROM_OUTSIDE = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
"""The environment without what could lead an installed program back to the checkout."""


def run(*command: str | Path, cwd: Path, status: int = 0) -> str:
    done = subprocess.run(
        list(command), cwd=cwd, env=FROM_OUTSIDE, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == status, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--wheel", "--outdir", target, ROOT, cwd=target)
    (built,) = target.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the environment `env` and copies of the profiles, nothing else."""
    home = tmp_path_factory.mktemp("outside")
    run(sys.executable, "-m", "venv", "--without-pip", "env", cwd=home)
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", home / "env/bin/python")
    # Compiling every dependency takes longer than installing it, and most of it is never imported here.
    run(*pip, "install", "--quiet", "--no-compile", wheel, cwd=home)
    for name, _ in PROFILES:
        shutil.copy(ROOT / "profiles" / name, home)
    return home


def files_below(folder: Path) -> set[str]:
    """Names of the files that belong into a wheel, relative to the folder."""
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def test_the_wheel_holds_the_package_and_the_rules_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert names == {
        *(f"bmslint/{name}" for name in files_below(ROOT / "bmslint")),
        *(f"bmslint/rules/{name}" for name in files_below(ROOT / "rules")),
    }


def test_the_rules_come_from_the_wheel(installed: Path) -> None:
    code = "import sysconfig, bmslint.data; print(sysconfig.get_path('purelib'), bmslint.data.rules_dir())"
    home, rules = map(Path, run(installed / "env/bin/python", "-c", code, cwd=installed).split())
    assert (rules, home.is_relative_to(installed)) == (home / "bmslint" / "rules", True)
    assert files_below(rules) == files_below(ROOT / "rules")


@pytest.mark.parametrize(("profile", "status"), PROFILES)
def test_the_installed_program_gives_the_same_verdict(installed: Path, profile: str, status: int) -> None:
    arguments = ("check", Path(profile).name, "--format", "json")
    outside = run(installed / "env/bin/bmslint", *arguments, cwd=installed, status=status)
    checkout = subprocess.run(
        [sys.executable, "-m", "bmslint.cli", *arguments],
        cwd=installed, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert (checkout.returncode, checkout.stdout) == (status, outside)
