"""SARIF against the standard's schema, the multitool of its makers, and what the same run says as JSON."""

import io
import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import jsonschema
import outside_sarif
import pytest
from test_json import ENTRIES, FINDING, HARD, SOFT

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.judge.finding import NotJudged, Verdict
from bmslint.judge.pack import Pack
from bmslint.judge.rule import Faults, Rule, build_rule
from bmslint.output.sarif import SarifWriter
from bmslint.output.words import CAUTION
from bmslint.output.writers import Run
from bmslint.settings.places import Problem

GOOD = rules_dir().parent / "profiles" / "ridge-hut.yaml"


def rule(name: str, severity: str, **more: Any) -> Rule:
    data = {"id": name, "title": name.title(), "severity": severity, "require": "true", "at": "heater"}
    data |= {"says": "x", "why": "Because.\n", "remedy": "Mend\nit."}
    return build_rule(data | more, "thermal", f"{name}.yaml", {}, Faults())


SOURCES = [{"title": "A book", "clause": "3", "how": "read"}, {"title": "Habit", "how": "common practice"}]
PACK = Pack(
    "built-in",
    "0123456789abcdef",
    (rule("cold", "reject", sources=SOURCES), rule("hard", "reject"), rule("soft", "review")),
)


def sarif(*verdicts: Verdict, root: Path | None = None) -> dict[str, Any]:
    page = io.StringIO()
    writer = SarifWriter(page, Run(PACK, len(verdicts), "reject", root or Path.cwd()))
    for each in verdicts:
        writer.add(each)
    writer.end()
    written: dict[str, Any] = json.loads(page.getvalue())
    assert page.getvalue() == json.dumps(written, indent=2) + "\n"
    return written


def place(uri: str, line: int, column: int, path: str = "") -> dict[str, Any]:
    physical = {
        "artifactLocation": {"uri": uri, "uriBaseId": "%SRCROOT%"},
        "region": {"startLine": line, "startColumn": column},
    }
    logical = {"logicalLocations": [{"fullyQualifiedName": path}]} if path else {}
    return {"physicalLocation": physical, **logical}


def described(name: str, title: str, level: str, severity: str, sources: str = "") -> dict[str, Any]:
    return {
        "id": name,
        "shortDescription": {"text": title},
        "fullDescription": {"text": "Because."},
        "help": {"text": "Why: Because.\nTo do: Mend it." + sources},
        "defaultConfiguration": {"level": level},
        "properties": {"family": "thermal", "severity": severity},
    }


