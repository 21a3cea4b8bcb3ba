"""The voltage at the start of a cold charge."""

from math import asinh, exp
from typing import Any

import numpy as np
import pytest
from packs import changed, derived, of_profile
from scipy import constants
from scipy.optimize import brentq
from scipy.stats import qmc

from bmslint.facts import FACT_NAMES, Missing, Quantity
from bmslint.facts.inputs import Inputs
from bmslint.facts.voltage_step import CHARGE_PCT, Start, start_of_charge
from bmslint.limits import load_limits, load_open_circuit

FARADAY = constants.physical_constants["Faraday constant"][0]


def resistance(rated_ohm: float, celsius: float, kJ_per_mol: float = 35.0) -> float:
    """Arrhenius, by scipy's constants."""
    return rated_ohm * exp(kJ_per_mol * 1e3 / constants.R * (1 / (celsius + 273.15) - 1 / 298.15))


def rise(current_A: float, ohm: float, celsius: float) -> float:
    """Butler and Volmer for two electrodes alike, by scipy's constants."""
    scale = 4 * constants.R * (celsius + 273.15) / FARADAY
    return scale * asinh(current_A * ohm / scale)


def at_rest(percent: float) -> float:
    curve = load_open_circuit("lfp")
    assert curve is not None
    return float(np.interp(percent / 100, curve.charge, curve.cell_V))


def given(value: float, low: float | None = None, high: float | None = None) -> Quantity:
    return Quantity(
        value, value if low is None else low, value if high is None else high, "", "declared", "low"
    )


def four_cells(milliohms: float, current_A: float = 35.0) -> Start:
    """Four cells of 105 Ah in series, the two inner ones at -4 degC, the two outer ones at 2 degC."""
    cell = {"capacity_Ah": 105.0, "resistance_mohm": milliohms}
    data = {"pack": {"chemistry": "lfp", "series": 4.0, "parallel": 1.0, "cell": cell}}
    release = {
        "coldest_cell_at_release_degC": given(-4.0),
        "hottest_cell_at_release_degC": given(2.0),
        "mean_at_release_degC": given(-1.0),
        "current_at_release_A": given(current_A),
    }
    return start_of_charge(Inputs(data, load_limits(data)), release)


def fourteen_volts_from(percent: int, pick: Any) -> float:
    """Resistance of one cell at 25 degC (mohm) from which the pack goes above 14 V."""
    at = CHARGE_PCT.index(percent)
    return round(brentq(lambda mohm: pick(four_cells(mohm).pack_V[at]) - 14.0, 0.2, 20.0), 2)


def test_four_cold_cells_above_fourteen_volts() -> None:
    """A fact of the trade, common practice, no source: four 105 Ah iron phosphate cells in series whose
    middle is near -4 degC go above 14 V when 35 A start to flow.

    A cell of this size has some 0.7 to 1.5 mohm over 10 s at 25 degC. With that the unfavourable end meets
    it: from 0.97 mohm at 90 % of charge, from 1.24 half charged. The nominal end does not: it would take
    2.27 mohm at 90 %, and 3.68 half charged, which no sound cell has. With 1.5 mohm it comes to 13.9 V at
    90 %, 13.7 half charged. What lacks is time: PyBaMM's sets step by up to 1.6 times as much after ten
    minutes at -4 degC as after the 10 s that the resistance is declared for (Prada2013 1.0, Ecker2015 1.5,
    OKane2022 1.6), so the fact is one of the first minutes, or of cells colder or older than said.
    """
    picks = {
        "nominal": lambda volts: volts.flat[0],
        "ohmic, all else nominal": lambda volts: volts[0, 0, 0, 0, 1],
        "unfavourable": lambda volts: volts.max(),
    }
    found = {name: {at: fourteen_volts_from(at, pick) for at in (50, 90)} for name, pick in picks.items()}
    assert found == {
        "nominal": {50: 3.68, 90: 2.27},
        "ohmic, all else nominal": {50: 1.65, 90: 1.32},
        "unfavourable": {50: 1.24, 90: 0.97},
    }


def test_the_two_inner_cells_stand_visibly_above_the_outer_ones() -> None:
    """The second half of that fact, common practice, no source: tens of millivolts, far more than the 5 mV
    that a board measures to, at any credible resistance."""
    found = {}
    for milliohms in (0.7, 1.1, 1.5):
        start = four_cells(milliohms)
        lead = 1e3 * (start.coldest_V - start.hottest_V)[CHARGE_PCT.index(50)]
        found[milliohms] = (round(lead.flat[0]), round(lead.max()))
    assert found == {0.7: (22, 45), 1.1: (26, 71), 1.5: (28, 96)}


