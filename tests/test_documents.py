"""What the documents and the profiles promise, held against what the program does."""

import json
import re
import shlex
import subprocess
from pathlib import Path
from typing import Any

import pytest

from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.gate.configuration import OUTPUT_FORMATS
from bmslint.settings import read_text

ROOT = rules_dir().parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PROFILE = str(ROOT / "profiles" / "ridge-hut.yaml")
CAUTION = " ".join(line.removeprefix("> ") for line in README.splitlines() if line.startswith("> "))

FAILING = {
    "another-chemistry": {
        ("overvoltage-trip-above-cell", "protection.cell_overvoltage.trip_above_V"),
        ("overvoltage-of-another-chemistry", "protection.cell_overvoltage.trip_above_V"),
        ("load-stops-in-cold", "protection.discharge_cold.inhibit_below_degC"),
    },
    "braking-ignores-cold": {
        ("path-ignores-cold-inhibit", "charge_paths[1].obeys"),
        ("brought-in-current-above-cell", "charge_current.steps"),
        ("charging-stops-in-heat", "charge_current.steps"),
    },
    "fahrenheit-release": {
        ("looks-like-fahrenheit", "protection.charge_cold.inhibit_below_degC"),
        ("looks-like-fahrenheit", "protection.charge_cold.release_above_degC"),
        ("load-stops-in-cold", "protection.discharge_cold.inhibit_below_degC"),
    },
    "heater-stops-early": {
        ("heated-pack-never-releases", "protection.charge_cold.release_above_degC"),
        ("heater-cutout-missing", "heater.cutout_degC"),
    },
    "skin-decides": {
        ("cold-release-before-core", "protection.charge_cold.release_above_degC"),
        ("heated-current-above-cell", "charge_current.steps"),
        ("spread-while-heating", "heater.power_W"),
        ("heater-switches-too-often", "heater.on_below_degC"),
        ("one-sensor-heats-and-releases", "protection.charge_cold.sensors"),
    },
    "wrong-curve": {
        ("cold-inhibit-below-cell", "protection.charge_cold.inhibit_below_degC"),
        ("charge-hot-inhibit-above-cell", "protection.charge_hot.inhibit_above_degC"),
        ("discharge-hot-inhibit-above-cell", "protection.discharge_hot.inhibit_above_degC"),
        ("wrong-thermistor-curve", "sensors"),
        ("load-stops-in-cold", "protection.discharge_cold.inhibit_below_degC"),
    },
}
"""By failing profile, every rule that speaks and the setting that it speaks of."""


def blocks(kind: str) -> list[str]:
    """The fenced blocks of a kind in the README, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def tracked() -> list[str]:
    run = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return run.stdout.rstrip("\0").split("\0")


def checked(capsys: pytest.CaptureFixture[str], *names: str) -> list[dict[str, Any]]:
    """Each file's verdict as a program reads it; nothing may come on standard error."""
    main(["check", *names, "--format", "json"])
    out, err = capsys.readouterr()
    assert err == ""
    files: list[dict[str, Any]] = json.loads(out)["files"]
    return files


