"""Thresholds behind a sensor, steps against the cell, and charge passed, each by an independent way."""

import math

import numpy as np
import pytest
from packs import changed, derived, of_profile
from scipy.optimize import brentq

from bmslint.facts import Quantity
from bmslint.facts.inputs import Inputs
from bmslint.facts.loop import until_release
from bmslint.facts.pack import NOMINAL
from bmslint.facts.runs import Runs
from bmslint.facts.scene import heated_scene
from bmslint.limits import load_limits

WRONG = {
    "sensors.core.thermistor": {"r25_ohm": 10000.0, "beta_K": 3435.0},
    "sensors.core.read_as": {"r25_ohm": 10000.0, "beta_K": 3950.0},
}


def true_by_roots(reading_degC: float) -> float:
    """The temperature at which both curves of IEC 60539-1's beta equation give one resistance (brentq)."""

    def difference(true_degC: float) -> float:
        fitted = 3435.0 * (1 / (true_degC + 273.15) - 1 / 298.15)
        assumed = 3950.0 * (1 / (reading_degC + 273.15) - 1 / 298.15)
        return fitted - assumed

    return float(brentq(difference, -80.0, 150.0, xtol=1e-10))


@pytest.mark.parametrize(
    ("reading_degC", "true_degC"),
    # Readings of a 3435 K part taken for 3950 K at 0, -20 and 45 degC, recomputed in tests/physics.
    [(3.02, 0.0), (-14.92, -20.0), (42.24, 45.0)],
)
def test_the_true_temperature_behind_a_threshold(reading_degC: float, true_degC: float) -> None:
    """Printed to a hundredth of a kelvin, so it is held to that; the roots to a millionth."""
    patched = changed(
        of_profile("street-light-mast"), {**WRONG, "protection.charge_cold": cold(reading_degC)}
    )
    fact = derived(patched).find("sensing.charge_cold_inhibit_true_degC")
    assert isinstance(fact, Quantity)
    assert fact.value == pytest.approx(true_degC, abs=0.01)
    assert fact.value == pytest.approx(true_by_roots(reading_degC), abs=1e-6)
    # One kelvin of accuracy and one of resolution, each way.
    assert fact.low == pytest.approx(true_by_roots(reading_degC - 2.0), abs=1e-6)
    assert fact.high == pytest.approx(true_by_roots(reading_degC + 2.0), abs=1e-6)


def cold(inhibit_degC: float) -> dict[str, object]:
    return {"inhibit_below_degC": inhibit_degC, "release_above_degC": inhibit_degC + 3, "sensors": ["core"]}


def test_a_sensor_read_right_has_only_its_error() -> None:
    """The limit case: one curve for both, so the true temperature is the setting."""
    fact = derived(of_profile("street-light-mast")).find("sensing.charge_cold_inhibit_true_degC")
    assert isinstance(fact, Quantity)
    assert (fact.value, fact.low, fact.high) == (3.0, 1.0, 5.0)


@pytest.mark.parametrize(
    ("steps", "excess", "at"),
    [
        # The mast's cells bear 4 A from 0, 12 A from 10, 8 A from 45 degC; the charger gives 6 A.
        ([{"from_degC": 3.0, "max_A": 3.5}], 0.0, 3.0),
        ([{"from_degC": 3.0, "max_A": 6.0}], 2.0, 3.0),
        ([{"from_degC": 3.0, "max_A": 9.0}], 2.0, 3.0),
        ([{"from_degC": 3.0, "max_A": 5.0}, {"from_degC": 8.0, "max_A": 5.5}], 1.5, 8.0),
    ],
    ids=["below", "at the charger's most", "the charger limits", "second step"],
)
def test_steps_against_the_cell_by_hand(steps: list[dict[str, float]], excess: float, at: float) -> None:
    facts = derived(changed(of_profile("street-light-mast"), {"charge_current.steps": steps}))
    found = facts.groups["charge_steps"]
    assert isinstance(found["excess_A"], Quantity)
    assert isinstance(found["excess_at_degC"], Quantity)
    assert (found["excess_A"].value, found["excess_at_degC"].value) == (pytest.approx(excess), at)


EARLY = {
    "heater.power_W": 100.0,
    "heater.sensors": ["skin"],
    "heater.on_below_degC": 60.0,
    "heater.off_above_degC": 80.0,
    "heater.cutout_degC": "none",
    "heater.max_on_min": "none",
    "charge_current": "none",
    "charge_paths": [{"name": "charger", "max_A": 30.0, "obeys": ["charge_cold"]}],
    "charger.max_A": 30.0,
    "protection.charge_cold": {"inhibit_below_degC": 2.0, "release_above_degC": 5.0, "sensors": ["skin"]},
}


def test_charge_below_the_limit_against_dense_integration() -> None:
    """30 A from an early release until the coldest of all volumes reaches 0 degC, looked at every second.

    Independent of the stretches, the looks between and the few places watched: the whole field, in plain
    steps. The current's own heat is taken out by cells without resistance. Half a per cent is a second of
    the looking and the places watched against every volume.
    """
    document = changed(of_profile("ridge-hut"), {**EARLY, "pack.cell.resistance_mohm": 1e-6})
    assert document is not None
    scene = heated_scene(Inputs(document.data, load_limits(document.data)))
    runs = Runs([(scene, NOMINAL)])
    assert until_release(runs).tolist() == [True]
    segment = runs.segment()
    coldest = np.array([runs.block.field(segment.states(float(s))).min() - 15.0 for s in range(7201)])
    assert coldest[0] < -5.0
    seconds = int((coldest < 0.0).sum())
    found = derived(document).find("heated_warmup.below_limit_Ah")
    assert isinstance(found, Quantity)
    assert found.value == pytest.approx(30.0 * seconds / 3600.0, rel=0.005)
    assert not math.isclose(float(found.value), 0.0)
