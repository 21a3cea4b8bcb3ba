"""Currents and over-current levels against Kirchhoff's laws and a board that is stepped through time."""

from typing import Any

import pytest
from board_model import Level, trips_at_s
from electrical_pack import electrical
from nodes import Branch, pack, solve
from scipy.optimize import brentq

from bmslint.facts import Quantity

CHARGE, DISCHARGE = "protection.charge_overcurrent", "protection.discharge_overcurrent"


def ends(name: str, changes: dict[str, Any]) -> tuple[Any, Any, Any]:
    found = electrical(changes).find(f"currents.{name}")
    assert isinstance(found, Quantity), found
    return found.low, found.value, found.high


@pytest.mark.parametrize("paths", [(60.0,), (60.0, 25.0), (40.0, 12.5, 7.5)])
def test_what_paths_push_in_together_flows_through_the_pack(paths: tuple[float, ...]) -> None:
    """Each path a source of current on the pack's pole; what flows through its lowest group."""
    entries = [{"name": f"path {n}", "max_A": amps, "obeys": []} for n, amps in enumerate(paths)]
    pushed: dict[int, float] = {}
    for amps in paths:
        pushed[8] = pushed.get(8, 0.0) + amps
    branches = pack(8, 1, 3.3, 0.6e-3)
    flowing = -float(solve(branches, pushed)[1][0])
    assert ends("charge_paths_A", {"charge_paths": entries}) == pytest.approx((flowing,) * 3, rel=1e-9)


@pytest.mark.parametrize("parallel", [1, 2, 5])
@pytest.mark.parametrize(
    ("name", "cell_A"),
    # The profile's cell: 115 A charging at its best, 230 A lastingly and 460 A for 10 s discharging.
    [("charge_allowed_A", 115.0), ("discharge_allowed_A", 230.0), ("pulse_allowed_A", 460.0)],
)
def test_cells_side_by_side_bear_what_brings_each_to_its_limit(
    name: str, cell_A: float, parallel: int
) -> None:
    """The pack's current at which the first cell of the network is at its limit, by scipy's brentq."""

    def beyond(pack_A: float) -> float:
        flows = solve(pack(8, parallel, 3.3, 0.6e-3), {8: pack_A})[1]
        return float(abs(flows).max()) - cell_A

    most = float(brentq(beyond, 1.0, 1e4, xtol=1e-9))
    assert ends(name, {"pack.parallel": parallel}) == pytest.approx((most,) * 3, rel=1e-9)


LEVELS = {
    "profile": [(190.0, 10.0), (400.0, 0.5)],
    "high first": [(400.0, 0.5), (190.0, 10.0)],
    "slow high one": [(150.0, 0.2), (300.0, 2.0)],
    "three": [(120.0, 8.0), (200.0, 2.0), (500.0, 0.1)],
}


def board(levels: list[tuple[float, float]]) -> list[Level]:
    return [Level(*each) for each in levels]


def entries(levels: list[tuple[float, float]]) -> list[dict[str, float]]:
    return [{"trip_above_A": amps, "delay_s": seconds} for amps, seconds in levels]


@pytest.mark.parametrize("name", LEVELS)
@pytest.mark.parametrize("error_pct", [0.0, 1.0, 3.0])
def test_a_level_trips_at_the_current_at_which_a_stepped_board_does(name: str, error_pct: float) -> None:
    """A lasting current on a board whose sensor is off either way by that share of the level's setting: the
    least that trips at all is the lowest level, and with the highest level alone the least is that. By
    bisection to a milliampere."""
    levels = LEVELS[name]
    changes = {DISCHARGE: entries(levels), "protection.measurement.current_pct": error_pct}

    def least(of: list[tuple[float, float]], off: float) -> float:
        low, high = 0.0, 1e4
        while high - low > 1e-3:
            middle = (low + high) / 2
            # The error is a share of the setting, so each level has a comparator of its own.
            trip = any(
                trips_at_s([Level(amps, delay)], lambda _, m=middle: m, lambda true, a=amps: true + off * a,
                           delay + 0.1, 0.05)
                for amps, delay in of
            )  # fmt: skip
            low, high = (low, middle) if trip else (middle, high)
        return high

    share = error_pct / 100.0
    expected = [least(levels, off) for off in (share, 0.0, -share)]
    assert ends("lowest_discharge_trip_A", changes) == pytest.approx(expected, abs=2e-3)
    highest = max(levels)
    expected = [least([highest], off) for off in (share, 0.0, -share)]
    assert ends("highest_discharge_trip_A", changes) == pytest.approx(expected, abs=2e-3)