def test_the_first_command_sets_up_and_judges(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The part that judges is run; tests/test_wheel.py installs the project the way the rest does."""
    setup, install, check = blocks("sh")[0].strip().split(" && ")
    assert (setup, install) == ("python3 -m venv .venv", ".venv/bin/python -m pip install --quiet .")
    program, *arguments = shlex.split(check)
    assert program == ".venv/bin/bmslint"
    monkeypatch.chdir(ROOT)
    assert main(arguments) == 1
    assert "\nREJECTED: " in capsys.readouterr().out


def test_the_second_command_is_what_the_integration_server_runs() -> None:
    (line,) = blocks("sh")[1].strip().splitlines()
    assert (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines() == [
        "#!/usr/bin/env bash",
        "# The README's test command on a clean checkout.",
        "set -euo pipefail",
        'cd "$(dirname "$0")/.."',
        *line.split(" && "),
    ]


def test_every_command_that_is_shown_runs(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("old.yaml", "new.yaml"):
        (tmp_path / name).write_bytes(Path(PROFILE).read_bytes())
    begins = {}
    for line in blocks("sh")[2].strip().splitlines():
        command = line.split("#")[0].strip()
        stated = {"FILE...": PROFILE, "FILE": PROFILE, "...": PROFILE, "[ID]": "cold-inhibit-missing"}
        stated |= {"[RULE]": "cold-release-before-core", "OLD": "old.yaml", "NEW": "new.yaml"}
        program, *arguments = [stated.get(word, word) for word in command.split()]
        assert (program, main(arguments)) == ("bmslint", 0)
        out, err = capsys.readouterr()
        assert not (out and err)
        begins[command] = (out or err).partition("\n")[0]
    assert begins == {
        "bmslint check FILE...": PROFILE,
        "bmslint check --format json ...": "{",
        "bmslint explain FILE [RULE]": PROFILE,
        "bmslint suggest FILE": PROFILE,
        "bmslint report FILE -o page.html": f"{PROFILE}: accepted; told in page.html",
        "bmslint compare OLD NEW": "Compared: old.yaml with new.yaml",
        "bmslint facts FILE": f"Derived from {PROFILE}",
        "bmslint rules [ID]": "cold-inhibit-missing: Nothing stops charging in the cold",
        "bmslint schema": "{",
    }


def test_every_verdict_is_reached_with_the_exit_status_that_the_table_gives(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    good = (ROOT / "profiles" / "street-light-mast.yaml").read_text(encoding="utf-8")
    larger, places = re.subn(r"^  capacity_Ah: 40$", "  capacity_Ah: 50", good, flags=re.MULTILINE)
    assert places == 1
    texts = {"a": good, "b": larger, "c": "format: 1\nformat: 1\n", "d": blocks("yaml")[0]}
    texts["e"] = (ROOT / "profiles" / "failing" / "skin-decides.yaml").read_text(encoding="utf-8")
    reached = {}
    for name, text in texts.items():
        file = tmp_path / f"{name}.yaml"
        file.write_text(text, encoding="utf-8")
        status = main(["check", str(file), "--format", "json"])
        (each,) = json.loads(capsys.readouterr().out)["files"]
        reached[each["verdict"]] = status
    rows = re.findall(r"^\| `([^`]+)` \| [^|]+ \| (\d) \|$", README, re.MULTILINE)
    assert reached == {verdict: int(status) for verdict, status in rows}
    assert [
        main(["check", str(tmp_path / "b.yaml"), "--fail-on", least]) for least in ("reject", "review")
    ] == [0, 1]


def test_the_settings_that_are_shown_are_read_and_judged_as_the_text_says(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    shown = blocks("yaml")[0]
    assert read_text(shown, "README.md").problems == ()
    file = tmp_path / "shown.yaml"
    file.write_text(shown, encoding="utf-8")
    (each,) = checked(capsys, str(file))
    spoken = [(finding["rule"], finding["severity"]) for finding in each["findings"]]
    assert (each["verdict"], spoken, each["errors"]) == ("not judged", [("cold-within-hours", "note")], [])
    assert "So far this file is `not judged`: " in README


def test_the_rules_of_one_s_own_that_are_shown_judge_as_the_text_says(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The folder is written as the text names it, and the command beside it is run."""
    _, rule, changes, _ = blocks("yaml")
    company = tmp_path / "company"
    company.mkdir()
    (company / "company-margin-at-release.yaml").write_text(rule, encoding="utf-8")
    (company / "changes.yaml").write_text(changes, encoding="utf-8")
    (tmp_path / "profiles").symlink_to(ROOT / "profiles")
    monkeypatch.chdir(tmp_path)
    program, *arguments = shlex.split(blocks("sh")[3])
    assert (program, main([*arguments, "--format", "json"])) == ("bmslint", 0)
    came = json.loads(capsys.readouterr().out)
    (own,) = came["pack"]["own"]
    assert (own["name"], own["rules"], own["changes"]) == (
        "company",
        1,
        [
            {
                "rule": "cold-release-chatters", "what": "severity", "was": "review", "now": "reject",
                "unit": "", "reason": "no board of ours may chatter",
            },
            {
                "rule": "fuse-missing", "what": "severity", "was": "review", "now": "switched off",
                "unit": "", "reason": "the fuse is part of the vehicle and is judged there",
            },
            {
                "rule": "spread-while-heating", "what": "parameters.most_K", "was": 10.0, "now": 9.0,
                "unit": "K", "reason": "our cells are glued to each other",
            },
        ],
    )  # fmt: skip
    (file,) = came["files"]
    assert {each["rule"]: (each["severity"], each["message"]) for each in file["findings"]} == {
        "company-margin-at-release": (
            "review",
            "The coldest cell is at 6.9 degC; we ask for 8 K above its limit.",
        ),
        "spread-while-heating": (
            "review",
            "When charging resumes the hottest and the coldest point of the cells are 9.3 K apart; "
            "more than 9 K is unusual.",
        ),
    }


def test_the_entries_that_are_shown_let_a_file_be_accepted_on_the_day_that_is_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = Path(PROFILE).read_text(encoding="utf-8")
    text, wrong = re.subn(r"^  capacity_Ah: 230$", "  capacity_Ah: 300", text, flags=re.MULTILINE)
    text, without = re.subn(r"^  fuse: .*\n", "", text, flags=re.MULTILINE)
    assert (wrong, without) == (1, 1)
    (option,) = re.findall(r"`(--today [0-9-]+)`", README)
    reached = []
    for entries in ("", blocks("yaml")[3]):
        file = tmp_path / "entries.yaml"
        file.write_text(text + entries, encoding="utf-8")
        status = main(["check", str(file), "--format", "json", *option.split()])
        (each,) = json.loads(capsys.readouterr().out)["files"]
        reached.append((each["verdict"], status, [entry["days_left"] for entry in each["accepted"]]))
    assert reached == [("not judged", 3, []), ("accepted", 0, [273])]


def test_the_chemistries_that_are_named_are_those_that_there_are() -> None:
    (named,) = re.findall(r"`rules/chemistries/`: (.+?)\. ", README)
    files = sorted(path.stem for path in (ROOT / "rules" / "chemistries").glob("*.yaml"))
    assert re.findall(r"`(\w+)`", named) == files


def test_the_caution_of_the_readme_is_the_one_under_every_verdict(
    capsys: pytest.CaptureFixture[str],
) -> None:
    main(["check", PROFILE, "--format", "json"])
    assert json.loads(capsys.readouterr().out)["caution"] == CAUTION


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_every_path_that_a_document_names_is_there(document: str) -> None:
    text = (ROOT / document).read_text(encoding="utf-8")
    named = re.findall(r"`((?:bmslint|rules|tests|profiles)/[\w./-]*)", text)
    linked = re.findall(r"\]\(([^)]+)\)", text)
    absent = {name for name in named + linked if not (ROOT / name).exists()}
    only_in_the_wheel = {"bmslint/rules"} if document == "DEVELOPERS.md" else set()
    assert absent == only_in_the_wheel
    assert named


def test_the_top_level_of_the_repository_is_exact() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "bmslint", "rules", "tests", "profiles",
    }  # fmt: skip


