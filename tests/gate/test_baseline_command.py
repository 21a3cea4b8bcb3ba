"""`bmslint check` with a baseline: taking over, holding back, shrinking, and saying so in every form."""

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
GAUGE = (rules_dir().parent / "profiles" / "snow-gauge.yaml").read_text(encoding="utf-8")
HIGH = GAUGE.replace("cell_overvoltage: {trip_above_V: 3.90,", "cell_overvoltage: {trip_above_V: 4.2,")
HIGHER = HIGH.replace("4.2,", "4.21,")
KNOWN = Path("known.yaml")
TRIP, PACK, SECOND = (
    "overvoltage-trip-above-cell",
    "pack-overvoltage-before-cells-are-watched",
    "second-overvoltage-not-above-first",
)
WRITTEN = """\
# Findings that were there when this repository was taken over. `bmslint check --baseline` holds them back.
# An entry of severity reject holds nothing back until a person writes its reason.
baseline: 1
findings:
  - file: "profiles/a.yaml"
    rule: "overvoltage-trip-above-cell"
    path: "protection.cell_overvoltage.trip_above_V"
    severity: "reject"
    value: 4.2
    limit: 3.95
    reason: ""
  - file: "profiles/a.yaml"
    rule: "pack-overvoltage-before-cells-are-watched"
    path: "protection.pack_overvoltage.trip_above_V"
    severity: "review"
    value: 3.88
    limit: 4.0
  - file: "profiles/a.yaml"
    rule: "second-overvoltage-not-above-first"
    path: "protection.second_overvoltage.trip_above_V"
    severity: "review"
    value: 4.1
    limit: 4.2
"""
REASONED = WRITTEN.replace('reason: ""', 'reason: "in the field until March"')


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / ".git").mkdir()
    Path("profiles").mkdir()
    Path("profiles/a.yaml").write_text(HIGH, encoding="utf-8")
    Path("profiles/b.yaml").write_text(GAUGE, encoding="utf-8")
    return tmp_path


def check(*arguments: str) -> int:
    return main(["check", "profiles", "--today", "2026-07-01", "--workers", "1", *arguments])


def told(text: str) -> dict[str, Any]:
    """The JSON form, held against its schema: of each file verdict, and rules that count and do not."""
    written = json.loads(text)
    jsonschema.validate(written, SCHEMA)
    files = {
        Path(each["file"]).name: (
            each["verdict"],
            [one["rule"] for one in each["findings"]],
            [one["rule"] for one in each["held_back"]],
        )
        for each in written["files"]
    }
    return {**files, "baseline": written["baseline"]}


def size(entries: int, held_back: int, without_reason: int, gone: int) -> dict[str, Any]:
    counts = {"held_back": held_back, "without_reason": without_reason, "gone": gone}
    return {"file": "known.yaml", "entries": entries, **counts}


GOOD = ("accepted", [], [])


def test_a_repository_is_taken_over_and_shows_only_what_is_new(capsys: pytest.CaptureFixture[str]) -> None:
    assert check("--format", "json", "--write-baseline", "known.yaml") == 1
    out, err = capsys.readouterr()
    assert told(out) == {"a.yaml": ("rejected", [TRIP, PACK, SECOND], []), "b.yaml": GOOD, "baseline": None}
    assert err == (
        "bmslint: known.yaml was written and holds 3 findings; 1 of severity reject holds nothing back "
        "until a person writes its `reason`\n"
    )
    assert KNOWN.read_text(encoding="utf-8") == WRITTEN

    assert check("--format", "json", "--baseline", "known.yaml") == 1
    assert told(capsys.readouterr().out) == {
        "a.yaml": ("rejected", [TRIP], [PACK, SECOND]),
        "b.yaml": GOOD,
        "baseline": size(3, 2, 1, 0),
    }

    KNOWN.write_text(REASONED, encoding="utf-8")
    assert check("--format", "json", "--baseline", "known.yaml", "--fail-on", "note") == 0
    assert told(capsys.readouterr().out) == {
        "a.yaml": ("accepted", [], [TRIP, PACK, SECOND]),
        "b.yaml": GOOD,
        "baseline": size(3, 3, 0, 0),
    }

    Path("profiles/a.yaml").write_text(f"# a line\n{HIGHER}", encoding="utf-8")
    Path("profiles/b.yaml").write_text(HIGH, encoding="utf-8")
    assert check("--format", "json", "--baseline", "known.yaml") == 1
    assert told(capsys.readouterr().out) == {
        # Both findings that were there are further off than they were, and one is gone.
        "a.yaml": ("rejected", [TRIP, "overvoltage-of-another-chemistry", SECOND], []),
        "b.yaml": ("rejected", [TRIP, PACK, SECOND], []),
        "baseline": size(3, 0, 0, 1),
    }


