"""Packs under a lasting current against lumped balances, scipy's integrators and the sparse network.

The reversible heat is neglected on both sides.
"""

import numpy as np
import pytest
from one_pack import AREA_M2, HEAT_J_PER_KGK, MASS_KG, OUTER, SIZE_M, VOLUME_M3, case, facts
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.sparse import csr_matrix
from volume_block import VolumeBlock

from bmslint.facts import Facts, Missing, Quantity

METAL = (400.0, 400.0)  # a Biot number of 0.0014
START = 30.0


def resistance_ohm(degC: float) -> float:
    """2 mohm at 25 degC and three times that at 0 degC, after Arrhenius."""
    between = (1 / (degC + 273.15) - 1 / 298.15) / (1 / 273.15 - 1 / 298.15)
    return float(2e-3 * 3.0**between)


def number(found: Facts, path: str) -> float:
    item = found.find(path)
    assert isinstance(item, Quantity), item
    return float(item.value)


def discharged(amps: float, trip: str = "{inhibit_above_degC: 55, release_below_degC: 50, sensors: [end]}",
               conductivity: tuple[float, float] = METAL) -> Facts:  # fmt: skip
    old = "{inhibit_above_degC: 55, release_below_degC: 50, sensors: [end]}"
    return facts(conductivity, changes={"continuous_A: 80": f"continuous_A: {amps}", old: trip})


def lumped_end(amps: float) -> float:
    """Where heat made and heat lost are equal (degC)."""
    return float(
        brentq(lambda t: 4 * amps**2 * resistance_ohm(t) - OUTER * AREA_M2 * (t - START), START, 500.0)
    )


@pytest.mark.parametrize("amps", [20.0, 50.0, 80.0, 200.0])
def test_steady_temperature_of_a_lumped_pack(amps: float) -> None:
    """Heat made equals heat lost, by brentq; 0.2 % of the rise is the Biot number's share, contacts in it."""
    found = discharged(amps, "none")
    end = lumped_end(amps)
    for name in ("steady_hottest_degC", "hottest_degC"):
        rise = number(found, f"hot_discharge.{name}") - START
        assert rise == pytest.approx(end - START, rel=2.5e-3)
    assert found.nominal()["hot_discharge"]["trips"] is False
    assert found.find("hot_discharge.steady_reading_degC") == Missing((), "protection.discharge_hot is none")


@pytest.mark.parametrize("amps", [130.0, 150.0, 250.0])
def test_time_to_trip_of_a_lumped_pack(amps: float) -> None:
    """m c dT/dt = I^2 R(T) - U A (T - Tout), R exactly after Arrhenius, by solve_ivp to 55 degC.

    The line for R over 12 K is off by 2.5 % at its ends and by nothing on average: 0.5 % of the time."""
    heat = 4 * MASS_KG * HEAT_J_PER_KGK

    def rate(_: float, t: np.ndarray) -> list[float]:
        return [(4 * amps**2 * resistance_ohm(t[0]) - OUTER * AREA_M2 * (t[0] - START)) / heat]

    def tripped(_: float, t: np.ndarray) -> float:
        return float(t[0] - 55.0)

    tripped.terminal = True  # type: ignore[attr-defined]
    course = solve_ivp(rate, (0.0, 1e6), [START], events=tripped, rtol=1e-9, atol=1e-9)
    minutes = float(course.t_events[0][0]) / 60.0
    found = discharged(amps)
    assert number(found, "hot_discharge.time_to_trip_min") == pytest.approx(minutes, rel=5e-3)
    assert number(found, "hot_discharge.hottest_at_trip_degC") == pytest.approx(55.0, abs=0.1)