def test_a_gauge_that_trusts_voltage_jumps_to_full() -> None:
    """The third half, from the warm-up on: two films of 10 W on the ends of the row, released by the skin.

    1.2 mohm a cell, full set above 3.45 V without a tail current. The middle then is near -5 degC, the outer
    cells near 0; the unfavourable end goes above 14 V half charged, and by the nominal end the gauge
    jumps to full from about three quarters of charge on. Temperatures to 1 K, which is 4 % of charge.
    """
    cold = {
        "pack.series": 4, "pack.capacity_Ah": 105.0, "pack.cell.capacity_Ah": 105.0,
        "pack.cell.resistance_mohm": 1.2, "pack.cell.thickness_mm": 36.0, "pack.cell.mass_kg": 2.0,
        "pack.layout": {"stacked": 4, "rows": 1, "tiers": 1, "gap": "pad"},
        "protection.charge_cold": {
            "inhibit_below_degC": 0.0, "release_above_degC": 5.0, "sensors": ["skin"], "decided_by": "lowest",
        },
        "heater.power_W": 20.0, "heater.faces": ["ends"], "heater.sensors": ["skin"],
        "charge_current": {"steps": [{"from_degC": 0.0, "max_A": 35.0}], "sensors": ["skin"]},
        "charger.bulk_V": 14.6, "full_charge": {"cell_above_V": 3.45, "sets_full": True},
        "site.coldest_degC": -10.0,
    }  # fmt: skip
    facts = derived(changed(of_profile("ridge-hut"), cold)).groups["voltage_step"]
    found = {name: item for name, item in facts.items() if isinstance(item, Quantity)}
    assert found["current_A"].value == 35.0
    assert found["coldest_cell_degC"].value == pytest.approx(-4.8, abs=1.0)
    assert found["hottest_cell_degC"].value == pytest.approx(0.5, abs=1.0)
    assert found["half_charged_pack_V"].value < 14.0 < found["half_charged_pack_V"].unfavourable
    assert found["coldest_above_hottest_mV"].value == pytest.approx(24.0, abs=4.0)
    assert found["full_from_charge_pct"].value == pytest.approx(74.0, abs=4.0)
    taken = {name: found[f"{name}_taken_for_full"] for name in ("half_charged", "nearly_full")}
    assert {name: (item.value, item.unfavourable) for name, item in taken.items()} == {
        "half_charged": (False, True),
        "nearly_full": (True, True),
    }


def test_every_voltage_of_a_profile_by_scalar_formulas() -> None:
    """The nominal facts of the ridge hut, from its warm-up's temperatures and current, by plain formulas."""
    facts = derived(of_profile("ridge-hut")).nominal()
    step, warm = facts["voltage_step"], facts["heated_warmup"]
    current = float(warm["current_at_release_A"])
    cold, hot, mean = (
        float(warm[name])
        for name in (
            "coldest_cell_at_release_degC",
            "hottest_cell_at_release_degC",
            "mean_at_release_degC",
        )
    )
    rises = [rise(current, resistance(0.6e-3, celsius), celsius) for celsius in (cold, hot, mean)]
    expected: dict[str, Any] = {
        "run": "heated_warmup",
        "current_A": current,
        "coldest_cell_degC": cold,
        "hottest_cell_degC": hot,
        "coldest_above_hottest_mV": pytest.approx(1e3 * (rises[0] - rises[1]), rel=1e-9),
        "trips_from_charge_pct": 100.0,
        "full_from_charge_pct": 100.0,
    }
    for state, percent in (("half_charged", 50), ("nearly_full", 90)):
        expected |= {
            f"{state}_coldest_V": pytest.approx(at_rest(percent) + rises[0], rel=1e-9),
            f"{state}_hottest_V": pytest.approx(at_rest(percent) + rises[1], rel=1e-9),
            f"{state}_pack_V": pytest.approx(8 * (at_rest(percent) + rises[2]), rel=1e-9),
            f"{state}_trips_overvoltage": False,
            f"{state}_taken_for_full": False,
        }
    assert step == expected


def test_a_charger_holds_the_pack_at_its_bulk_voltage() -> None:
    """Limit: 26.6 V on eight cells. Nearly full the charger holds; brentq finds what then flows."""
    facts = derived(changed(of_profile("ridge-hut"), {"charger.bulk_V": 26.6})).nominal()
    step, mean = facts["voltage_step"], float(facts["heated_warmup"]["mean_at_release_degC"])
    cold = float(step["coldest_cell_degC"])
    current = brentq(
        lambda amps: 8 * (at_rest(90) + rise(amps, resistance(0.6e-3, mean), mean)) - 26.6, 0.0, 20.0
    )
    assert 0.0 < current < 20.0
    assert step["nearly_full_pack_V"] == pytest.approx(26.6, rel=1e-12)
    expected = at_rest(90) + rise(current, resistance(0.6e-3, cold), cold)
    assert step["nearly_full_coldest_V"] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("full", "taken"),
    # The coldest cell begins at 3.35 V and 20 A.
    [
        ({"cell_above_V": 3.34, "sets_full": True}, True),
        ({"cell_above_V": 3.36, "sets_full": True}, False),
        ({"cell_above_V": 3.34, "sets_full": False}, False),
        ({"cell_above_V": 3.34, "sets_full": True, "tail_below_A": 21.0}, True),
        ({"cell_above_V": 3.34, "sets_full": True, "tail_below_A": 20.0}, False),
    ],
)
@pytest.mark.parametrize("parallel", [1, 2])
def test_full_takes_voltage_and_tail_current_and_the_will_to(
    full: dict[str, Any], taken: bool, parallel: int
) -> None:
    """Two cells side by side of twice the resistance and half the capacity are the same pack."""
    same = {"pack.parallel": parallel, "pack.cell.resistance_mohm": 0.6 * parallel, "full_charge": full}
    step = derived(changed(of_profile("ridge-hut"), same)).nominal()["voltage_step"]
    assert step["nearly_full_taken_for_full"] is taken
    cold = float(step["coldest_cell_degC"])
    expected = at_rest(90) + rise(20.0, resistance(0.6e-3, cold), cold)
    assert step["nearly_full_coldest_V"] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        (
            {"pack.chemistry": "sodium_ion"},
            Missing(("pack.chemistry",), "no one open-circuit curve holds for the kinds of this chemistry"),
        ),
        (
            {"heater": "none", "site.warms_to_degC": "none"},
            Missing((), "the pack is never brought into warmer air"),
        ),
        (
            {"heater.power_W": 0.0, "heater.max_on_min": "none"},
            Missing((), "charging never resumes in this run"),
        ),
    ],
)
def test_what_cannot_be_known_is_missing_as_a_whole(changes: dict[str, Any], missing: Missing) -> None:
    facts = derived(changed(of_profile("ridge-hut"), changes))
    assert facts.groups["voltage_step"] == dict.fromkeys(FACT_NAMES["voltage_step"], missing)


