"""Odd but legal packs get an answer: numbers or a reason, never NaN, infinity or a crash."""

from math import isfinite
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from packs import PROFILES, changed, derived, numbers, of_profile

from bmslint.facts import FACT_NAMES, Facts, Missing, Quantity


def sound(facts: Facts) -> None:
    """Hold what every derivation owes: each fact there, finite, in its range, or missing with a reason."""
    left = set(facts.later)
    assert {group: set(items) for group, items in facts.groups.items()} == {
        group: set(names)
        for group, names in FACT_NAMES.items()
        if not any(f"{group}.{name}" in left for name in names)
    }
    for items in facts.groups.values():
        for name, item in items.items():
            if isinstance(item, Missing):
                assert item.reason, name
                continue
            for value in (item.low, item.value, item.high):
                assert isinstance(value, str) or isfinite(value), name
            if not isinstance(item.value, str):
                assert item.low <= item.value <= item.high, name


@pytest.mark.parametrize("stem", PROFILES)
def test_every_profile_derives_soundly(stem: str) -> None:
    """With the facts that are otherwise left for later."""
    facts = derived(of_profile(stem))
    sound(facts.with_later(facts.later))


ODD: dict[str, dict[str, Any]] = {
    "heater of 0 W": {"heater.power_W": 0.0, "heater.max_on_min": "none"},
    "one cell": {"pack.series": 1, "pack.layout": {"stacked": 1}},
    "400 cells": {"pack.series": 100, "pack.parallel": 4, "pack.layout": {"stacked": 100, "rows": 4}},
    "400 cells in one row": {"pack.series": 400, "pack.layout": {"stacked": 400}},
    "colder than absolute zero allows any heat": {"site.coldest_degC": -273.15},
    "hot site": {"site.coldest_degC": 90.0},
    "film that cannot reach the cell": {"heater.contact_m2K_per_W": 10.0},
    "enormous power": {"heater.power_W": 1e6, "heater.cutout_degC": "none"},
    "thresholds exchanged": {"heater.on_below_degC": 12.0, "heater.off_above_degC": 8.0},
    "a beta that no part has": {
        "sensors.core.thermistor": {"r25_ohm": 10000.0, "beta_K": 100.0},
        "sensors.core.read_as": {"r25_ohm": 10.0, "beta_K": 10000.0},
    },
    "no lag and no error": {"sensors.core": {"place": "between_cells", "lag_s": 0.0, "accuracy_K": 0.0}},
    "sensor in the air": {"sensors.core": {"place": "ambient"}},
    "cells of a micrometre": {"pack.cell.thickness_mm": 0.001},
}


@pytest.mark.parametrize("name", ODD)
def test_odd_packs_get_an_answer(name: str) -> None:
    sound(derived(changed(of_profile("ridge-hut"), ODD[name])))


def test_a_pack_that_never_warms_says_why() -> None:
    """A heater of 0 W: never released, with the cause in words and no time, not a large one."""
    facts = derived(changed(of_profile("ridge-hut"), {"heater.power_W": 0.0, "heater.max_on_min": "none"}))
    assert facts.find("heated_warmup.releases") == Quantity(
        False,
        False,
        False,
        "",
        "default",
        "low",
        facts.groups["heated_warmup"]["releases"].assumed,  # type: ignore[union-attr]
    )
    assert facts.nominal()["heated_warmup"]["never_releases_because"] == (
        "the heater brings the deciding sensor to -15.0 degC and no further"
    )
    assert facts.find("heated_warmup.time_to_release_min") == Missing(
        (), "charging never resumes in this run"
    )


FACTORS = st.sampled_from([0.0, 1e-3, 0.1, 0.5, 2.0, 10.0, 1e3, -1.0])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(stem=st.sampled_from(PROFILES), data=st.data())
def test_damaged_numbers_derive_soundly(stem: str, data: st.DataObject) -> None:
    """Any number of a profile times any factor, as far as the format allows the result."""
    settings_ = of_profile(stem)
    paths = data.draw(st.lists(st.sampled_from(numbers(settings_)), min_size=1, max_size=3, unique=True))
    changes = {path: value * data.draw(FACTORS) for path, value in paths}
    patched = changed(settings_, changes)
    if patched is not None:
        sound(derived(patched))