def test_no_file_names_a_place_on_one_machine_or_on_the_net() -> None:
    """The schema language, the standard of findings and the licence name their own; nothing else has one."""
    machine = re.compile(r"(?<![\w.~}-])(?:/(?:root|home|work|tmp|opt|mnt|srv|Users)/|[A-Z]:\\\\?\w)")
    host = re.compile(r"\b(?:https?|ftp|file|git|ssh)://([^/\s\"'`<>)\]]*)")
    found, hosts = [], set()
    for name in tracked():
        text = (ROOT / name).read_text(encoding="utf-8")
        found += [(name, place) for place in machine.findall(text)]
        hosts |= set(host.findall(text))
    assert found == []
    assert hosts == {"docs.oasis-open.org", "json-schema.org", "www.apache.org"}


def test_every_profile_says_that_it_is_invented() -> None:
    profiles = sorted((ROOT / "profiles").rglob("*.yaml"))
    first = {path.stem: path.read_text(encoding="utf-8").splitlines()[0] for path in profiles}
    fails = "# Invented scenario, and it fails on purpose. What it teaches: "
    assert {stem for stem, line in first.items() if not line.startswith("# Invented scenario")} == set()
    assert {stem for stem, line in first.items() if line.startswith(fails)} == set(FAILING)


def test_every_good_profile_is_accepted_or_for_review(capsys: pytest.CaptureFixture[str]) -> None:
    good = sorted(str(path) for path in (ROOT / "profiles").glob("*.yaml"))
    files = checked(capsys, *good)
    assert [each["file"] for each in files] == good
    assert {each["verdict"] for each in files} <= {"accepted", "review"}
    assert {each["file"]: each["not_judged"] for each in files if each["not_judged"]} == {}