def test_a_reason_may_be_given_with_the_taking_over(capsys: pytest.CaptureFixture[str]) -> None:
    assert check("--write-baseline", "known.yaml", "--baseline-reason", "in the field until March") == 1
    assert capsys.readouterr().err == "bmslint: known.yaml was written and holds 3 findings\n"
    assert KNOWN.read_text(encoding="utf-8") == REASONED
    assert check("--baseline", "known.yaml") == 0


def test_a_configured_baseline_is_in_force_and_begins_by_being_written(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path(".bmslint.yaml").write_text("baseline: known.yaml\n", encoding="utf-8")
    assert check("--format", "json") == 2
    assert capsys.readouterr() == (
        "",
        "bmslint: the baseline cannot be used, so nothing was judged\n"
        "known.yaml:1:1: expected a baseline, came no such file; check the path\n",
    )
    assert check("--write-baseline", "known.yaml") == 1
    KNOWN.write_text(REASONED, encoding="utf-8")
    capsys.readouterr()
    assert check("--format", "json") == 0
    assert told(capsys.readouterr().out)["baseline"] == size(3, 3, 0, 0)


def test_it_shrinks_when_asked_and_never_grows(capsys: pytest.CaptureFixture[str]) -> None:
    KNOWN.write_text(REASONED, encoding="utf-8")
    mended = HIGH.replace(
        "second_overvoltage: {trip_above_V: 4.10", "second_overvoltage: {trip_above_V: 4.25"
    )
    Path("profiles/a.yaml").write_text(mended, encoding="utf-8")
    Path("profiles/b.yaml").write_text(HIGH, encoding="utf-8")
    assert check("--format", "json", "--baseline", "known.yaml") == 1
    assert told(capsys.readouterr().out)["baseline"] == size(3, 2, 0, 1)
    assert KNOWN.read_text(encoding="utf-8") == REASONED  # nothing is written without being asked for
    command = ("--format", "json", "--baseline", "known.yaml", "--write-baseline", "known.yaml")
    assert check(*command) == 1
    err = capsys.readouterr().err
    assert err == "bmslint: known.yaml was written without 1 entry that is no longer needed\n"
    second = REASONED.index('  - file: "profiles/a.yaml"\n    rule: "second-')
    assert KNOWN.read_text(encoding="utf-8") == REASONED[:second]
    check(*command)
    assert told(capsys.readouterr().out)["baseline"] == size(2, 2, 0, 0)


def test_every_form_says_what_is_held_back(capsys: pytest.CaptureFixture[str]) -> None:
    KNOWN.write_text(REASONED.replace("  - file", '  - file: "gone.yaml"\n    rule: "x"\n    path: "y"\n'
        '    severity: "reject"\n    reason: ""\n  - file', 1), encoding="utf-8")  # fmt: skip
    files = [part for form in ("sarif", "junit", "markdown") for part in ("--write", f"{form}=out.{form}")]
    assert check("--baseline", "known.yaml", *files) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.startswith(
        "profiles/a.yaml\n"
        "ACCEPTED: nothing new is found, and what was there is held back by the baseline\n"
        "(3 held back by the baseline)\n"
    )
    paragraph = (
        "known.yaml holds 4 entries; 3 findings are held back by it in this run, which is not to say that "
        "they are good; 1 entry of severity reject holds nothing back, for want of a reason that a person "
        "wrote; 1 entry is no longer needed: --write-baseline known.yaml drops what is gone."
    )
    assert " ".join(out.split()).endswith(f"Baseline: {paragraph}")
    assert f"\nBaseline: {paragraph}\n" in Path("out.markdown").read_text(encoding="utf-8")

    sarif = json.loads(Path("out.sarif").read_text(encoding="utf-8"))["runs"][0]
    justified = "held back by the baseline known.yaml, as it was there when the repository was taken over"
    suppressed = [{"kind": "external", "status": "accepted", "justification": justified}]
    assert [(each["ruleId"], each["suppressions"]) for each in sarif["results"]] == [
        (TRIP, suppressed),
        (PACK, suppressed),
        (SECOND, suppressed),
    ]
    assert sarif["properties"]["baseline"] == size(4, 3, 1, 1)

    suite, _, about = ElementTree.parse("out.junit").getroot()
    assert (about.get("name"), [each.get("value") for each in about.iter("property")]) == (
        "baseline",
        [paragraph],
    )
    assert (suite.get("name"), suite.get("failures")) == ("profiles/a.yaml", "0")
    held = [each for each in suite.iter("property") if each.get("name") == "held back by the baseline"]
    assert [each.get("value") for each in held] == ["3"]
    printed = [each.text.splitlines()[0] for each in suite.iter("system-out") if each.text]
    assert printed == [f"{each}, held back by the baseline" for each in ("reject", "review", "review")]


def test_what_is_not_judged_is_never_held_back(capsys: pytest.CaptureFixture[str]) -> None:
    KNOWN.write_text(REASONED, encoding="utf-8")
    less = "\n".join(line for line in HIGH.splitlines() if not line.startswith("site:"))
    Path("profiles/a.yaml").write_text(less, encoding="utf-8")
    assert check("--format", "json", "--baseline", "known.yaml") == 3
    word, new, held = told(capsys.readouterr().out)["a.yaml"]
    assert (word, new, held) == ("not judged", [], [TRIP, PACK, SECOND])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--write-baseline", "known.yaml"),
            "known.yaml is there already; --baseline known.yaml --write-baseline known.yaml drops what is "
            "gone, and without the file a new one is written",
        ),
        (
            ("--baseline", "known.yaml", "--write-baseline", "profiles/b.yaml"),
            "profiles/b.yaml is there already; --baseline profiles/b.yaml --write-baseline profiles/b.yaml "
            "drops what is gone, and without the file a new one is written",
        ),
        (
            ("--baseline", "known.yaml", "--baseline-reason", "x"),
            "--baseline-reason is for --write-baseline FILE where no baseline is in force",
        ),
        (
            ("--write-baseline", "new.yaml", "--baseline-reason", " "),
            "--baseline-reason is for --write-baseline FILE where no baseline is in force",
        ),
        (
            ("--write-baseline", "new.yaml", "--write", "json=new.yaml"),
            "two outputs go to new.yaml; name another file for one of them",
        ),
        (
            ("--baseline", "profiles/a.yaml"),
            "the baseline cannot be used, so nothing was judged\n"
            "profiles/a.yaml:3:1: expected `baseline: 1` and a list `findings`, came a mapping; "
            "is it the right file?",
        ),
    ],
)
def test_what_cannot_be_done_is_told_and_nothing_is_written(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    KNOWN.write_text(REASONED, encoding="utf-8")
    before = {path: path.read_bytes() for path in Path().rglob("*.*") if path.is_file()}
    assert check(*arguments) == 2
    out, err = capsys.readouterr()
    assert (out, err.split(":", 2)[0]) == ("", "bmslint")
    assert err == f"bmslint: {message}\n"
    assert {path: path.read_bytes() for path in Path().rglob("*.*") if path.is_file()} == before


def test_a_baseline_that_cannot_be_written_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert check("--write-baseline", "no/known.yaml") == 2
    assert capsys.readouterr().err == "bmslint: cannot write no/known.yaml: No such file or directory\n"