def each_has_its_place(levels: list[Level], step_s: float) -> bool:
    """Whether at a current just above any level that one is the first to trip."""
    return all(
        came is not None and came[1] == index
        for index, level in enumerate(levels)
        for came in [trips_at_s(levels, lambda _, a=1.001 * level.above: a, lambda true: true, 20.0, step_s)]
    )


@pytest.mark.parametrize("name", [*LEVELS, "alike"])
def test_levels_are_in_order_where_each_has_its_place(name: str) -> None:
    """On the stepped board; two levels after the same time are no two levels."""
    levels = LEVELS.get(name, [(190.0, 2.0), (400.0, 2.0)])
    found = ends("discharge_trips_ordered", {DISCHARGE: entries(levels)})
    assert found == (each_has_its_place(board(levels), 0.01),) * 3


@pytest.mark.parametrize(
    "levels", [[(190.0, 0.05), (400.0, 0.01)], [(400.0, 2e-4)], [(190.0, 0.05), (900.0, 0.01)]]
)
def test_the_short_circuit_level_is_in_order_where_each_has_its_place(
    levels: list[tuple[float, float]],
) -> None:
    """With 800 A after 300 us beside them; steps of 0.1 ms."""
    every = [*board(levels), Level(800.0, 300e-6)]
    found = ends("short_circuit_ordered", {DISCHARGE: entries(levels)})
    assert found == (each_has_its_place(every, 1e-4),) * 3


@pytest.mark.parametrize(
    ("surge_A", "surge_s"),
    [(150.0, 20.0), (195.0, 5.0), (195.0, 12.0), (410.0, 0.2), (410.0, 0.7), (700.0, 0.1), (850.0, 0.1)],
)
def test_a_surge_on_a_stepped_board(surge_A: float, surge_s: float) -> None:
    """The profile's levels and its short-circuit level of 800 A after 300 us, exact: 0.1 ms steps, or for a
    surge of seconds 10 ms."""
    step = 1e-4 if surge_s < 1.0 else 1e-2
    levels = [*board(LEVELS["profile"]), Level(800.0, 300e-6)]
    came = trips_at_s(levels, lambda _: surge_A, lambda true: true, surge_s, step)
    changes = {"load.surge_A": surge_A, "load.surge_s": surge_s, "protection.measurement.current_pct": 0.0}
    assert ends("surge_trips", changes) == (came is not None,) * 3


@pytest.mark.parametrize(("paths_A", "load_A"), [(80.0, 180.0), (89.5, 189.0), (90.5, 191.0), (95.0, 200.0)])
def test_lasting_currents_on_a_stepped_board(paths_A: float, load_A: float) -> None:
    """Charge level 90 A after 5 s and lowest discharge level 190 A after 10 s, the sensor off by 1 % of the
    level: trips at the end that reads high, exactly, and at the end that reads low."""
    changes = {
        "charge_paths": [{"name": "one", "max_A": paths_A, "obeys": []}],
        "load.continuous_A": load_A,
        "protection.measurement.current_pct": 1.0,
    }
    for name, level, amps in (
        ("charging_trips", Level(90.0, 5.0), paths_A), ("load_trips", Level(190.0, 10.0), load_A)
    ):  # fmt: skip
        came = [
            trips_at_s([level], lambda _, a=amps: a, lambda true, o=off: true + o, 20.0, 0.05) is not None
            for off in (-0.01 * level.above, 0.0, 0.01 * level.above)
        ]
        assert ends(name, changes) == tuple(came)


def test_one_path_one_cell_one_level() -> None:
    """Limit: with one of each, pack and cell are the same, and lowest and highest level too."""
    changes = {
        "charge_paths": [{"name": "one", "max_A": 33.0, "obeys": []}],
        "pack.parallel": 1,
        CHARGE: [{"trip_above_A": 90.0, "delay_s": 5.0}],
    }
    assert ends("charge_paths_A", changes) == (33.0, 33.0, 33.0)
    assert ends("charge_allowed_A", changes) == (115.0, 115.0, 115.0)
    assert ends("lowest_charge_trip_A", changes) == ends("highest_charge_trip_A", changes)
    delays = ends("lowest_charge_trip_delay_s", changes), ends("highest_charge_trip_delay_s", changes)
    assert delays == ((5.0, 5.0, 5.0), (5.0, 5.0, 5.0))
    assert solve([Branch(0, 1, 1.0, 2.0), Branch(1, 0, 3.0)])[1].tolist() == pytest.approx([0.5, 0.5])
