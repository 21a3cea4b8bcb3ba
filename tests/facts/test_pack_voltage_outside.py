"""Voltages of cells and of the pack against a chain of cells by Kirchhoff's laws and a stepped board."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from board_model import Level, trips_at_s
from electrical_pack import electrical
from nodes import Branch, pack, solve
from scipy.integrate import quad
from scipy.optimize import brentq

from bmslint.facts import Quantity

# The profile measures a cell to 5 mV and the pack to 50 mV.
CELL_OFF, PACK_OFF = 5e-3, 50e-3


def ends(name: str, changes: dict[str, Any]) -> tuple[Any, Any, Any]:
    found = electrical(changes).find(f"pack_voltage.{name}")
    assert isinstance(found, Quantity), found
    return found.low, found.value, found.high


def poles_V(series: int, cell_V: float) -> float:
    """The pack's voltage with each cell at rest at one, by the network; a megohm across the poles."""
    return float(solve([*pack(series, 1, cell_V, 1e-3), Branch(series, 0, 1e6)])[0][series])


def shares_V(series: int, pack_V: float) -> np.ndarray:
    """Each cell's voltage with a charger across the chain and the cells alike, by the network."""
    chain = [*pack(series, 1, 0.0, 1e-3), Branch(0, series, 1e-9, pack_V)]
    return np.diff(solve(chain)[0])


@pytest.mark.parametrize("series", [1, 4, 8, 16])
def test_limits_of_all_cells_at_the_poles(series: int) -> None:
    """Lowest, nominal and highest voltage of the profile's cells; a megohm takes nothing."""
    for name, cell_V in (("cells_max_V", 3.65), ("cells_nominal_V", 3.2), ("cells_min_V", 2.5)):
        expected = poles_V(series, cell_V)
        assert ends(name, {"pack.series": series}) == pytest.approx((expected,) * 3, rel=1e-7)


@pytest.mark.parametrize("series", [4, 8, 15])
@pytest.mark.parametrize("volts", [13.6, 28.0, 54.0])
def test_a_charger_is_shared_by_a_chain_of_cells(series: int, volts: float) -> None:
    """By the network, to what a charger of a nanohm loses."""
    changes = {"pack.series": series, "charger.bulk_V": volts, "charger.float_V": volts - 1.0}
    assert ends("charger_per_cell_V", changes) == pytest.approx([shares_V(series, volts)[0]] * 3, rel=1e-6)
    assert ends("float_per_cell_V", changes) == pytest.approx([shares_V(series, volts - 1)[0]] * 3, rel=1e-6)


def onset_V(trips: Callable[[float], bool], low: float, high: float) -> float:
    """Where a board begins to trip as a voltage rises, by bisection to a microvolt."""
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (low, middle) if trips(middle) else (middle, high)
    return high


def lasting(level: float, measured: Callable[[float], float]) -> Callable[[float], bool]:
    """Whether a voltage that lasts trips a level after its delay of a second."""
    return lambda volts: trips_at_s([Level(level, 1.0)], lambda _: volts, measured, 1.1, 0.1) is not None


@pytest.mark.parametrize("trip_V", [3.45, 3.6, 3.68])
def test_a_cell_trips_where_a_stepped_board_does(trip_V: float) -> None:
    """The true voltage of a cell, and of the whole pack with all cells alike, with the reading off either
    way; the latter by the network's poles."""
    changes = {"protection.cell_overvoltage.trip_above_V": trip_V}
    expected = [
        onset_V(lasting(trip_V, lambda true, o=off: true + o), 2.0, 5.0) for off in (CELL_OFF, 0, -CELL_OFF)
    ]
    assert ends("cell_overvoltage_V", changes) == pytest.approx(expected, abs=2e-6)
    poles = [poles_V(8, volts) for volts in expected]
    assert ends("cells_at_overvoltage_V", changes) == pytest.approx(poles, abs=2e-5)


@pytest.mark.parametrize("trip_V", [2.5, 2.8, 3.0])
def test_a_cell_that_empties_trips_where_a_stepped_board_does(trip_V: float) -> None:
    """The same downwards: what the board compares is how far the voltage is below."""
    changes = {"protection.cell_undervoltage.trip_below_V": trip_V}
    expected = [
        -onset_V(lasting(-trip_V, lambda true, o=off: true - o), -5.0, -1.0)
        for off in (CELL_OFF, 0.0, -CELL_OFF)
    ]
    assert ends("cell_undervoltage_V", changes) == pytest.approx(expected, abs=2e-6)
    poles = [poles_V(8, volts) for volts in expected]
    assert ends("cells_at_undervoltage_V", changes) == pytest.approx(poles, abs=2e-5)


