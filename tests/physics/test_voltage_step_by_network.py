"""The voltage of cold cells as charging begins, from temperatures of scipy's sparse network on.

The pack is warmed in the network (`eighth_pack.py`), its cells' means give the resistance, and scipy's root
finder the rise under current on both electrodes; the voltage at rest is scipy's spline of degree 1.
"""

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from eighth_pack import SOAKED_DEGC, Array, Eighth, Told
from scipy import constants
from scipy.interpolate import make_interp_spline
from scipy.optimize import brentq

from bmslint.facts import Facts, Quantity
from bmslint.limits import load_open_circuit

FARADAY = constants.physical_constants["Faraday constant"][0]


def number(found: Facts, name: str) -> float:
    item = found.find(f"voltage_step.{name}")
    assert isinstance(item, Quantity), item
    return float(item.value)


def at_rest_V(charge: float) -> float:
    curve = load_open_circuit("lfp")
    assert curve is not None
    return float(make_interp_spline(curve.charge, curve.cell_V, k=1)(charge))


def rise_V(amps: float, rated_ohm: float, celsius: float) -> float:
    """Butler and Volmer on both electrodes by brentq; Arrhenius through 3 at 0 and 1 at 25 degC."""
    kelvin = celsius + 273.15
    ohm = rated_ohm * 3.0 ** ((1 / kelvin - 1 / 298.15) / (1 / 273.15 - 1 / 298.15))
    exchange = constants.R * kelvin / FARADAY / (ohm / 2)

    def missing(volts: float) -> float:
        reduced = FARADAY * volts / (constants.R * kelvin)
        return exchange * (exp(reduced / 2) - exp(-reduced / 2)) - amps

    return 2 * float(brentq(missing, 0.0, 1.0, xtol=1e-15))


def cells_degC(eighth: Eighth, state: Array) -> tuple[float, float, float]:
    """Means of the inner cell, of the outer one and of both."""
    field = state.reshape(eighth.block.shape)
    n = eighth.cut[0]
    outer, inner = float(field[:n].mean()), float(field[n:].mean())
    return SOAKED_DEGC + inner, SOAKED_DEGC + outer, SOAKED_DEGC + (inner + outer) / 2


CASES = {
    "film": (Told(release_degC=5.0, steps=((0.0, 20.0),)), 20.0),
    "film, by the core": (Told(sensor="core", release_degC=3.0, steps=((0.0, 35.0),)), 35.0),
    "brought in": (Told(power_W=None, air_degC=20.0, release_degC=5.0, steps=((0.0, 50.0),)), 50.0),
}


@pytest.mark.parametrize("name", CASES)
def test_cold_cells_by_network_and_roots(name: str) -> None:
    """Two cuts into volumes differ by 0.1 K in the mean of a cell, and the resistance by 4 % for each kelvin:
    half a per cent of the rise, which is up to 0.45 V."""
    told, amps = CASES[name]
    eighth = Eighth(told)
    state, _ = eighth.released()
    cold, warm, mean = cells_degC(eighth, state)
    found = told.facts()
    assert number(found, "current_A") == amps
    assert number(found, "coldest_cell_degC") == pytest.approx(cold, abs=0.1)
    assert number(found, "hottest_cell_degC") == pytest.approx(warm, abs=0.1)
    rises = [rise_V(amps, told.resistance_ohm, at) for at in (cold, warm, mean)]
    slack = 5e-3 * rises[0]
    assert number(found, "coldest_above_hottest_mV") == pytest.approx(
        1e3 * (rises[0] - rises[1]), abs=1e3 * slack
    )
    for state_name, charge in (("half_charged", 0.5), ("nearly_full", 0.9)):
        rest = at_rest_V(charge)
        assert number(found, f"{state_name}_coldest_V") == pytest.approx(rest + rises[0], abs=slack)
        assert number(found, f"{state_name}_hottest_V") == pytest.approx(rest + rises[1], abs=slack)
        assert number(found, f"{state_name}_pack_V") == pytest.approx(4 * (rest + rises[2]), abs=4 * slack)


def test_cells_without_resistance_stay_at_rest() -> None:
    """Limit: the spline's voltage whatever flows, and no cell above another."""
    found = replace(CASES["film"][0], resistance_ohm=1e-9).facts()
    for state_name, charge in (("half_charged", 0.5), ("nearly_full", 0.9)):
        assert number(found, f"{state_name}_coldest_V") == pytest.approx(at_rest_V(charge), abs=1e-6)
        assert number(found, f"{state_name}_pack_V") == pytest.approx(4 * at_rest_V(charge), abs=4e-6)
    assert np.isclose(number(found, "coldest_above_hottest_mV"), 0.0, atol=1e-3)
