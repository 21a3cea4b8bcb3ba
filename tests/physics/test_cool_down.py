"""Cooling and holding of a pack against textbook lumped cooling and the sparse network."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from one_pack import AREA_M2, FILM_ENDS, FLOOR, GAP, HEAT_J_PER_KGK, MASS_KG, OUTER, PACK_M, case, facts
from scipy.sparse.linalg import spsolve
from volume_block import VolumeBlock

from bmslint.facts import Missing, Quantity

# Cells that conduct like a metal: the Biot number 7.7 x 0.072 / 400 is 0.0014, and lumped cooling is wrong
# by about a third of it.
METAL = (400.0, 400.0)
CUT = (8, 9, 9)
NO_SENSOR_ERROR = {"accuracy_K: 1": "accuracy_K: 0"}


def value(found: object) -> float:
    assert isinstance(found, Quantity), found
    return float(found.value)


@pytest.mark.parametrize("coldest", [-5.0, -12.5, -25.0])
def test_lumped_cooling(coldest: float) -> None:
    """Incropera and others, section 5.1 (number from memory): (T - Tout) / (T0 - Tout) = exp(-t / tau),
    tau = m c / (U A). The contacts between the cells add 0.2 % to the Biot number's share."""
    found = facts(METAL, changes={"coldest_degC: -25": f"coldest_degC: {coldest}"})
    tau_h = 4 * MASS_KG * HEAT_J_PER_KGK / (OUTER * AREA_M2) / 3600
    hours = tau_h * math.log((20.0 - coldest) / (0.0 - coldest))
    assert value(found.find("cool_down.hours_to_inhibit")) == pytest.approx(hours, rel=3e-3)
    assert value(found.find("cool_down.time_constant_h")) == pytest.approx(tau_h, rel=3e-3)


def test_a_site_that_is_not_cold_enough_never_inhibits() -> None:
    found = facts(changes={"coldest_degC: -25": "coldest_degC: 1"})
    assert found.find("cool_down.hours_to_inhibit") == Missing(
        (), "the deciding sensor never reads so low at this site"
    )


