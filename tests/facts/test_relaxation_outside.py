"""The jump after a trip against PyBaMM's porous electrodes, the root of both electrodes, and a circuit."""

import sys
from functools import cache
from math import exp, log
from pathlib import Path
from typing import Any

import numpy as np
import pybamm
import pytest
from electrical_pack import electrical
from scipy import constants
from scipy.optimize import brentq
from scipy.signal import lsim, lti

from bmslint.facts import Facts, Quantity

sys.path.append(str(Path(__file__).parents[1] / "physics"))
from pybamm_cells import POINTS, model, resistance_ohm, values_at

FARADAY = constants.physical_constants["Faraday constant"][0]


def facts(changes: dict[str, Any]) -> Facts:
    """The ridge hut, charged by one path that no step limits, discharged down to the coldest site."""
    amps = changes.pop("amps")
    return electrical(
        {
            "charge_current": "none",
            "charge_paths": [{"name": "one", "max_A": amps, "obeys": []}],
            "charger.max_A": amps,
            "load.continuous_A": amps,
            **changes,
        }
    )


def ends(found: Facts, name: str) -> tuple[float, float, float]:
    item = found.find(f"relaxation.{name}")
    assert isinstance(item, Quantity), item
    return float(item.low), float(item.value), float(item.high)


@cache
def jumped_V(name: str, celsius: float, rate_per_h: float) -> float:
    """PyBaMM: a minute of current from half charged, then ten seconds without; how far the voltage jumps."""
    values = values_at(name, celsius, 0.0)
    amps = -rate_per_h * values["Nominal cell capacity [A.h]"]
    values["Current function [A]"] = "[input]"
    cell = pybamm.Simulation(model(), parameter_values=values, var_pts=POINTS)
    cell.build(initial_soc=0.5, inputs={"Current function [A]": amps})
    under = cell.step(60.0, inputs={"Current function [A]": amps})["Terminal voltage [V]"].entries[-1]
    after = cell.step(10.0, inputs={"Current function [A]": 0.0})["Terminal voltage [V]"].entries[-1]
    return float(abs(under - after))


@pytest.mark.parametrize("name", ["Prada2013", "Ecker2015", "OKane2022"])
def test_jumps_of_published_cells(name: str) -> None:
    """Three cells by their resistance for small currents at 25 and 0 degC: what each jumps by after charging
    at 0.3 of its capacity an hour at 25, and discharging at 0.5 of it at 0 degC.

    Charge transfer alone is from 4 % below to 26 % above the porous electrodes, whose two electrodes are not
    alike; Ohm's law bounds them from above.
    """
    warm, cold = (resistance_ohm(name, celsius, 0.05) for celsius in (25, 0))
    capacity = float(values_at(name, 25, 0.0)["Nominal cell capacity [A.h]"])
    for fact, celsius, rate in (("overvoltage_drop_V", 25, 0.3), ("undervoltage_rise_cold_V", 0, -0.5)):
        found = facts(
            {
                "amps": abs(rate) * capacity,
                "pack.cell.resistance_mohm": 1e3 * warm,
                "pack.cell.resistance_ratio_0degC": cold / warm,
                "site.coldest_degC": 0.0,
            }
        )
        _, transfer, ohmic = ends(found, fact)
        theirs = jumped_V(name, celsius, rate)
        assert 0.96 <= transfer / theirs <= 1.27, fact
        assert ohmic >= 0.99 * theirs, fact


def electrodes_V(amps: float, ohm: float, kelvin: float) -> float:
    """Butler and Volmer on both electrodes, each with half of the resistance, by scipy's brentq."""
    exchange = constants.R * kelvin / FARADAY / (ohm / 2)

    def missing(volts: float) -> float:
        reduced = FARADAY * volts / (constants.R * kelvin)
        return exchange * (exp(reduced / 2) - exp(-reduced / 2)) - amps

    return 2 * float(brentq(missing, 0.0, 2.0, xtol=1e-15))


