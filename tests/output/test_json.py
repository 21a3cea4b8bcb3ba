"""`check --format json` against its published schema (JSON Schema 2020-12, by the jsonschema package)."""

import io
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import bmslint
from bmslint.judge.finding import (
    Accepted,
    Change,
    Finding,
    NotApplicable,
    NotJudged,
    Outcome,
    Place,
    Verdict,
)
from bmslint.judge.pack import Pack
from bmslint.output.json import JsonWriter
from bmslint.output.words import CAUTION
from bmslint.output.writers import Run
from bmslint.settings.places import Problem

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
PACK = Pack("built-in", "0123456789abcdef", (None, None, None, None))  # type: ignore[arg-type]

FINDING = Finding(
    rule="cold",
    title="Released too cold",
    severity="reject",
    confidence="default",
    path="protection.charge_cold.release_above_degC",
    file="b.yaml",
    line=5,
    column=79,
    value=-4.3,
    limit=0.0,
    unit="degC",
    message="The coldest cell is at -4.3 degC.",
    why="Because.",
    remedy="Mend it.",
    related=(Place("heater.faces", "b.yaml", 9, 3),),
    suggest=(Change("protection.charge_cold.release_above_degC", 17.5),),
    assumed=("contact_pad_m2K_per_W",),
)
SOFT = FINDING._replace(rule="soft", title="Soft", severity="review", suggest=(), assumed=(), value="a")
HARD = FINDING._replace(rule="hard", title="Hard", related=(), suggest=(), value=None, limit=None, unit="")
ENTRIES = (
    Accepted(
        "soft",
        "winter lay-up",
        "site engineer",
        "2027-03-31",
        126,
        "holds",
        path="accepted[0]",
        file="b.yaml",
        line=20,
        column=5,
        findings=(SOFT,),
    ),
    Accepted("cold", "seen", "", "2027-02-31", None, "incomplete", "accepted[1]", "b.yaml", 21, 5),
)
DECLARED = (
    NotApplicable("load", "no load", "holds", "not_applicable[0]", "b.yaml", 23, 5, ("load.surge_A",)),
    NotApplicable("", "no load", "incomplete", "not_applicable[1]", "b.yaml", 24, 5),
)
REJECTED = Verdict(
    "b.yaml",
    "rejected",
    (FINDING,),
    (NotJudged("warm", "Too warm", "review", ("site.hottest_degC",)),),
    {
        "cold": Outcome("spoke"),
        "warm": Outcome("not judged"),
        "x": Outcome("passed"),
        "y": Outcome("does not apply", "heater is none"),
    },
    ENTRIES,
    DECLARED,
)
UNUSABLE = Verdict(
    "a.yaml",
    "unusable",
    errors=(Problem("a.yaml", 3, 7, "pack.series", "a whole number", 'the text "eight"', "write 8"),),
)


def check_json(verdicts: Sequence[Verdict], pack: Pack) -> str:
    page = io.StringIO()
    writer = JsonWriter(page, Run(pack, len(verdicts), "reject", Path()))
    for each in verdicts:
        writer.add(each)
    writer.end()
    return page.getvalue()