def middle(block: VolumeBlock, state: np.ndarray) -> float:
    """Between the two middle cells, at the middle of the plane."""
    field = state.reshape(block.shape)
    x, y, z = block.shape
    return float(field[x // 2 - 1 : x // 2 + 1, y // 2, z // 2].mean())


@pytest.mark.parametrize(
    ("name", "bottom"), [("hours_to_inhibit", FLOOR), ("hours_with_air_gap", GAP)], ids=["floor", "gap"]
)
def test_cooling_over_a_floor_against_the_network(name: str, bottom: float) -> None:
    """Both are cut into volumes, the network differently; 0.05 K is what that costs."""
    hours = value(facts(underside="floor_contact").find(f"cool_down.{name}"))
    this = case(bottom_W_per_m2K=bottom, outside_K=-45.0)
    block = VolumeBlock(this, CUT)
    state = block.march(this, np.zeros(block.number.size), hours * 3600.0, 1e-7)
    assert 20.0 + middle(block, state) == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize(
    ("underside", "bottom"),
    [("floor_contact", FLOOR), ("air_gap", GAP), ("insulated", OUTER)],
)
def test_share_of_the_floor_against_the_heat_that_passes_there(underside: str, bottom: float) -> None:
    """The network's heat through its lowest volumes, summed over the whole cooling from an even start:
    the integral of a state that dies away is the matrix' inverse times its heat."""
    this = case(bottom_W_per_m2K=bottom)
    block = VolumeBlock(this, CUT)
    summed = spsolve(block.reduced.tocsc(), np.full(block.number.size, block.capacity)).reshape(block.shape)
    half = 2 * 19.0 / (PACK_M[2] / CUT[2])
    area = float(block.step[0] * block.step[1])
    passed = area / (1 / half + 1 / bottom) * summed[:, :, 0].sum()
    share = 100.0 * passed / (block.capacity * block.number.size)
    found = facts(underside=underside).find("cool_down.floor_share_pct")
    assert value(found) == pytest.approx(share, rel=5e-3)  # two cuts into volumes


def test_an_air_gap_takes_away_nearly_all_that_a_floor_contact_conducts() -> None:
    """Common practice, no source: 95 % and more. Nominal 1 - 5 / 150; over the defaults' ranges
    1 - 7 / 50 to 1 - 3.5 / 300, so with a poor contact and a good gap it may be less."""
    found = facts(underside="floor_contact").find("cool_down.air_gap_saves_pct")
    assert isinstance(found, Quantity)
    assert (found.low, found.value, found.high) == (
        pytest.approx(86.0),
        pytest.approx(96.0 + 2 / 3),
        pytest.approx(100 * (1 - 3.5 / 300)),
    )
    assert float(found.value) >= 95.0
    assert facts(underside="air_gap").find("cool_down.air_gap_saves_pct") == Missing(
        (), "the pack does not stand on a floor"
    )


def test_holding_power_of_a_lumped_pack() -> None:
    """U A (T - Tout), heat set free in the cells, three sites; tolerance as for lumped cooling."""
    for coldest in (-5.0, -12.5, -25.0):
        found = facts(METAL, changes={"coldest_degC: -25": f"coldest_degC: {coldest}"})
        watts = OUTER * AREA_M2 * (0.0 - coldest)
        assert value(found.find("cool_down.holding_W")) == pytest.approx(watts, rel=3e-3)
        assert value(found.find("cool_down.holding_Wh_per_day")) == pytest.approx(24 * watts, rel=3e-3)


@pytest.mark.parametrize(("underside", "bottom"), [("floor_contact", FLOOR), ("air_gap", GAP)])
def test_holding_by_a_film_against_the_network(underside: str, bottom: float) -> None:
    """With that power on both ends the network's middle settles at the inhibit of 0 degC."""
    watts = value(facts(underside=underside, heater=FILM_ENDS).find("cool_down.holding_W"))
    this = case(bottom_W_per_m2K=bottom, outside_K=-25.0, film_W_per_m2=watts / (2 * PACK_M[1] * PACK_M[2]))
    block = VolumeBlock(this, CUT)
    # The network has another cut, and its middle is 25 K above the outside: 0.3 % of that.
    assert middle(block, block.steady(this)) == pytest.approx(0.0, abs=0.08)


@pytest.mark.parametrize(("by", "combined"), [("lowest", min), ("highest", max), ("mean", np.mean)])
def test_holding_with_several_sensors_against_the_network(by: str, combined: Callable[..., float]) -> None:
    """Between the middle cells and on an end under no film: with that power what decides is at 0 degC."""
    several = "inhibit_below_degC: 0, release_above_degC: 5, sensors: [core, end], decided_by: " + by
    sensors = {"inhibit_below_degC: 0, release_above_degC: 5, sensors: [core]": several}
    watts = value(facts(changes=sensors).find("cool_down.holding_W"))
    this = case(outside_K=-25.0, inside_W_per_m3=watts / (4 * 0.036 * 0.130 * 0.200))
    block = VolumeBlock(this, CUT)
    state = block.steady(this)
    half = 2 * 0.9 / (0.036 / CUT[0])
    behind = state.reshape(block.shape)[0, CUT[1] // 2, CUT[2] // 2]
    end = (half * behind + OUTER * -25.0) / (half + OUTER)
    assert abs(middle(block, state) - end) > 1.0
    assert combined([middle(block, state), end]) == pytest.approx(0.0, abs=0.08)


def test_a_sensor_that_reads_low_inhibits_early_and_wants_more_heat() -> None:
    """The unfavourable ends: fewer hours and more watts than with an exact sensor, at the same losses."""
    wide, exact = facts(), facts(changes=NO_SENSOR_ERROR)
    for name, end in (("hours_to_inhibit", "low"), ("holding_W", "high")):
        worse, better = wide.find(f"cool_down.{name}"), exact.find(f"cool_down.{name}")
        assert isinstance(worse, Quantity)
        assert isinstance(better, Quantity)
        assert worse.worse == end
        further = getattr(worse, end) - getattr(better, end)
        assert further < 0 if end == "low" else further > 0
