"""Facts for a person and for a program."""

import json

import bmslint
from bmslint.facts import Facts, Missing, Quantity
from bmslint.output.facts import facts_json, facts_text
from bmslint.output.words import CAUTION

FACTS = Facts(
    {
        "run": {
            "coldest_degC": Quantity(-4.31234, -6.0, -2.5, "degC", "default", "low", ("air_W_per_m2K",)),
            "cells": Quantity(1234567.0, 1234567.0, 1234567.0, "", "declared", None),
            "releases": Quantity(True, True, True, "", "default", None),
            "because": Quantity("", "", "", "", "default", None),
            "late_min": Missing((), "charging never\x1b resumes"),
            "energy_Wh": Missing(("heater.power_W", "site.coldest_degC"), "the heater is not described"),
        },
        "empty": {},
    }
)


def test_json_has_every_quantity_and_why_one_is_missing() -> None:
    assert json.loads(facts_json(FACTS, "p.yaml")) == {
        "bmslint": {"version": bmslint.__version__, "format": 1},
        "file": "p.yaml",
        "facts": {
            "run": {
                "coldest_degC": {
                    "value": -4.31234,
                    "low": -6.0,
                    "high": -2.5,
                    "unit": "degC",
                    "basis": "default",
                    "assumed": ["air_W_per_m2K"],
                },
                "cells": {
                    "value": 1234567.0,
                    "low": 1234567.0,
                    "high": 1234567.0,
                    "unit": "",
                    "basis": "declared",
                    "assumed": [],
                },
                "releases": {
                    "value": True,
                    "low": True,
                    "high": True,
                    "unit": "",
                    "basis": "default",
                    "assumed": [],
                },
                "because": {
                    "value": "",
                    "low": "",
                    "high": "",
                    "unit": "",
                    "basis": "default",
                    "assumed": [],
                },
                "late_min": {"missing": [], "reason": "charging never\x1b resumes"},
                "energy_Wh": {
                    "missing": ["heater.power_W", "site.coldest_degC"],
                    "reason": "the heater is not described",
                },
            },
            "empty": {},
        },
        "caution": CAUTION,
    }


def test_text_has_a_line_for_each_quantity() -> None:
    assert (
        facts_text(FACTS, "p\x1b.yaml", columns=100)
        == """\
Derived from p<U+001B>.yaml
In brackets what each value rests on, weakest first: default, chemistry table, cell maker, declared,
measured.

run
  coldest_degC  -4.312 degC  -6 to -2.5  (default)
  cells         1235000  (declared)
  releases      yes  (default)
  because       -  (default)
  late_min      not derived: charging never<U+001B> resumes
  energy_Wh     not derived: the heater is not described; add heater.power_W, site.coldest_degC

empty

A clean result is not a certification. The cell maker's datasheet, the applicable standards and
local codes, and a qualified person decide. Physical tests on cold or damaged cells can end in fire.
"""
    )
