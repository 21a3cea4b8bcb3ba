"""A more conservative setting never adds a finding, but for those that are stated with their reason.

A rule that warns of harm must not speak because a setting became more careful. Some rules guard the other
side, where a protection trips or holds off for nothing: they are the exceptions of a move.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import pytest
from damaging import at
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bmslint.data import rules_dir
from bmslint.judge.finding import SEVERITIES
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import Document, read, read_text
from bmslint.settings.paths import copied, put

FOLDER = rules_dir().parent / "profiles"
FILES = sorted(path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*.yaml"))
Data = dict[str, Any]

TRIPS_FOR_NOTHING = "the other side: it trips in ordinary use"
HOLDS_OFF = "the other side: charging waits longer for warmth, or for ever"
OUT_OF_ORDER = "its partner stays, so the two come out of order"
STRONGER_START = "the reading is warmer by then, so charging begins with the current of a later step"
UNUSUAL = "so careful that it looks like a slip"
LONGER_HEATED = "the heater runs longer until the release"


@dataclass(frozen=True)
class Move:
    """A change of settings to the careful side: `by` runs from 0 to 1; exceptions by rule."""

    change: Callable[[Data, float], None]
    exceptions: Mapping[str, str] = field(default_factory=dict)


def shifted(most: float, *paths: str) -> Callable[[Data, float], None]:
    def change(data: Data, by: float) -> None:
        for path in paths:
            put(data, path, round(at(data, path) + most * by, 4))

    return change


def scaled(least: float, *paths: str) -> Callable[[Data, float], None]:
    def change(data: Data, by: float) -> None:
        for path in paths:
            put(data, path, round(at(data, path) * (1.0 + (least - 1.0) * by), 4))

    return change


def each_scaled(least: float, key: str, *lists: str) -> Callable[[Data, float], None]:
    def change(data: Data, by: float) -> None:
        for path in lists:
            for i in range(len(at(data, path))):
                scaled(least, f"{path}[{i}].{key}")(data, by)

    return change


def with_a_colder_sensor(data: Data, by: float) -> None:
    """One more sensor, between the middle cells, asked wherever the lowest reading decides."""
    data["sensors"]["added"] = {"place": "between_cells", "accuracy_K": 1, "resolution_K": 0.5, "lag_s": 20}
    data["protection"]["charge_cold"]["sensors"].append("added")
    data["charge_current"]["sensors"].append("added")


def better_sensors(data: Data, by: float) -> None:
    for sensor in data["sensors"].values():
        sensor["accuracy_K"] = round(sensor["accuracy_K"] * (1.0 - by), 4)


def less_charging(data: Data, by: float) -> None:
    scaled(0.5, "charger.max_A")(data, by)
    each_scaled(0.5, "max_A", "charge_paths")(data, by)


COLD, HOT = "protection.charge_cold", "protection.charge_hot"
DISCHARGE_HOT = "protection.discharge_hot"
OVER, UNDER = "protection.cell_overvoltage", "protection.cell_undervoltage"
MOVES = {
    "lower over-voltage trip and release": Move(
        shifted(-0.1, f"{OVER}.trip_above_V", f"{OVER}.release_below_V"),
        {
            "overvoltage-of-another-chemistry": UNUSUAL,
            "charger-trips-cell-overvoltage": TRIPS_FOR_NOTHING,
            "full-above-overvoltage": TRIPS_FOR_NOTHING,
            "balancing-starts-above-trip": TRIPS_FOR_NOTHING,
            "pack-overvoltage-never-reached": OUT_OF_ORDER,
        },
    ),
    "higher under-voltage trip and release": Move(
        shifted(0.1, f"{UNDER}.trip_below_V", f"{UNDER}.release_above_V"),
        {
            "undervoltage-of-another-chemistry": UNUSUAL,
            "pack-undervoltage-never-reached": OUT_OF_ORDER,
        },
    ),
    "higher cold inhibit and release": Move(
        shifted(5.0, f"{COLD}.inhibit_below_degC", f"{COLD}.release_above_degC"),
        {
            "heated-pack-never-releases": HOLDS_OFF,
            "brought-in-pack-never-charges": HOLDS_OFF,
            "cold-within-hours": HOLDS_OFF,
            "heating-trips-sensor-difference": LONGER_HEATED,
            "cold-cells-see-more-voltage": STRONGER_START,
        },
    ),
    "longer hold after the release": Move(
        shifted(1800.0, f"{COLD}.hold_s"),
        {"heating-trips-sensor-difference": LONGER_HEATED, "cold-cells-see-more-voltage": STRONGER_START},
    ),
    "lower hot inhibit and release": Move(
        shifted(-5.0, f"{HOT}.inhibit_above_degC", f"{HOT}.release_below_degC"),
        {"charging-stops-in-heat": TRIPS_FOR_NOTHING},
    ),
    "lower hot discharge inhibit and release": Move(
        shifted(-5.0, f"{DISCHARGE_HOT}.inhibit_above_degC", f"{DISCHARGE_HOT}.release_below_degC"),
        {"load-stops-in-heat": TRIPS_FOR_NOTHING, "charge-hot-above-discharge-hot": OUT_OF_ORDER},
    ),
    "lower current at every step": Move(each_scaled(0.5, "max_A", "charge_current.steps"), {}),
    "less current from charger and paths": Move(less_charging, {}),
    "lower charge trips": Move(
        each_scaled(0.5, "trip_above_A", "protection.charge_overcurrent"),
        {"charging-trips-overcurrent": TRIPS_FOR_NOTHING},
    ),
    "lower discharge trips": Move(
        each_scaled(0.5, "trip_above_A", "protection.discharge_overcurrent"),
        {"load-trips-overcurrent": TRIPS_FOR_NOTHING, "surge-trips-overcurrent": TRIPS_FOR_NOTHING},
    ),
    "lower short-circuit threshold": Move(
        scaled(0.5, "protection.short_circuit.trip_above_A"),
        {"short-circuit-not-last": OUT_OF_ORDER, "surge-trips-overcurrent": TRIPS_FOR_NOTHING},
    ),
    "less load": Move(scaled(0.3, "load.continuous_A", "load.surge_A"), {}),
    "a further sensor between the middle cells": Move(
        with_a_colder_sensor, {"heated-pack-never-releases": HOLDS_OFF}
    ),
    "sensors that read better": Move(better_sensors, {}),
}


@cache
def pack() -> Pack:
    return load_pack()


@cache
def file(name: str) -> Document:
    return read(FOLDER / name)


@cache
def before(name: str) -> Judgement:
    return judge_rules(file(name), pack())


def spoken(judgement: Judgement) -> dict[tuple[str, str], int]:
    """Severity by rule and place."""
    return {
        (each.rule.id, each.finding.path): SEVERITIES.index(each.finding.severity)
        for each in judgement.spoken
    }


def added(name: str, move: Move, by: float) -> set[str]:
    """Rules that speak newly or more severely of the careful settings, but for those that another one hid."""
    data = copied(file(name).tree.data)
    try:
        move.change(data, by)
    except KeyError:
        return set()  # the file has not what would be moved
    document = read_text(json.dumps(data), name)
    assert document.problems == ()
    was, outcomes = spoken(before(name)), before(name).outcomes
    hidden = {rule for rule, each in outcomes.items() if each.reason.endswith("speaks of the same cause")}
    return {
        rule
        for (rule, path), rank in spoken(judge_rules(document, pack())).items()
        if rank < was.get((rule, path), len(SEVERITIES)) and rule not in hidden
    }


@pytest.mark.parametrize("name", MOVES)
@settings(max_examples=7, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(FILES), st.floats(0.05, 1.0))
def test_a_careful_setting_adds_no_finding(name: str, file_name: str, by: float) -> None:
    move = MOVES[name]
    assert added(file_name, move, by) - set(move.exceptions) == set()