def test_without_over_voltage_protection_only_its_facts_are_missing() -> None:
    changes = {"protection.cell_overvoltage": "none", "protection.pack_overvoltage": "none"}
    facts = derived(changed(of_profile("ridge-hut"), changes)).groups["voltage_step"]
    lacking = {name: item for name, item in facts.items() if isinstance(item, Missing)}
    names = ("half_charged_trips_overvoltage", "nearly_full_trips_overvoltage", "trips_from_charge_pct")
    reason = Missing((), "there is no over-voltage protection that could trip")
    assert lacking == dict.fromkeys(names, reason)


@pytest.mark.parametrize(("trip_V", "trips_from"), [(3.20, 10.0), (3.30, 38.0), (3.34, 76.0), (3.60, 100.0)])
def test_trips_from_the_charge_at_which_the_cell_reaches_the_trip(trip_V: float, trips_from: float) -> None:
    """The coldest cell's rise on the curve, by scipy's root, rounded up to the next 2 %."""
    document = changed(of_profile("ridge-hut"), {"protection.cell_overvoltage.trip_above_V": trip_V})
    step = derived(document).nominal()["voltage_step"]
    cold = float(step["coldest_cell_degC"])
    lift = rise(float(step["current_A"]), resistance(0.6e-3, cold), cold)
    root = brentq(lambda percent: at_rest(percent) + lift - trip_V, 0.0, 100.0)
    assert step["trips_from_charge_pct"] == trips_from == 2 * np.ceil(root / 2)


def test_the_corners_bound_property_sets_drawn_from_the_whole_ranges() -> None:
    """2,000 sets (Halton, scipy): temperatures, activation, current, curve, share of charge transfer."""
    cell = {"capacity_Ah": 105.0, "resistance_mohm": 1.2}
    data = {"pack": {"chemistry": "lfp", "series": 4.0, "parallel": 1.0, "cell": cell}}
    ranges = {"cold": (-8.0, -2.0), "hot": (0.0, 6.0), "mean": (-3.0, 1.0), "current": (20.0, 50.0)}
    release = {
        "coldest_cell_at_release_degC": given(-4.0, *ranges["cold"]),
        "hottest_cell_at_release_degC": given(2.0, *ranges["hot"]),
        "mean_at_release_degC": given(-1.0, *ranges["mean"]),
        "current_at_release_A": given(35.0, *ranges["current"]),
    }
    start = start_of_charge(Inputs(data, load_limits(data)), release)
    half = CHARGE_PCT.index(50)
    spans = [
        (values[half].min(), values[half].max())
        for values in (start.coldest_V, start.pack_V, start.coldest_V - start.hottest_V)
    ]
    drawn = qmc.scale(
        qmc.Halton(7, seed=1).random(2000),
        [ranges[name][0] for name in ranges] + [20.0, -0.020, 0.0],
        [ranges[name][1] for name in ranges] + [40.0, 0.020, 1.0],
    )
    inside = 0
    for cold, hot, mean, current, energy, shift, share in drawn:
        volts = []
        for celsius in (cold, hot, mean):
            ohm = resistance(1.2e-3, celsius, energy)
            volts.append(
                at_rest(50) + shift + (1 - share) * current * ohm + rise(current, share * ohm, celsius)
            )
        found = (volts[0], 4 * volts[2], volts[0] - volts[1])
        inside += all(low <= value <= high for (low, high), value in zip(spans, found, strict=True))
    assert inside >= 0.99 * len(drawn)
    # The widest lead is that of the coldest against the hottest cell, all of the resistance ohmic.
    widest = 50.0 * (resistance(1.2e-3, -8.0, 40.0) - resistance(1.2e-3, 6.0, 40.0))
    assert spans[2][1] == pytest.approx(widest, rel=1e-9)