def test_a_whole_run() -> None:
    in_base = FINDING._replace(file="base/a.yaml")
    verdict = Verdict(
        "b.yaml",
        "rejected",
        (in_base,),
        (NotJudged("hard", "Hard", "reject", ("load", "site")),),
        accepted=ENTRIES,
    )
    broken = Verdict("c.yaml", "unusable", errors=(Problem("c.yaml", 3, 7, "pack", "a mapping", "8", ""),))
    (run,) = sarif(verdict, broken)["runs"]
    fingerprints = [result.pop("partialFingerprints") for result in run["results"]]
    assert [sorted(each) for each in fingerprints] == [["cause/v1", "causeInProfile/v1"]] * 2
    common = {"profile": "b.yaml", "confidence": "default properties with a range"}
    assert run == {
        "results": [
            {
                "ruleId": "cold",
                "ruleIndex": 0,
                "level": "error",
                "message": {"text": "The coldest cell is at -4.3 degC. This hurts b.yaml."},
                "locations": [place("base/a.yaml", 5, 79, FINDING.path)],
                "properties": {
                    **common,
                    "value": -4.3,
                    "limit": 0.0,
                    "unit": "degC",
                    "unfavourable_only": False,
                    "suggest": [{"set": FINDING.path, "to": 17.5}],
                },
                "relatedLocations": [
                    {"id": 0, "message": {"text": "heater.faces"}, **place("b.yaml", 9, 3, "heater.faces")}
                ],
            },
            {
                "ruleId": "soft",
                "ruleIndex": 1,
                "level": "warning",
                "message": {"text": "The coldest cell is at -4.3 degC."},
                "locations": [place("b.yaml", 5, 79, FINDING.path)],
                "properties": {
                    **common,
                    "value": "a",
                    "limit": 0.0,
                    "unit": "degC",
                    "unfavourable_only": False,
                    "suggest": [],
                },
                "relatedLocations": [
                    {"id": 0, "message": {"text": "heater.faces"}, **place("b.yaml", 9, 3, "heater.faces")}
                ],
                "suppressions": [
                    {
                        "kind": "inSource",
                        "status": "accepted",
                        "justification": "winter lay-up (by site engineer, until 2027-03-31)",
                        "location": place("b.yaml", 20, 5, "accepted[0]"),
                    }
                ],
            },
        ],
        "tool": {
            "driver": {
                "name": "bmslint",
                "fullName": f"bmslint {bmslint.__version__}",
                "version": bmslint.__version__,
                "semanticVersion": bmslint.__version__,
                "rules": [
                    described(
                        "cold",
                        "Cold.",
                        "error",
                        "reject",
                        "\nSources: A book, 3 (read); Habit (common practice)",
                    ),
                    described("soft", "Soft.", "warning", "review"),
                ],
                "notifications": run["tool"]["driver"]["notifications"],
            }
        },
        "invocations": [
            {
                "executionSuccessful": False,
                "toolExecutionNotifications": [
                    {
                        "descriptor": {"id": "not-judged", "index": 1},
                        "level": "warning",
                        "message": {
                            "text": "Not judged, which is not passed: hard (reject) lacks load, site"
                        },
                        "locations": [place("b.yaml", 1, 1)],
                        "properties": {
                            "not_judged": [
                                {"rule": "hard", "severity": "reject", "missing": ["load", "site"]}
                            ]
                        },
                    },
                    {
                        "descriptor": {"id": "unusable-file", "index": 0},
                        "level": "error",
                        "message": {"text": "pack: expected a mapping, came 8"},
                        "locations": [place("c.yaml", 3, 7)],
                    },
                ],
            }
        ],
        "automationDetails": {"id": "bmslint/"},
        "originalUriBaseIds": {"%SRCROOT%": {"description": {"text": "The root of the repository."}}},
        "columnKind": "unicodeCodePoints",
        "properties": {
            "caution": CAUTION,
            "rules": {"name": "built-in", "digest": "0123456789abcdef", "rules": 3, "own": []},
            "verdicts": {"rejected": 1, "unusable": 1},
        },
    }
    notices = [(each["id"], each["name"]) for each in run["tool"]["driver"]["notifications"]]
    assert notices == [("unusable-file", "UnusableFile"), ("not-judged", "NotJudged")]


def test_a_run_that_found_nothing_is_whole() -> None:
    (run,) = sarif(Verdict("a.yaml", "accepted"))["runs"]
    assert run["results"] == []
    assert run["invocations"] == [{"executionSuccessful": True, "toolExecutionNotifications": []}]
    assert run["tool"]["driver"]["rules"] == []