@pytest.mark.parametrize("amps", [130.0, 160.0, 320.0])
def test_core_at_the_trip_against_the_network(amps: float) -> None:
    """The network makes heat in each volume by its own temperature, by BDF until its end face reads 55 degC.

    Two cuts into volumes cost 0.1 K and 1 % of the time, the line for R included."""
    this = case()
    block = VolumeBlock(this, (8, 7, 7))
    matrix = csr_matrix(block.reduced / -block.capacity)
    share = block.capacity / this.heat_J_per_m3K / (VOLUME_M3 / 4)  # of one cell's volume
    half = 2 * 0.9 / (SIZE_M[0] / 8)

    def ohms(rise: np.ndarray) -> np.ndarray:
        return 2e-3 * 3.0 ** ((1 / (rise + START + 273.15) - 1 / 298.15) / (1 / 273.15 - 1 / 298.15))

    def rate(_: float, rise: np.ndarray) -> np.ndarray:
        return matrix @ rise + amps**2 * ohms(rise) * share / block.capacity

    def face(_: float, rise: np.ndarray) -> float:
        return float(START + rise.reshape(block.shape)[0, 3, 3] * half / (half + OUTER) - 55.0)

    face.terminal = True  # type: ignore[attr-defined]
    course = solve_ivp(
        rate, (0.0, 1e5), np.zeros(block.number.size), "BDF", events=face, jac=matrix, rtol=1e-6, atol=1e-6
    )
    found = discharged(amps, conductivity=(0.9, 19.0))
    minutes, hottest = float(course.t_events[0][0]) / 60.0, START + float(course.y_events[0].max())
    assert number(found, "hot_discharge.time_to_trip_min") == pytest.approx(minutes, rel=0.01)
    assert number(found, "hot_discharge.hottest_at_trip_degC") == pytest.approx(hottest, abs=0.1)
    above = number(found, "hot_discharge.hottest_above_reading_K")
    assert above == pytest.approx(hottest - 55.0, abs=0.1)
    assert above > 1.0  # a sensor on the outside does not see the core


def test_a_pack_that_settles_below_the_trip_never_trips_and_above_it_does() -> None:
    """The lumped end at 80 A, and a trip a kelvin above and below it."""
    end = lumped_end(80.0)
    for way, trips in ((1.0, False), (-1.0, True)):
        trip = f"{{inhibit_above_degC: {end + way}, release_below_degC: 31, sensors: [end]}}"
        found = discharged(80.0, trip)
        item = found.find("hot_discharge.trips")
        assert isinstance(item, Quantity)
        assert item.value is trips
        assert isinstance(found.find("hot_discharge.hottest_at_trip_degC"), Quantity if trips else Missing)
    assert number(found, "hot_discharge.steady_reading_degC") == pytest.approx(end, abs=0.1)


