"""The recipes of the README: read by schemas of the hosts that they are for, and run with this bmslint."""

import argparse
import json
import os
import re
import shlex
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pre_commit.clientlib import CONFIG_SCHEMA
from repositories import SURROUNDINGS, commit, git, repository

from bmslint.cli import _parser
from bmslint.data import rules_dir
from bmslint.settings.tree import parse

ROOT = rules_dir().parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
GOOD = (ROOT / "profiles" / "snow-gauge.yaml").read_text(encoding="utf-8")
HIGH = GOOD.replace("cell_overvoltage: {trip_above_V: 3.90,", "cell_overvoltage: {trip_above_V: 4.2,")
WORKFLOW, PIPELINE, HOOKS = ".github/workflows/bmslint.yml", ".gitlab-ci.yml", ".pre-commit-config.yaml"


def recipes() -> dict[str, Any]:
    """Each recipe by the name of its file, which its first line says."""
    blocks = re.findall(r"^```yml\n# (\S+)\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)
    trees = {name: parse(text.encode(), name) for name, text in blocks}
    assert [each.problems for each in trees.values()] == [()] * len(trees)
    return {name: tree.data for name, tree in trees.items() if name != ".bmslint.yaml"}


def test_there_is_a_recipe_for_the_hook_and_for_two_hosts() -> None:
    assert sorted(recipes()) == sorted([WORKFLOW, PIPELINE, HOOKS])


@pytest.mark.parametrize(("name", "schema"), [(WORKFLOW, "github-workflows"), (PIPELINE, "gitlab-ci")])
def test_a_recipe_is_what_its_host_reads(name: str, schema: str) -> None:
    """Schemas of the hosts' formats as the package check-jsonschema brings them."""
    folder = files("check_jsonschema") / "builtin_schemas" / "vendor"
    form = json.loads((folder / f"{schema}.json").read_text(encoding="utf-8"))
    jsonschema.validators.validator_for(form)(form).validate(recipes()[name])


def test_the_hook_is_named_as_it_is_defined() -> None:
    from cfgv import apply_defaults, validate
    from pre_commit.clientlib import load_manifest

    config = recipes()[HOOKS]
    validate(config, CONFIG_SCHEMA)
    named = [hook["id"] for repo in apply_defaults(config, CONFIG_SCHEMA)["repos"] for hook in repo["hooks"]]
    assert named == [hook["id"] for hook in load_manifest(str(ROOT / ".pre-commit-hooks.yaml"))]


def scripts(name: str) -> list[tuple[dict[str, str], str]]:
    """The shell scripts of a recipe, each with variables of its own."""
    if name == WORKFLOW:
        steps = recipes()[name]["jobs"]["bmslint"]["steps"]
        return [(step.get("env", {}), step["run"]) for step in steps if "run" in step]
    job = recipes()[name]["bmslint"]
    return [({}, "\n".join(job[part])) for part in ("before_script", "script", "after_script")]


@pytest.mark.parametrize("name", [WORKFLOW, PIPELINE])
def test_every_command_of_a_recipe_is_one_of_this_program(name: str) -> None:
    lines = [line for _, script in scripts(name) for line in re.findall(r"^bmslint .*", script, re.MULTILINE)]
    parsed: list[argparse.Namespace] = []
    for line in lines:
        _, *arguments = shlex.split(line.split(" || ")[0])
        parsed.append(_parser(arguments).parse_args(arguments))
    assert [each.command for each in parsed] == ["check", "compare"]
    assert {"sarif", "markdown"} <= {form for form, _ in parsed[0].write}
    assert [form for form, _ in parsed[1].write] == ["markdown"]
    assert parsed[1].fail_on == "less-safe"


def test_every_command_of_the_shell_blocks_is_one_of_this_program() -> None:
    blocks = re.findall(r"^```sh\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)
    lines = [
        line for block in blocks for line in re.findall(r"^bmslint (?:check|compare) .*", block, re.MULTILINE)
    ]
    assert len([line for line in lines if "compare" in line or "baseline" in line]) >= 6
    for line in lines:
        arguments = [each for each in shlex.split(line, comments=True)[1:] if each not in ("...", "[ID]")]
        _parser(arguments).parse_args(arguments)


def programs(folder: Path) -> Path:
    """This bmslint, and in the place of what a runner brings programs that note what they were told."""
    folder.mkdir()
    note = f'#!/bin/sh\necho "$(basename "$0") $*" >> "{folder}/told"\n'
    for name, text in {
        "bmslint": f'#!/bin/sh\nexec "{sys.executable}" -m bmslint.cli "$@"\n',
        "python": note,
        "gh": note,
        "curl": note,
    }.items():
        (folder / name).write_text(text, encoding="utf-8")
        (folder / name).chmod(0o755)
    return folder


@pytest.mark.parametrize("name", [WORKFLOW, PIPELINE])
@pytest.mark.parametrize(("text", "status"), [(GOOD.replace("title: ", "title: A "), 0), (HIGH, 1)])
def test_a_recipe_runs(tmp_path: Path, name: str, text: str, status: int) -> None:
    """Each script as its host runs it: by a shell that stops at the first command that fails."""
    work = repository(tmp_path / "work")
    base = commit(work, {"profiles/a.yaml": GOOD})
    git(work, "update-ref", "refs/remotes/origin/main", base)
    commit(work, {"profiles/a.yaml": text})
    bin_ = programs(tmp_path / "bin")
    environment = {
        **SURROUNDINGS,
        "PATH": f"{bin_}{os.pathsep}{os.defpath}",
        "HOME": str(tmp_path),
        "OPENBLAS_NUM_THREADS": "1",
        "GITHUB_STEP_SUMMARY": str(tmp_path / "summary.md"),
        "CI_MERGE_REQUEST_DIFF_BASE_SHA": base,
    }
    statuses = []
    for own, script in scripts(name):
        known = {key: value.replace("${{ github.base_ref }}", "main") for key, value in own.items()}
        command = ["bash", "-e", "-c", script]
        done = subprocess.run(
            command,
            cwd=work,
            env=environment | known,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.stderr == ""
        statuses.append(done.returncode)
    assert max(statuses) == status
    changes = (work / "changes.md").read_text(encoding="utf-8")
    assert changes.startswith("## bmslint: ")
    assert ("**less safe** `protection.cell_overvoltage.trip_above_V: 3.9 -> 4.2`" in changes) == bool(status)
    assert json.loads((work / "bmslint.sarif").read_text(encoding="utf-8"))["version"] == "2.1.0"
    assert (work / "verdicts.md").read_text(encoding="utf-8").startswith("## ")
    told = (bin_ / "told").read_text(encoding="utf-8").splitlines()
    assert [each.split()[0] for each in told] == ["python", "gh" if name == WORKFLOW else "curl"]
    assert "changes.md" in told[1]