def test_many_notifications_are_written_as_few_are() -> None:
    """What does not fit into memory waits on the disk; 2,000 files with all they lack are more than that."""
    lacking = (NotJudged("soft", "Soft", "review", ("site.coldest_degC", "load.surge_A")),)
    (run,) = sarif(*(Verdict(f"{i:05}.yaml", "accepted", (), lacking) for i in range(2000)))["runs"]
    (invocation,) = run["invocations"]
    notices = invocation["toolExecutionNotifications"]
    uris = [each["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for each in notices]
    assert uris == [f"{i:05}.yaml" for i in range(2000)]


@pytest.mark.parametrize(
    ("name", "uri"),
    [
        ("a b.yaml", "a%20b.yaml"),
        ("50%#?.yaml", "50%25%23%3F.yaml"),
        ("h\u00fctte/\u65e5.yaml", "h%C3%BCtte/%E6%97%A5.yaml"),
        ("a:b.yaml", "a%3Ab.yaml"),
        ("\udcff.yaml", "%FF.yaml"),
        ("x/../a.yaml", "a.yaml"),
    ],
)
def test_places_are_relative_to_the_root(tmp_path: Path, name: str, uri: str) -> None:
    spoilt = FINDING._replace(file=f"{tmp_path}/{name}")
    (run,) = sarif(Verdict("a", "rejected", (spoilt,)), root=tmp_path)["runs"]
    where = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    assert where == {"uri": uri, "uriBaseId": "%SRCROOT%"}


def test_a_file_outside_of_the_root_is_named_whole(tmp_path: Path) -> None:
    spoilt = FINDING._replace(file=f"{tmp_path}/out side.yaml")
    (run,) = sarif(Verdict("a", "rejected", (spoilt,)), root=tmp_path / "in")["runs"]
    where = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    parts = urlsplit(where["uri"])
    assert (list(where), parts.scheme, unquote(parts.path)) == (["uri"], "file", f"{tmp_path}/out side.yaml")


def fingerprints(capsys: pytest.CaptureFixture[str], folder: Path) -> list[tuple[str, str, str]]:
    main(["check", str(folder), "--format", "sarif"])
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    return sorted((each["ruleId"], *each["partialFingerprints"].values()) for each in run["results"])


def test_fingerprints_stay_when_lines_move_and_entries_come_before(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = (rules_dir().parent / "profiles/failing/braking-ignores-cold.yaml").read_text(encoding="utf-8")
    file = tmp_path / "p.yaml"
    file.write_text(text, encoding="utf-8")
    before = fingerprints(capsys, tmp_path)
    assert len({cause for _, cause, _ in before}) == len(before) > 1
    moved = text.replace(
        "charge_paths:\n", "charge_paths:\n  - {name: bench charger, max_A: 1, obeys: [charge_cold]}\n"
    )
    assert moved != text
    file.write_text("# one more line\n\n" + moved, encoding="utf-8")
    assert set(fingerprints(capsys, tmp_path)) >= set(before)
    file.rename(tmp_path / "q.yaml")
    after = fingerprints(capsys, tmp_path)
    assert {each[1:] for each in after}.isdisjoint({each[1:] for each in before})


def test_profiles_that_one_base_hurts_share_the_cause(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / ".git").mkdir()
    base = tmp_path / "base.yaml"
    base.write_text("format: 1\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n")
    for name in "ab":
        (tmp_path / f"{name}.yaml").write_text("extends: base.yaml\ntitle: t\n")
    main(["check", str(tmp_path), "--format", "sarif"])
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    prints = [
        (each["properties"]["profile"], *each["partialFingerprints"].values())
        for each in run["results"]
        if each["ruleId"] == "cold-inhibit-missing"
    ]
    assert [name for name, _, _ in prints] == [str(tmp_path / f"{name}.yaml") for name in ("a", "b", "base")]
    assert (len({cause for _, cause, _ in prints}), len({each for _, _, each in prints})) == (1, 3)


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return outside_sarif.installed(tmp_path_factory.mktemp("npm"))


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Profiles that fail, and what else a run can meet: a base, an entry, a broken file, an odd name."""
    folder = tmp_path_factory.mktemp("real")
    (folder / ".git").mkdir()
    (folder / "profiles").symlink_to(rules_dir().parent / "profiles" / "failing")
    (folder / "base.yaml").write_text(
        "format: 1\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n"
    )
    (folder / "odd name \u00fc#%.yaml").write_text('extends: base.yaml\ntitle: "\\u001b[2J \u202e {0}"\n')
    text = GOOD.read_text(encoding="utf-8").replace("\n  capacity_Ah: 230\n", "\n  capacity_Ah: 300\n")
    entry = "{rule: capacity-does-not-multiply, reason: a label, by: me, until: 2027-03-31}"
    (folder / "taken.yaml").write_text(f"{text}accepted: [{entry}]\n", encoding="utf-8")
    (folder / "broken.yaml").write_text("format: 1\npack: {chemistry: lfp, series: eight}\n")
    return folder


@pytest.fixture(scope="module")
def both(real: Path) -> tuple[dict[str, Any], dict[str, Any], Path]:
    """The same run as SARIF and as JSON, and the file of the first."""
    file = real / "run.sarif"
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(real)
        command = ["check", ".", "--today", "2026-07-01", "--format", "json"]
        outputs = [f"--write=json={real / 'run.json'}", f"--write=sarif={file}"]
        assert main([*command, *outputs]) == 2
    return json.loads(file.read_bytes()), json.loads((real / "run.json").read_bytes()), file


def test_the_schema_of_the_standard_takes_a_real_run(
    packages: Path, both: tuple[dict[str, Any], dict[str, Any], Path]
) -> None:
    """The schema is that of the standard's makers in its last form before the errata, draft 4."""
    schema = outside_sarif.schema(packages)
    jsonschema.Draft4Validator.check_schema(schema)
    jsonschema.Draft4Validator(schema).validate(both[0])
    spoilt = json.loads(json.dumps(both[0]))
    spoilt["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"]["startLine"] = 0
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft4Validator(schema).validate(spoilt)


@pytest.mark.skipif(not outside_sarif.RUNS_HERE, reason="the multitool is not published for this machine")
def test_the_multitool_finds_no_error_in_a_real_run(
    packages: Path, both: tuple[dict[str, Any], dict[str, Any], Path]
) -> None:
    said = outside_sarif.said(packages, both[2])
    assert [each for each in said if each[1] == "error"] == []
    assert {rule for rule, _, _ in said} == set(outside_sarif.LET_BE)


def test_nothing_that_json_says_is_lost(both: tuple[dict[str, Any], dict[str, Any], Path]) -> None:
    """Every finding, what was taken on, lacked or was unusable, told twice and the same."""
    levels = {"reject": "error", "review": "warning", "note": "note"}
    (run,) = both[0]["runs"]

    def result(file: str, finding: dict[str, Any], taken: bool) -> tuple[Any, ...]:
        hurts = "" if finding["file"] == file else f" This hurts {file}."
        return (
            file, finding["rule"], levels[finding["severity"]], finding["message"] + hurts, finding["file"],
            finding["line"], finding["column"], finding["path"], finding["value"], finding["limit"],
            len(finding["related"]), taken,
        )  # fmt: skip

    def told(each: dict[str, Any]) -> tuple[Any, ...]:
        (location,) = each["locations"]
        region = location["physicalLocation"]["region"]
        kept = each["properties"]
        return (
            kept["profile"], each["ruleId"], each["level"], each["message"]["text"],
            unquote(location["physicalLocation"]["artifactLocation"]["uri"]), region["startLine"],
            region["startColumn"], location["logicalLocations"][0]["fullyQualifiedName"], kept["value"],
            kept["limit"], len(each.get("relatedLocations", [])), "suppressions" in each,
        )  # fmt: skip

    expected = []
    for file in both[1]["files"]:
        expected += [result(file["file"], finding, False) for finding in file["findings"]]
        expected += [
            result(file["file"], finding, True) for entry in file["accepted"] for finding in entry["findings"]
        ]
    assert [told(each) for each in run["results"]] == expected
    assert {each[-1] for each in expected} == {False, True}
    for each in run["results"]:
        assert run["tool"]["driver"]["rules"][each["ruleIndex"]]["id"] == each["ruleId"]

    (invocation,) = run["invocations"]
    notices = invocation["toolExecutionNotifications"]
    lacking = [
        [{name: one[name] for name in ("rule", "severity", "missing")} for one in file["not_judged"]]
        for file in both[1]["files"]
        if file["not_judged"]
    ]
    assert [each["properties"]["not_judged"] for each in notices if "properties" in each] == lacking
    errors = [
        f"{one['path']}: expected {one['expected']}, came {one['came']}"
        + (f"; {one['advice']}" if one["advice"] else "")
        for file in both[1]["files"]
        for one in file["errors"]
    ]
    assert [each["message"]["text"] for each in notices if each["level"] == "error"] == errors
    assert len(errors) == 1
    assert invocation["executionSuccessful"] is False


def test_hidden_signs_are_shown_and_not_obeyed() -> None:
    spoilt = HARD._replace(message="a\x1b[2J\u202e\x00", path="p\x07")
    (run,) = sarif(Verdict("b.yaml", "rejected", (spoilt,)), Verdict("c", "review", (SOFT,)))["runs"]
    assert run["results"][0]["message"]["text"] == "a<U+001B>[2J<U+202E><U+0000>"
    assert run["results"][0]["locations"][0]["logicalLocations"] == [{"fullyQualifiedName": "p<U+0007>"}]
