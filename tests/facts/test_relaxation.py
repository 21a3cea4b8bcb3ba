"""The jump of a voltage after a trip, and how far it runs past the trip before."""

from math import asinh, exp
from typing import Any

import numpy as np
import pytest
from packs import changed, derived, of_profile
from scipy import constants
from scipy.integrate import solve_ivp

from bmslint.facts import Missing, Quantity
from bmslint.limits import load_open_circuit

FARADAY = constants.physical_constants["Faraday constant"][0]


def jump(current_A: float, celsius: float, kJ_per_mol: float = 35.0) -> tuple[float, float]:
    """Charge transfer and Ohm (V) for the ridge hut's cell of 0.6 mohm, by scipy's constants."""
    kelvin = celsius + 273.15
    ohm = 0.6e-3 * exp(kJ_per_mol * 1e3 / constants.R * (1 / kelvin - 1 / 298.15))
    scale = 4 * constants.R * kelvin / FARADAY
    return scale * asinh(current_A * ohm / scale), current_A * ohm


def spans(**changes: Any) -> dict[str, tuple[Any, Any, Any]]:
    facts = derived(changed(of_profile("ridge-hut"), changes)).groups["relaxation"]
    return {
        name: (item.value, item.low, item.high) for name, item in facts.items() if isinstance(item, Quantity)
    }


def test_the_jumps_of_a_profile_by_plain_formulas() -> None:
    """60 A at 25 degC and 120 A at 25 and at -15 degC; Arrhenius at 20, 35 and 40 kJ/mol in the cold."""
    facts = spans()
    warm, load = jump(60.0, 25.0), jump(120.0, 25.0)
    cold = {energy: jump(120.0, -15.0, energy) for energy in (20.0, 35.0, 40.0)}
    assert facts["overvoltage_drop_V"] == pytest.approx((warm[0], warm[0], warm[1]), rel=1e-9)
    assert facts["undervoltage_rise_V"] == pytest.approx((load[0], load[0], load[1]), rel=1e-9)
    assert facts["undervoltage_rise_cold_V"] == pytest.approx(
        (cold[35.0][0], cold[20.0][0], cold[40.0][1]), rel=1e-9
    )


def test_the_cold_jump_is_that_of_the_coldest_cell_at_release() -> None:
    """At the nominal end the voltage step's own temperature and current."""
    facts = derived(of_profile("ridge-hut")).nominal()
    step = facts["voltage_step"]
    expected = jump(float(step["current_A"]), float(step["coldest_cell_degC"]))[0]
    assert facts["relaxation"]["overvoltage_drop_cold_V"] == pytest.approx(expected, rel=1e-9)


def test_the_cold_jump_ranges_over_the_warm_up_and_the_activation() -> None:
    """Least at the warmest cell and 20 kJ/mol, most at the coldest and 40 kJ/mol by Ohm's law."""
    groups = derived(of_profile("ridge-hut")).groups
    cell, current = (groups["voltage_step"][name] for name in ("coldest_cell_degC", "current_A"))
    found = groups["relaxation"]["overvoltage_drop_cold_V"]
    assert isinstance(cell, Quantity)
    assert isinstance(current, Quantity)
    assert isinstance(found, Quantity)
    coldest, warmest = float(cell.low), float(cell.high)
    most = jump(float(current.high), coldest, 40.0)[1]
    assert found.high == pytest.approx(most, rel=1e-9)
    # The scale of charge transfer is that of either end of the temperature: 1 % between them.
    least = jump(float(current.low), warmest, 20.0)[0]
    assert found.low == pytest.approx(least, rel=0.01)


def test_a_declared_ratio_gives_the_activation() -> None:
    """A ratio of 2 at 0 degC is R ln 2 / (1/273.15 - 1/298.15) J/mol, by scipy's R."""
    energy = constants.R * np.log(2.0) / (1 / 273.15 - 1 / 298.15) / 1e3
    transfer, ohmic = jump(120.0, -15.0, energy)
    facts = spans(**{"pack.cell.resistance_ratio_0degC": 2.0})
    assert facts["undervoltage_rise_cold_V"] == pytest.approx((transfer, transfer, ohmic), rel=1e-9)


def test_discharging_ends_at_its_inhibit_or_at_the_coldest_site() -> None:
    """Ridge hut: inhibit at -16, site down to -15 degC; with an inhibit at -5 the cells are never colder."""
    inhibit = "protection.discharge_cold.inhibit_below_degC"
    found = [spans(**{inhibit: at})["undervoltage_rise_cold_V"][0] for at in (-16.0, -5.0)]
    assert found == pytest.approx([jump(120.0, -15.0)[0], jump(120.0, -5.0)[0]], rel=1e-9)