def test_everything_is_written_in_a_fixed_order() -> None:
    expected = {
        "bmslint": {"version": bmslint.__version__, "format": 1},
        "pack": {"name": "built-in", "digest": "0123456789abcdef", "rules": 4, "own": []},
        "files": [
            {
                "file": "a.yaml",
                "verdict": "unusable",
                "findings": [],
                "held_back": [],
                "not_judged": [],
                "accepted": [],
                "accepted_rejects": 0,
                "not_applicable": [],
                "errors": [
                    {
                        "file": "a.yaml",
                        "line": 3,
                        "column": 7,
                        "path": "pack.series",
                        "expected": "a whole number",
                        "came": 'the text "eight"',
                        "advice": "write 8",
                    }
                ],
                "counts": {"passed": 0, "spoke": 0, "does_not_apply": 0, "not_judged": 0},
            },
            {
                "file": "b.yaml",
                "verdict": "rejected",
                "findings": [
                    {
                        "rule": "cold",
                        "title": "Released too cold",
                        "severity": "reject",
                        "confidence": "default",
                        "path": "protection.charge_cold.release_above_degC",
                        "file": "b.yaml",
                        "line": 5,
                        "column": 79,
                        "value": -4.3,
                        "limit": 0.0,
                        "unit": "degC",
                        "message": "The coldest cell is at -4.3 degC.",
                        "why": "Because.",
                        "remedy": "Mend it.",
                        "unfavourable_only": False,
                        "assumed": ["contact_pad_m2K_per_W"],
                        "related": [{"path": "heater.faces", "file": "b.yaml", "line": 9, "column": 3}],
                        "suggest": [{"set": "protection.charge_cold.release_above_degC", "to": 17.5}],
                    }
                ],
                "held_back": [],
                "not_judged": [
                    {
                        "rule": "warm",
                        "title": "Too warm",
                        "severity": "review",
                        "missing": ["site.hottest_degC"],
                    }
                ],
                "accepted": [
                    {
                        "rule": "soft",
                        "reason": "winter lay-up",
                        "by": "site engineer",
                        "until": "2027-03-31",
                        "days_left": 126,
                        "state": "holds",
                        "path": "accepted[0]",
                        "file": "b.yaml",
                        "line": 20,
                        "column": 5,
                        "findings": [
                            {
                                "rule": "soft",
                                "title": "Soft",
                                "severity": "review",
                                "confidence": "default",
                                "path": "protection.charge_cold.release_above_degC",
                                "file": "b.yaml",
                                "line": 5,
                                "column": 79,
                                "value": "a",
                                "limit": 0.0,
                                "unit": "degC",
                                "message": "The coldest cell is at -4.3 degC.",
                                "why": "Because.",
                                "remedy": "Mend it.",
                                "unfavourable_only": False,
                                "assumed": [],
                                "related": [
                                    {"path": "heater.faces", "file": "b.yaml", "line": 9, "column": 3}
                                ],
                                "suggest": [],
                            }
                        ],
                    },
                    {
                        "rule": "cold",
                        "reason": "seen",
                        "by": None,
                        "until": "2027-02-31",
                        "days_left": None,
                        "state": "incomplete",
                        "path": "accepted[1]",
                        "file": "b.yaml",
                        "line": 21,
                        "column": 5,
                        "findings": [],
                    },
                ],
                "accepted_rejects": 0,
                "not_applicable": [
                    {
                        "rule": "load",
                        "reason": "no load",
                        "state": "holds",
                        "path": "not_applicable[0]",
                        "file": "b.yaml",
                        "line": 23,
                        "column": 5,
                        "missing": ["load.surge_A"],
                    },
                    {
                        "rule": None,
                        "reason": "no load",
                        "state": "incomplete",
                        "path": "not_applicable[1]",
                        "file": "b.yaml",
                        "line": 24,
                        "column": 5,
                        "missing": [],
                    },
                ],
                "errors": [],
                "counts": {"passed": 1, "spoke": 1, "does_not_apply": 1, "not_judged": 1},
            },
        ],
        "baseline": None,
        "caution": CAUTION,
    }
    assert check_json([UNUSABLE, REJECTED], PACK) == json.dumps(expected, indent=2) + "\n"


def test_rejects_that_a_person_took_on_are_counted_beside_the_verdict() -> None:
    taken = Verdict("c.yaml", "accepted", accepted=(ENTRIES[0]._replace(rule="hard", findings=(HARD, HARD)),))
    (told,) = json.loads(check_json([taken], PACK))["files"]
    jsonschema.validate(json.loads(check_json([taken], PACK)), SCHEMA)
    assert (told["verdict"], told["findings"], told["accepted_rejects"]) == ("accepted", [], 2)


def test_the_schema_is_one_and_takes_what_is_written() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(json.loads(check_json([UNUSABLE, REJECTED], PACK)), SCHEMA)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["files", 1, "verdict"], "fine"),
        (["files", 1, "findings", 0, "line"], 0),
        (["files", 1, "findings", 0, "confidence"], "sure"),
        (["files", 1, "findings", 0, "surprise"], 1),
        (["files", 1, "not_judged", 0, "missing"], []),
        (["files", 1, "accepted", 0, "state"], "incomplete"),
        (["files", 1, "accepted", 0, "state"], "fine"),
        (["files", 1, "accepted", 0, "by"], ""),
        (["files", 1, "accepted", 0, "surprise"], 1),
        (["files", 1, "accepted_rejects"], -1),
        (["files", 1, "not_applicable", 0, "missing"], []),
        (["files", 1, "not_applicable", 1, "missing"], ["load"]),
        (["files", 1, "not_applicable", 1, "state"], "not judged"),
        (["files", 0, "errors"], []),
        (["files", 1, "errors"], [{}]),
        (["bmslint", "format"], 2),
        (["caution"], None),
    ],
)
def test_the_schema_refuses_what_is_not_the_form(path: list[Any], value: object) -> None:
    written = json.loads(check_json([UNUSABLE, REJECTED], PACK))
    holder = written
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(written, SCHEMA)


def test_every_key_is_asked_for() -> None:
    """A key that the schema did not require could go without the version changing."""
    optional = [
        name
        for name, part in {"": SCHEMA, **SCHEMA["$defs"], **SCHEMA["properties"]}.items()
        if "properties" in part and set(part["required"]) != set(part["properties"])
    ]
    assert optional == []


def test_a_number_that_is_not_finite_is_never_written() -> None:
    spoilt = REJECTED._replace(findings=(FINDING._replace(value=float("nan")),))
    with pytest.raises(ValueError, match="Out of range float values are not JSON compliant"):
        check_json([spoilt], PACK)