def test_every_failing_profile_is_rejected_for_exactly_its_reasons(
    capsys: pytest.CaptureFixture[str],
) -> None:
    files = checked(capsys, str(ROOT / "profiles" / "failing"))
    assert {each["verdict"] for each in files} == {"rejected"}
    assert {
        Path(each["file"]).stem: {(finding["rule"], finding["path"]) for finding in each["findings"]}
        for each in files
    } == FAILING


def test_the_configuration_that_is_shown_is_in_force_and_names_every_form(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A repository is laid out as the text names it; the base is left out and hurts two profiles."""
    (shown,) = [block for block in blocks("yml") if block.startswith("# .bmslint.yaml\n")]
    for folder in (".git", "profiles/base", "company"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / ".bmslint.yaml").write_text(shown, encoding="utf-8")
    (tmp_path / "company" / "company-margin-at-release.yaml").write_text(blocks("yaml")[1], encoding="utf-8")
    base = Path(PROFILE).read_text(encoding="utf-8")
    (tmp_path / "profiles" / "base" / "hut.yaml").write_text(base, encoding="utf-8")
    for name in ("one", "two"):
        text = f"extends: base/hut.yaml\ntitle: hut {name}\n"
        (tmp_path / "profiles" / f"{name}.yaml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 1
    told = capsys.readouterr().out
    title = "Charging resumes with less margin than we ask for"
    assert told.count(f"Review: {title}\n") == 3
    at_the_end = told.partition("\nSet in a file that others extend:\n")[2]
    cause = at_the_end.partition(f"Review: {title}\n")[2].partition("\n\n")[0]
    assert "  profiles/base/hut.yaml:" in cause
    assert "\n  Reaches: profiles/one.yaml, profiles/two.yaml\n" in cause
    assert told.endswith("\n2 files: 2 review.\n")
    (run,) = json.loads(Path("bmslint.sarif").read_bytes())["runs"]
    fails = [each["ruleId"] for each in run["results"] if each["level"] != "note"]
    assert fails == ["company-margin-at-release"] * 2
    assert Path("bmslint.xml").read_text(encoding="utf-8").count("<failure ") == 2
    assert main(["check", "--show-configuration"]) == 0
    in_force = capsys.readouterr().out.splitlines()
    origins = [line.split()[-1] for line in in_force if line.startswith(("pa", "ex", "ru", "fa", "wr"))]
    assert origins == [f".bmslint.yaml:{line}:1" for line in range(2, 7)]
    assert set(re.findall(r"^\| `(\w+)` \| [^|]+ \|$", README, re.MULTILINE)) >= set(OUTPUT_FORMATS)