@pytest.mark.parametrize("trip_V", [28.0, 28.8, 29.6])
def test_a_pack_trips_where_each_cell_then_is(trip_V: float) -> None:
    """The charger's voltage is raised until the stepped board trips by the pack; each cell's share of it by
    the network. How far above the cells' own trip: worst against worst."""
    path = "protection.pack_overvoltage.trip_above_V"
    at = [
        onset_V(lasting(trip_V, lambda true, o=off: true + o), 20.0, 40.0) for off in (PACK_OFF, 0, -PACK_OFF)
    ]
    each = [shares_V(8, volts)[3] for volts in at]
    assert ends("pack_overvoltage_per_cell_V", {path: trip_V}) == pytest.approx(each, abs=2e-6)
    apart = each[0] - 3.605, each[1] - 3.600, each[2] - 3.595
    assert ends("overvoltage_pack_above_cell_V", {path: trip_V}) == pytest.approx(apart, abs=4e-6)


@pytest.mark.parametrize("bulk_V", [28.0, 28.77, 28.83, 28.86])
def test_a_charger_on_a_stepped_board(bulk_V: float) -> None:
    """Whether cells of 3.600 V and the pack of 28.8 V trip, with readings low, exact and high; the charger's
    voltage shared by the network's chain."""
    cell = float(shares_V(8, bulk_V)[0])
    changes = {"charger.bulk_V": bulk_V}
    cells = [lasting(3.6, lambda true, o=off: true + o)(cell) for off in (-CELL_OFF, 0.0, CELL_OFF)]
    packs = [lasting(28.8, lambda true, o=off: true + o)(bulk_V) for off in (-PACK_OFF, 0.0, PACK_OFF)]
    assert ends("charger_trips_cells", changes) == tuple(cells)
    assert ends("charger_trips_pack", changes) == tuple(packs)


@pytest.mark.parametrize(("second_V", "expected"), [(3.595, 0), (3.605, 1), (3.7, 2)])
def test_second_overvoltage_by_every_pair_of_readings(second_V: float, expected: int) -> None:
    """A cell rises through both levels on stepped boards of their own, each off by 5 mV either way or not:
    the second trips later in every case, in the exact one, or not even there."""
    later = {
        (a, b): onset_V(lasting(second_V, lambda true, o=a: true + o), 3.0, 4.0)
        > onset_V(lasting(3.6, lambda true, o=b: true + o), 3.0, 4.0) + 1e-5
        for a in (-CELL_OFF, 0.0, CELL_OFF)
        for b in (-CELL_OFF, 0.0, CELL_OFF)
    }
    told = (all(later.values()), later[0.0, 0.0], any(later.values()))
    assert sum(told[:2]) == expected
    assert ends("second_above_first", {"protection.second_overvoltage.trip_above_V": second_V}) == told


@pytest.mark.parametrize(("coldest", "mV_per_K"), [(0.0, 24.0), (-15.0, 24.0), (-20.0, 12.0), (30.0, 24.0)])
def test_cold_compensation_by_quadrature(coldest: float, mV_per_K: float) -> None:
    """The slope added up by scipy from the site's coldest to 25 degC, where chargers' voltages are rated, and
    nothing above it. 24 mV/K are six lead cells of 4 mV/K (common practice): 14.4 V at 25 become 15.0 V at
    0 degC. Rounding of a quadrature."""
    changes = {
        "charger.cold_compensation_mV_per_K": mV_per_K,
        "site.coldest_degC": coldest,
        "site.hottest_degC": 40.0,
    }
    raised = quad(lambda t: mV_per_K / 1e3 if t < 25.0 else 0.0, coldest, max(coldest, 25.0))[0]
    expected = float(shares_V(8, 28.0 + raised)[0])
    assert ends("charger_cold_per_cell_V", changes) == pytest.approx((expected,) * 3, rel=1e-6)
    assert quad(lambda t: 0.024, 0.0, 25.0)[0] == pytest.approx(15.0 - 14.4)


def test_one_cell_is_the_pack() -> None:
    """Limit: one cell in series, so what the pack shows is the cell; where a charge of the cell ends by
    brentq on the chain is its trip."""
    changes = {"pack.series": 1, "charger.bulk_V": 3.5, "protection.pack_overvoltage.trip_above_V": 3.6}
    assert ends("charger_per_cell_V", changes) == pytest.approx((3.5, 3.5, 3.5), rel=1e-12)
    assert ends("cells_at_overvoltage_V", changes) == ends("cell_overvoltage_V", changes)
    assert ends("overvoltage_pack_above_cell_V", changes)[1] == pytest.approx(0.0, abs=1e-12)
    root = brentq(lambda volts: float(shares_V(1, volts)[0]) - 3.6, 3.0, 4.0)
    assert ends("pack_overvoltage_per_cell_V", changes)[1] == pytest.approx(root, rel=1e-6)