@pytest.mark.parametrize(
    ("release_V", "chatters"),
    # A trip at 3.60 V falls by 35.3 mV, by Ohm's law 36.0 mV: just inside, between, just outside.
    [(3.5640 - 1e-4, (False, False, False)), (3.5643, (False, False, True)), (3.5650, (True, True, True))],
)
def test_chatter_begins_where_the_drop_reaches_the_release(
    release_V: float, chatters: tuple[bool, bool, bool]
) -> None:
    facts = spans(**{"protection.cell_overvoltage.release_below_V": release_V})
    assert facts["overvoltage_chatters"] == chatters


@pytest.mark.parametrize(
    ("release_V", "chatters"),
    [(2.7 + 0.0671, (True, True, True)), (2.77, (False, False, True)), (2.7721, (False, False, False))],
)
def test_chatter_begins_where_the_rise_reaches_the_release(
    release_V: float, chatters: tuple[bool, bool, bool]
) -> None:
    """A trip at 2.7 V rises by 67.1 mV, by Ohm's law 72.0 mV."""
    facts = spans(**{"protection.cell_undervoltage.release_above_V": release_V})
    assert facts["undervoltage_chatters"] == chatters


def test_a_declared_ratio_replaces_the_default_and_parallel_cells_share() -> None:
    """Limit: a ratio of 1 makes the cold like the warm; two cells side by side halve the current."""
    facts = spans(**{"pack.cell.resistance_ratio_0degC": 1.0, "pack.parallel": 2})
    cold = 4 * constants.R * 258.15 / FARADAY
    expected = cold * asinh(60.0 * 0.6e-3 / cold)
    assert facts["undervoltage_rise_cold_V"] == pytest.approx((expected, expected, 0.036), rel=1e-9)


def test_what_lacks_is_named_for_each_fact() -> None:
    document = changed(
        of_profile("ridge-hut"),
        {"protection.cell_overvoltage": "none", "heater": "none", "site.warms_to_degC": "none"},
    )
    facts = derived(document).groups["relaxation"]
    assert {name: item for name, item in facts.items() if isinstance(item, Missing)} == {
        "overvoltage_chatters": Missing((), "protection.cell_overvoltage is none"),
        "overvoltage_drop_cold_V": Missing((), "the pack is never brought into warmer air"),
        "overvoltage_chatters_cold": Missing((), "the pack is never brought into warmer air"),
    }


@pytest.mark.parametrize(
    ("name", "changes", "trip_V", "current_A", "seconds"),
    [
        ("overvoltage", {}, 3.60, 60.0, 1.0),
        (
            "overvoltage",
            {"protection.cell_overvoltage": {"trip_above_V": 3.5, "delay_s": 3.0}},
            3.5,
            60.0,
            3.0,
        ),
        ("overvoltage", {"protection.cell_overvoltage.trip_above_V": 3.40}, 3.40, 60.0, 1.0),
        ("overvoltage", {"pack.parallel": 2}, 3.60, 30.0, 1.0),
        ("undervoltage", {}, 2.70, -120.0, 5.0),
        ("undervoltage", {"protection.cell_undervoltage.trip_below_V": 2.5}, 2.5, -120.0, 5.0),
    ],
)
def test_overshoot_against_the_cell_integrated_in_time(
    name: str, changes: dict[str, Any], trip_V: float, current_A: float, seconds: float
) -> None:
    """scipy.integrate.solve_ivp of the charge of 230 Ah through the delay, its voltage read off the curve."""
    curve = load_open_circuit("lfp")
    assert curve is not None
    start = np.interp(trip_V - current_A * 0.6e-3, curve.cell_V, curve.charge)
    end = solve_ivp(
        lambda _, charge: [current_A / (230 * 3600)], (0.0, seconds), [start], rtol=1e-10, atol=1e-14
    ).y[0, -1]
    moved = np.diff(np.interp([start, end], curve.charge, curve.cell_V))[0]
    facts = derived(changed(of_profile("ridge-hut"), changes)).nominal()
    # One stretch of the curve holds both ends, so slope by charge is exact but for the interpolation.
    assert facts["overshoot"][f"{name}_overshoot_mV"] == pytest.approx(1e3 * abs(moved), rel=1e-6)


def test_overshoot_without_delay_is_none_and_without_protection_undefined() -> None:
    none = changed(
        of_profile("ridge-hut"),
        {"protection.cell_overvoltage.delay_s": 0.0, "protection.cell_undervoltage": "none"},
    )
    facts = derived(none).groups["overshoot"]
    over = facts["overvoltage_overshoot_mV"]
    assert isinstance(over, Quantity)
    assert (over.low, over.value, over.high, over.basis) == (0.0, 0.0, 0.0, "chemistry table")
    assert facts["undervoltage_overshoot_mV"] == Missing((), "protection.cell_undervoltage is none")
