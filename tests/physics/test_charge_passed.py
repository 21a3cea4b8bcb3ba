"""Charge that passes after a release, against a closed loop integrated by scipy on the sparse network.

Thermostat, inhibit, release and steps of current are written out a second time (`eighth_pack.py`), marched
from event to event by scipy's BDF, and looked at every second. Shares no conduction, no modes and no search
for instants with bmslint.
"""

from dataclasses import replace

import numpy as np
import pytest
from eighth_pack import Eighth, Passed, Told, charge_on

from bmslint.facts import Facts, Quantity

# So small that the current's own heat is none: what is held is the loop and the comparison.
NO_HEAT_OHM = 1e-6


def number(found: Facts, group: str, name: str) -> float:
    item = found.groups[group][name]
    assert isinstance(item, Quantity), item
    return float(item.value)


def both(told: Told) -> tuple[Passed, tuple[float, float, float]]:
    """What passes by the network, and by the facts."""
    eighth = Eighth(told)
    state, seconds = eighth.released()
    group = "ambient_warmup" if told.power_W is None else "heated_warmup"
    facts = told.facts()
    # The cut of the facts is up to 0.3 K off under a film (tests/physics/test_grid.py). A surface under one
    # rises by 25 K as the root of time: 1.5 % of the time are 0.2 K.
    assert number(facts, group, "time_to_release_min") == pytest.approx(seconds / 60, rel=0.015)
    names = ("below_limit_Ah", "above_allowed_Ah", "excess_current_A")
    return charge_on(eighth, state), tuple(number(facts, group, name) for name in names)  # type: ignore[return-value]


CASES = {
    "early, three steps": Told(release_degC=8.0, steps=((0.0, 10.0), (5.0, 20.0), (10.0, 30.0))),
    "strong film": Told(
        inhibit_degC=3.0, release_degC=14.0, steps=((0.0, 10.0), (12.0, 30.0), (20.0, 45.0)), power_W=90.0,
        off_degC=14.0,
    ),
    "by the core": Told(sensor="core", steps=((0.0, 20.0), (8.0, 45.0))),
    "brought in": Told(power_W=None, air_degC=25.0, release_degC=4.0, steps=((0.0, 20.0), (10.0, 45.0))),
    "brought in, early": Told(
        power_W=None, air_degC=25.0, inhibit_degC=-5.0, release_degC=1.0,
        steps=((-5.0, 15.0), (0.0, 50.0), (6.0, 100.0)),
    ),
    "film stops, charging after it": Told(
        inhibit_degC=-6.0, release_degC=3.0, on_degC=-14.0, off_degC=-7.0,
        steps=((-9.0, 10.0), (5.0, 20.0), (10.0, 30.0)),
    ),
    "film stops later": Told(
        inhibit_degC=1.0, release_degC=6.0, on_degC=2.0, off_degC=4.0, power_W=90.0,
        steps=((-2.0, 10.0), (5.0, 20.0), (10.0, 30.0)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_charge_passed_against_the_network(name: str) -> None:
    """Two cuts into volumes put the instant at which the coldest point is warm enough up to 1 % apart."""
    told = CASES[name]
    theirs, (below, above, excess) = both(replace(told, resistance_ohm=NO_HEAT_OHM))
    assert below == pytest.approx(theirs.below_limit_Ah, rel=0.01)
    assert above == pytest.approx(theirs.above_allowed_Ah, rel=0.01)
    assert excess == theirs.excess_A


def test_the_current_heats_the_cells() -> None:
    """2 mohm, and so 3 W to 12 W in each cell by its own volumes' resistance, released by the core.

    2 %: the facts make the heat alike in all cells, at the resistance of one temperature. Without that heat
    the same release lets 8 % less pass above what the cells bear, so it counts.
    """
    told = CASES["by the core"]
    warm, (_, above, excess) = both(told)
    unheated = Eighth(replace(told, resistance_ohm=NO_HEAT_OHM))
    cold = charge_on(unheated, unheated.released()[0])
    assert above == pytest.approx(warm.above_allowed_Ah, rel=0.02)
    assert excess == warm.excess_A
    assert warm.above_allowed_Ah / cold.above_allowed_Ah == pytest.approx(1.09, abs=0.02)


@pytest.mark.parametrize("amps", [0.0, 12.0, 30.0])
def test_a_film_too_weak_to_warm_the_core_lets_all_of_it_pass(amps: float) -> None:
    """Limit, by hand: the coldest stays below freezing for the two hours, so all charge passes below the
    limit and above what the cells bear, which is nothing; and nothing of no current."""
    told = Told(power_W=30.0, steps=((0.0, amps),), resistance_ohm=NO_HEAT_OHM)
    theirs, found = both(told)
    assert found == (pytest.approx(2 * amps, rel=1e-9), pytest.approx(2 * amps, rel=1e-9), amps)
    assert np.array([theirs.below_limit_Ah, theirs.above_allowed_Ah]) == pytest.approx(2 * amps, rel=1e-3)


def test_a_warm_core_lets_nothing_pass() -> None:
    """Limit: released by the core when all cells bear the current there is."""
    told = Told(sensor="core", release_degC=7.0, steps=((0.0, 10.0),), off_degC=20.0)
    theirs, found = both(told)
    assert found == (0.0, 0.0, 0.0)
    assert (theirs.below_limit_Ah, theirs.above_allowed_Ah, theirs.excess_A) == (0.0, 0.0, 0.0)