def test_a_discharge_is_over_before_a_slow_pack_is_hot() -> None:
    """100 Ah at 125 A are 48 min, and the trip comes later: hottest then by the lumped equation."""
    heat = 4 * MASS_KG * HEAT_J_PER_KGK
    course = solve_ivp(
        lambda _, t: [(4 * 125.0**2 * resistance_ohm(t[0]) - OUTER * AREA_M2 * (t[0] - START)) / heat],
        (0.0, 2880.0), [START], rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    found = discharged(125.0)
    assert number(found, "hot_discharge.full_run_min") == 48.0
    assert found.nominal()["hot_discharge"]["trips_in_full_run"] is False
    assert found.nominal()["hot_discharge"]["trips"] is True
    assert number(found, "hot_discharge.hottest_in_full_run_degC") == pytest.approx(
        float(course.y[0, -1]), abs=0.1
    )


def charged(steps: str, linear: bool = False) -> Facts:
    changes = {
        "steps: [{from_degC: 0, max_A: 60}]": f"steps: {steps}",
        "max_A: 60}\nload": "max_A: 500}\nload",
    }
    if linear:
        changes["between_steps: hold"] = "between_steps: linear"
    return facts(METAL, changes={"inhibit_above_degC: 45": "inhibit_above_degC: 90"} | changes)


def test_a_current_step_holds_the_pack_where_it_reduces() -> None:
    """At 80 A the pack would settle far above 40 degC, at 5 A below: so it is held at the step."""
    assert lumped_end(80.0) > 41.0
    assert lumped_end(5.0) < 39.0
    found = charged("[{from_degC: 0, max_A: 80}, {from_degC: 40, max_A: 5}]")
    # Of the sensor and of the step's place, the Biot number's share of 10 K.
    assert number(found, "hot_charge.steady_reading_degC") == pytest.approx(40.0, abs=0.05)
    assert number(found, "hot_charge.current_A") == 80.0


@pytest.mark.parametrize(("low", "high"), [(80.0, 10.0), (120.0, 20.0), (60.0, 40.0)])
def test_a_sloping_current_against_its_balance(low: float, high: float) -> None:
    """Linear from `low` at 30 to `high` at 60 degC; balance by brentq, 0.05 K by the Biot number."""

    def surplus(t: float) -> float:
        amps = low + (high - low) * (t - 30.0) / 30.0
        return 4 * amps**2 * resistance_ohm(t) - OUTER * AREA_M2 * (t - START)

    end = float(brentq(surplus, 30.0, 60.0))
    steps = f"[{{from_degC: 30, max_A: {low}}}, {{from_degC: 60, max_A: {high}}}]"
    found = charged(steps, linear=True)
    assert number(found, "hot_charge.steady_reading_degC") == pytest.approx(end, abs=0.05)


def test_a_path_that_does_not_go_by_the_steps_pushes_on() -> None:
    """40 A within the steps and 60 A beside them: the pack settles where 100 A put it, by brentq."""
    mains, braking = (
        "{name: mains, max_A: 40, obeys: [charge_current]}",
        "{name: braking, max_A: 60, obeys: []}",
    )
    changes = {
        "inhibit_above_degC: 45": "inhibit_above_degC: 90",
        "max_A: 60}]": "max_A: 40}]",
        "charger: {max_A: 60}": f"charge_paths: [{mains}, {braking}]",
    }
    found = facts(METAL, changes=changes)
    assert number(found, "hot_charge.current_A") == 100.0
    rise = number(found, "hot_charge.steady_hottest_degC") - START
    assert rise == pytest.approx(lumped_end(100.0) - START, rel=2.5e-3)


def test_the_delay_counts_before_the_current_ends() -> None:
    """Ten minutes of delay come on top of the time to the reading, and heat the cells on."""
    prompt = discharged(150.0)
    slow = discharged(150.0, "{inhibit_above_degC: 55, release_below_degC: 50, sensors: [end], delay_s: 600}")
    waited = [number(found, "hot_discharge.time_to_trip_min") for found in (prompt, slow)]
    assert waited[1] - waited[0] == pytest.approx(10.0, rel=1e-9)
    hottest = [number(found, "hot_discharge.hottest_at_trip_degC") for found in (prompt, slow)]
    assert hottest[1] > hottest[0] + 1.0


def test_the_unfavourable_resistance_of_a_hot_pack_is_the_one_that_falls_least() -> None:
    """Without a declared ratio: 20 kJ/mol, the low end of the default, and 5.8 W/(m2 K) outside."""
    hot = "discharge_hot: {inhibit_above_degC: 55, release_below_degC: 50, sensors: [end]}"
    changes = {
        "    resistance_ratio_0degC: 3\n": "",
        "continuous_A: 80": "continuous_A: 60",
        hot: "discharge_hot: none",
    }
    found = facts(METAL, changes=changes)

    def surplus(t: float) -> float:
        ohm = 2e-3 * np.exp(20e3 / 8.314462618 * (1 / (t + 273.15) - 1 / 298.15))
        return float(4 * 60.0**2 * ohm - 5.8 * AREA_M2 * (t - START))

    item = found.find("hot_discharge.steady_hottest_degC")
    assert isinstance(item, Quantity)
    assert float(item.high) - START == pytest.approx(float(brentq(surplus, START, 300.0)) - START, rel=3e-3)


def test_no_current_at_the_hottest_site_makes_no_heat() -> None:
    found = charged("[{from_degC: 0, max_A: 80}, {from_degC: 28, max_A: 0}]")
    assert number(found, "hot_charge.current_A") == 0.0
    assert number(found, "hot_charge.hottest_degC") == START
    assert found.find("hot_charge.full_run_min") == Missing((), "no current flows at the hottest site")


def test_without_a_resistance_nothing_is_guessed() -> None:
    found = facts(changes={"    resistance_mohm: 2.0\n    resistance_ratio_0degC: 3\n": ""})
    lacking = Missing(("pack.cell.resistance_mohm",), "not described: pack.cell.resistance_mohm")
    assert set(found.groups["hot_discharge"].values()) == {lacking}
    assert set(found.groups["hot_charge"].values()) == {lacking}


def test_the_unfavourable_ends_lie_on_the_hot_side() -> None:
    """A sensor that reads 1 K low stops at 1 K more: the trip's hottest is 1 K up, the earliest sooner."""
    found = discharged(150.0)
    hottest = found.find("hot_discharge.hottest_at_trip_degC")
    soonest = found.find("hot_discharge.time_to_trip_min")
    assert isinstance(hottest, Quantity)
    assert isinstance(soonest, Quantity)
    assert (hottest.worse, soonest.worse) == ("high", "low")
    assert float(hottest.high) - float(hottest.value) == pytest.approx(1.0, abs=0.1)
    assert float(soonest.low) < float(soonest.value) * 24.0 / 25.0
