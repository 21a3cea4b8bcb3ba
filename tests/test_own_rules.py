"""`--rules` and `--installed-rules` as a person or a program meets them: outputs, exit status, no code."""

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
GOOD = str(rules_dir().parent / "profiles" / "street-light-mast.yaml")
RULE = """\
id: {id}
title: {title}
severity: review
require: {require}
at: protection.charge_cold
says: It fails.
why: Because.
remedy: Mend it.
"""
CHANGES = """\
rules:
  fuse-missing:
    switched_off: true
    reason: |
      the fuse is part
      of the vehicle
  sensor-lags: {parameters: {most_s: 90}, severity: reject, reason: "ours\\e[2J are quick"}
"""
UNUSABLE = "bmslint: the rules cannot be used, so nothing was judged\n"


def written(folder: Path, name: str, require: str = "1.0 < 2.0", title: str = "A rule of our own") -> str:
    folder.mkdir(parents=True, exist_ok=True)
    text = RULE.format(id=name, require=require, title=title)
    (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    return str(folder)


def test_every_run_shows_what_a_folder_changed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    written(tmp_path / "own", "first")
    (tmp_path / "own" / "changes.yaml").write_text(CHANGES, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check", GOOD, "--rules", "own"]) == 0
    text = capsys.readouterr().out
    head = [
        "Rules of one's own: own (1 rule added)",
        "  fuse-missing: switched off, was review (the fuse is part of the vehicle)",
        "  sensor-lags: most_s 90 s, was 120 s (ours<U+001B>[2J are quick)",
        "  sensor-lags: severity reject, was review (ours<U+001B>[2J are quick)",
    ]
    assert text.splitlines()[:6] == [*head, "", GOOD]

    assert main(["check", GOOD, "--rules", "own", "--format", "json"]) == 0
    came = json.loads(capsys.readouterr().out)
    jsonschema.validate(came, SCHEMA)
    (own,) = came["pack"]["own"]
    assert own.pop("digest") != came["pack"]["digest"]
    reason = "ours\x1b[2J are quick"
    assert own == {
        "name": "own",
        "rules": 1,
        "changes": [
            {
                "rule": "fuse-missing", "what": "severity", "was": "review", "now": "switched off",
                "unit": "", "reason": "the fuse is part\nof the vehicle\n",
            },
            {
                "rule": "sensor-lags", "what": "parameters.most_s", "was": 120.0, "now": 90.0,
                "unit": "s", "reason": reason,
            },
            {
                "rule": "sensor-lags", "what": "severity", "was": "review", "now": "reject",
                "unit": "", "reason": reason,
            },
        ],
    }  # fmt: skip
    main(["check", GOOD, "--format", "json"])
    without = json.loads(capsys.readouterr().out)
    assert (without["pack"]["own"], without["pack"]["rules"]) == (
        [],
        came["pack"]["rules"],
    )  # one rule more, one less

    assert main(["rules", "--rules", "own"]) == 0
    listed = capsys.readouterr().out.splitlines()
    assert listed[-4:] == head
    assert [
        line.split() for line in listed if line.split()[0] in ("first", "fuse-missing", "sensor-lags")
    ] == [
        ["first", "review", "A", "rule", "of", "our", "own"],
        ["sensor-lags", "reject", "A", "sensor", "on", "the", "cells", "follows", "too", "slowly"],
    ]
    assert main(["rules", "sensor-lags", "--rules", "own"]) == 0
    shown = capsys.readouterr().out.splitlines()
    assert [line for line in shown if line.startswith(("Requires", "Parameter", "Severity"))] == [
        "Severity: reject",
        "Requires: not_above(item.lag_s, 90.0, 0.0005)",
        "Parameter most_s (90 s, 120 in the rule file): largest time constant of a sensor on a cell",
    ]


@pytest.mark.parametrize("command", [["check", GOOD], ["check", GOOD, "--format", "json"], ["rules"]])
def test_a_folder_that_cannot_be_used_stops_the_run_before_anything_is_judged(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, command: list[str]
) -> None:
    good, bad = written(tmp_path / "good", "fine"), written(tmp_path / "bad", "tried", "facts.none.x > 1.0")
    assert main([*command, "--rules", good, "--rules", bad]) == 2
    assert capsys.readouterr() == (
        "",
        f"{UNUSABLE}{bad}/tried.yaml:4:10: require: there is no group of facts none\n",
    )


@pytest.mark.parametrize(
    ("require", "what"),
    [
        ("pack.chemistry + 1.0 > 2.0", "No matching overloads found : _+_(string, double)"),
        (
            "pack.series in [1.0] || "
            + "".join(f"sensors.all(v{i}, protection.all(w{i}, " for i in range(9))
            + "v0 != w0"
            + "))" * 9,
            "Iteration budget exceeded",
        ),
        ("pack.series", "gives 4.0, not true or false"),
        ("pack.series / 0.0 < 0.0 || pack", "No matching overloads found : _||_"),
    ],
)
def test_a_rule_that_fails_while_it_judges_stops_the_run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, require: str, what: str
) -> None:
    own = written(tmp_path / "own", "tried", require)
    assert main(["check", GOOD, "--rules", own, "--format", "json"]) == 2
    assert capsys.readouterr() == ("", f"{UNUSABLE}{own}/tried.yaml:4:10: rule tried, require: {what}\n")


def test_texts_of_a_folder_cannot_move_a_reader_s_cursor(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    own = written(tmp_path / "ow\x1b[31mn", "tried", "2.0 < 1.0", '"a\\e[2J\\u202eb"')
    for command in (["check", GOOD], ["rules"], ["rules", "tried"]):
        main([*command, "--rules", own])
        text = capsys.readouterr().out
        assert [char for char in text if not char.isprintable() and char != "\n"] == []
        assert "a<U+001B>[2J<U+202E>b" in text
    written(Path(own), "bad", "facts.\x1b[2J")
    assert main(["check", GOOD, "--rules", own]) == 2
    assert "\x1b" not in capsys.readouterr().err


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place that packages are installed to; a package in it whose code must not run."""
    package = tmp_path / "site" / "invented_rules"
    written(package / "winter", "tried", "2.0 < 1.0")
    (package / "__init__.py").write_text("raise SystemExit('this code ran')\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path / "site"))
    return tmp_path / "site"


def offer(site: Path, value: str) -> None:
    info = site / "invented-1.0.dist-info"
    info.mkdir(exist_ok=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: invented\nVersion: 1.0\n", encoding="utf-8")
    (info / "entry_points.txt").write_text(f"[bmslint.rules]\nwinter = {value}\n", encoding="utf-8")


@pytest.mark.parametrize("value", ["invented_rules", "invented_rules.winter"])
def test_what_an_installed_package_offers_is_judged_when_asked_for_and_runs_nothing(
    capsys: pytest.CaptureFixture[str], installed: Path, value: str
) -> None:
    offer(installed, value)
    main(["check", GOOD, "--format", "json"])
    before = json.loads(capsys.readouterr().out)
    assert main(["check", GOOD, "--format", "json", "--installed-rules"]) == 0
    after = json.loads(capsys.readouterr().out)
    assert [(each["name"], each["rules"], each["changes"]) for each in after["pack"]["own"]] == [
        ("installed winter", 1, [])
    ]
    assert before["pack"]["own"] == []
    assert [each["rule"] for each in after["files"][0]["findings"]] == [
        "tried",
        *(each["rule"] for each in before["files"][0]["findings"]),
    ]


@pytest.mark.parametrize(
    "value", ["invented_rules:folder", "invented_rules.summer", "absent", "os", "invented_rules/..", "..up"]
)
def test_an_entry_point_that_leads_to_no_folder_stops_the_run(
    capsys: pytest.CaptureFixture[str], installed: Path, value: str
) -> None:
    offer(installed, value)
    assert main(["check", GOOD, "--installed-rules"]) == 2
    assert capsys.readouterr() == (
        "",
        f"{UNUSABLE}installed winter:1:1: no folder {value!r}; "
        "the entry point names a package, with dots, without a colon\n",
    )


def test_a_run_without_folders_of_one_s_own_does_not_pay_for_them() -> None:
    code = (
        "import sys; from bmslint.cli import main; main(['check', sys.argv[1], '--format', 'json']);"
        "paid = ('bmslint.judge.own.', 'importlib.metadata');"
        "print([name for name in sys.modules if name.startswith(paid)], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code, GOOD], capture_output=True, text=True, check=True)
    assert done.stderr == "[]\n"