@pytest.mark.parametrize(
    ("mohm", "amps", "coldest"),
    [(0.6, 60.0, -15.0), (2.0, 100.0, -25.0), (0.25, 250.0, 5.0), (20.0, 3.0, -5.0)],
)
def test_jumps_are_the_roots_of_both_electrodes(mohm: float, amps: float, coldest: float) -> None:
    """At 25 degC and at the coldest site, where the resistance is twice and a half that of 25 degC at 0 degC
    (Arrhenius through those two points)."""
    found = facts(
        {
            "amps": amps,
            "pack.cell.resistance_mohm": mohm,
            "pack.cell.resistance_ratio_0degC": 2.5,
            "site.coldest_degC": coldest,
        }
    )
    warm = electrodes_V(amps, mohm / 1e3, 298.15)
    for fact in ("overvoltage_drop_V", "undervoltage_rise_V"):
        assert ends(found, fact) == pytest.approx((warm, warm, amps * mohm / 1e3), rel=1e-9)
    kelvin = coldest + 273.15
    cold_ohm = mohm / 1e3 * 2.5 ** ((1 / kelvin - 1 / 298.15) / (1 / 273.15 - 1 / 298.15))
    cold = electrodes_V(amps, cold_ohm, kelvin)
    expected = cold, cold, amps * cold_ohm
    assert ends(found, "undervoltage_rise_cold_V") == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("amps", [5.0, 20.0, 50.0])
def test_a_circuit_of_resistors_and_capacitors_jumps_by_no_more_than_ohm(amps: float) -> None:
    """A usual equivalent circuit, 0.3 mohm and pairs of 0.2 mohm with 1 s and of 0.1 mohm with 8 s, by lsim
    of scipy: its 10 s resistance declared, so what it falls by in 10 s after a minute of current is the upper
    end, by Ohm's law. A minute is 7.5 times 8 s, and the current ends over a step: 2 parts in a thousand."""
    step = 1e-2
    times = np.arange(0.0, 80.0, step)
    current = np.where(times < 60.0, amps, 0.0)
    volts = 0.3e-3 * current
    for ohm, seconds in ((0.2e-3, 1.0), (0.1e-3, 8.0)):
        volts = volts + lsim(lti([ohm], [seconds, 1.0]), current, times)[1]
    at = np.searchsorted(times, 60.0)
    fell = volts[at - 1] - volts[at - 1 + round(10.0 / step)]
    ten_s = 0.3e-3 + 0.2e-3 * (1 - exp(-10.0)) + 0.1e-3 * (1 - exp(-10.0 / 8.0))
    found = facts({"amps": amps, "pack.cell.resistance_mohm": 1e3 * ten_s})
    assert ends(found, "overvoltage_drop_V")[2] == pytest.approx(fell, rel=2e-3)


@pytest.mark.parametrize("side", ["overvoltage", "undervoltage"])
def test_chatter_by_brents_root(side: str) -> None:
    """The current from which the jump reaches the release, by brentq on Butler and Volmer's root: a per cent
    below it the trip holds, a per cent above it releases at once."""
    between = 0.20 if side == "overvoltage" else 0.30  # 3.60 to 3.40 V, 2.7 to 3.0 V
    onset = float(brentq(lambda amps: electrodes_V(amps, 2e-3, 298.15) - between, 1.0, 1e4))
    for part, chatters in ((0.99, False), (1.01, True)):
        found = facts({"amps": part * onset, "pack.cell.resistance_mohm": 2.0}).find(
            f"relaxation.{side}_chatters"
        )
        assert isinstance(found, Quantity)
        assert found.value is chatters


def test_large_currents_add_118_mV_a_decade_on_each_electrode() -> None:
    """Limit: Tafel, 118 mV for ten times the current with a transfer coefficient of one half at 25 degC (any
    text on electrochemistry, printed as 0.118 V); two electrodes."""
    changes = {"pack.cell.resistance_mohm": 100.0}
    volts = [ends(facts({"amps": amps, **changes}), "overvoltage_drop_V")[1] for amps in (1e3, 1e4)]
    assert (volts[1] - volts[0]) / 2 == pytest.approx(0.118, abs=5e-4)
    assert (volts[1] - volts[0]) / 2 == pytest.approx(2 * constants.R * 298.15 / FARADAY * log(10), rel=1e-5)


def test_small_currents_jump_by_ohm() -> None:
    """Limit: a milliampere through 0.6 mohm, with no difference between the two laws."""
    found = ends(facts({"amps": 1e-3}), "overvoltage_drop_V")
    assert found == pytest.approx((6e-7, 6e-7, 6e-7), rel=1e-9)
