"""The JSON Schema, against the metaschema of JSON Schema 2020-12 and against what the reader takes."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from outside_loader import load

from bmslint.settings import read
from bmslint.settings.schema import json_schema

ROOT = Path(__file__).parents[2]
FILES = sorted([Path(__file__).with_name("complete.yaml"), *ROOT.glob("profiles/**/*.y*ml")])
GOOD = {"format": 1, "pack": {"chemistry": "lfp", "series": 8}}


def faults(data: Any) -> list[tuple[str, str]]:
    found = Draft202012Validator(json_schema()).iter_errors(data)
    return sorted((error.json_path, str(error.validator)) for error in found)


def test_agrees_with_the_metaschema() -> None:
    Draft202012Validator.check_schema(json_schema())
    head = {key: json_schema()[key] for key in ("$schema", "$id", "title")}
    assert head == {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:bmslint:settings:1",
        "title": "Settings of a battery management system, bmslint format 1",
    }


def test_is_the_same_every_time() -> None:
    assert json.dumps(json_schema()) == json.dumps(json_schema())


def test_knows_no_default_and_no_null() -> None:
    text = json.dumps(json_schema())
    assert '"default"' not in text
    assert '"null"' not in text


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_takes_every_settings_file(path: Path) -> None:
    assert faults(load(path)) == []
    assert read(path).problems == ()


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, []),
        ({"heater": "none"}, []),
        ({"heater": "nil"}, [("$.heater", "anyOf")]),
        ({"heater": None}, [("$.heater", "anyOf")]),
        ({"heather": {}}, [("$", "additionalProperties")]),
        ({"site": {"coldest_degC": -300}}, [("$.site.coldest_degC", "minimum")]),
        ({"site": {"coldest_degC": "-3"}}, [("$.site.coldest_degC", "type")]),
        ({"balancing": {"while": ["charge"]}}, []),
        ({"format": 2}, [("$.format", "maximum")]),
        ({"pack": {"chemistry": "lfp"}}, [("$.pack", "required")]),
        ({"pack": {}, "extends": "base.yaml"}, []),
        ({"sensors": {"front left": {}}}, [("$.sensors", "additionalProperties")]),
    ],
)
def test_takes_and_refuses_what_the_reader_does(
    change: dict[str, Any], expected: list[tuple[str, str]]
) -> None:
    assert faults({**GOOD, **change}) == expected
