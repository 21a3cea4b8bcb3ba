"""Small rules and inputs for tests of the mechanism; every value is invented."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bmslint.facts import Facts, Missing, Quantity
from bmslint.judge.finding import Verdict
from bmslint.judge.inputs import Inputs
from bmslint.judge.pack import Pack
from bmslint.judge.rule import Faults, Rule, build_rule
from bmslint.limits import Limits, Source
from bmslint.output.json import JsonWriter
from bmslint.output.writers import Run
from bmslint.settings import Document, read_text
from bmslint.settings.places import Position

DATA: dict[str, Any] = {
    "pack": {"chemistry": "lfp", "series": 8.0},
    "heater": "none",
    "sensors": {"skin": {"place": "heated_face", "accuracy_K": 1.0}, "core": {"place": "between_cells"}},
    "protection": {
        "charge_cold": {"inhibit_below_degC": 0.0, "release_above_degC": 5.0, "sensors": ["skin"]},
        "charge_hot": "none",
    },
    "charge_current": {"steps": [{"from_degC": 0.0, "max_A": 20.0}, {"from_degC": 10.0, "max_A": 60.0}]},
    "charge_paths": [],
}

FACTS = Facts(
    {
        "run": {
            "coldest_degC": Quantity(2.0, -3.0, 4.0, "degC", "default", "low", ("contact_pad_m2K_per_W",)),
            "certain_degC": Quantity(1.0, 1.0, 1.0, "degC", "declared", None),
            "late_min": Missing((), "charging never resumes"),
            "energy_Wh": Missing(("heater.power_W", "site.coldest_degC"), "the heater is not described"),
        },
        "none": {"only": Missing((), "there is no heater")},
    }
)

LIMITS = Limits(
    data={"charge_degC": {"min": 0.0, "max": 55.0}, "charge_max_V": 3.65, "looser": [], "plating": True},
    sources={
        "charge_degC.min": Source("cell maker", "specification", "declared"),
        "charge_degC.max": Source("chemistry table", "table", "read"),
        "charge_max_V": Source("chemistry table", "table", "read"),
    },
    missing={"discharge_max_A": ("pack.cell.limits.discharge_max_A",)},
)


def inputs(data: Mapping[str, Any] | None = None, facts: Facts = FACTS) -> Inputs:
    """Give inputs with some sections of the settings replaced; None takes one out."""
    merged = {**DATA, **(data or {})}
    return Inputs({key: value for key, value in merged.items() if value is not None}, LIMITS, facts)


def document(data: Mapping[str, Any] | None = None) -> Document:
    """Give the same settings as a file, one section a line; the format has no empty list of paths."""
    merged = {"format": 1, **DATA, "pack": {"chemistry": "lfp", "series": 8}, **(data or {})}
    del merged["charge_paths"]
    lines = [f"{key}: {json.dumps(value)}" for key, value in merged.items() if value is not None]
    read = read_text("\n".join(lines), "pack.yaml")
    assert [each.message for each in read.problems] == []
    return read


def pack(*rules: Rule) -> Pack:
    """Give a pack of some rules."""
    return Pack("tried", "0" * 16, rules)


def rule(**parts: Any) -> Rule:
    """Make a review of the given parts; raises if it is at fault."""
    data = {
        "id": "tried",
        "title": "A rule of the tests",
        "severity": "review",
        "require": "true",
        "at": "protection.charge_cold",
        "says": "It fails.",
        "why": "Because.",
        "remedy": "Mend it.",
        **parts,
    }
    faults = Faults()
    made = build_rule(data, "tests", "tests/tried.yaml", {"": Position("tests/tried.yaml", 1, 1)}, faults)
    assert faults.found == []
    return made


def check_json(verdict: Verdict, pack: Pack) -> Any:
    """Give what a check of one file writes as JSON, read again.

    Args:
        verdict: of the file.
        pack: the rules.

    Returns:
        The data; a number that is not finite fails.
    """

    def refused(name: str) -> None:
        raise AssertionError(f"{name} reached a user")

    page = io.StringIO()
    writer = JsonWriter(page, Run(pack, 1, "reject", Path()))
    writer.add(verdict)
    writer.end()
    return json.loads(page.getvalue(), parse_constant=refused)
