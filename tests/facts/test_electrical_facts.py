"""Facts of currents, voltages, short circuit, balancing and storage, worked again by hand."""

from itertools import pairwise
from typing import Any

import pytest
from packs import changed, of_profile
from scipy.integrate import solve_ivp

from bmslint.facts import Missing, Quantity
from bmslint.facts.balance import balance_time
from bmslint.facts.currents import currents
from bmslint.facts.inputs import Inputs
from bmslint.facts.pack_voltage import pack_voltage
from bmslint.facts.quantity import Group
from bmslint.facts.short import short_circuit
from bmslint.facts.standby import standby
from bmslint.limits import load_limits

GROUPS = {
    "balance_time": balance_time,
    "currents": currents,
    "pack_voltage": pack_voltage,
    "short_circuit": short_circuit,
    "standby": standby,
}

# ridge-hut: 8 cells of 230 Ah and 0.6 mohm in series, board draw 8 mA, storage 120 days, short circuit 900 A.
SERIES, CAPACITY, DRAW_A = 8, 230.0, 8e-3
MONTH = 365.25 / 12


def group(name: str, changes: dict[str, Any] | None = None) -> Group:
    document = of_profile("ridge-hut")
    patched = changed(document, changes) if changes else document
    assert patched is not None
    return GROUPS[name](lambda: Inputs(patched.data, load_limits(patched.data)))


def fact(path: str, changes: dict[str, Any] | None = None) -> Quantity | Missing:
    name, _, item = path.partition(".")
    return group(name, changes)[item]


def ends(path: str, changes: dict[str, Any] | None = None) -> tuple[Any, Any, Any]:
    found = fact(path, changes)
    assert isinstance(found, Quantity), found
    return found.low, found.value, found.high


def test_a_whole_fact() -> None:
    """150 mA take 2 % (1 to 5 %) of 230 Ah out in 30.7 h (15.3 to 76.7 h); worked by hand."""
    assert fact("balance_time.balance_hours") == Quantity(
        value=pytest.approx(4.6 / 0.15),
        low=pytest.approx(2.3 / 0.15),
        high=pytest.approx(11.5 / 0.15),
        unit="h",
        basis="default",
        worse="high",
        assumed=("imbalance_pct = 2 (1 to 5)",),
    )


def test_a_bleed_of_nothing_never_balances() -> None:
    assert fact("balance_time.balance_hours", {"balancing.current_mA": 0.0}) == Missing(
        (), "balancing.current_mA is 0: nothing is ever bled"
    )


def test_days_by_counting_each_day() -> None:
    """Coulombs counted day by day in a loop, with the shares that the defaults state."""
    days, held = 0, CAPACITY * 1.02
    while held > 0:
        held -= DRAW_A * 24 + CAPACITY * 0.02 / MONTH
        days += 1
    assert ends("standby.days_from_full")[1] == pytest.approx(days, abs=1)  # the last day is not whole


def test_days_from_a_trip_at_the_lowest_discharge_voltage() -> None:
    """The reserve alone counts: 2 % of 230 Ah against 8 mA and 2 % a month; the ends are worst against worst.
    By scipy's integrator. A measuring error of nothing, so that the trip is where it is set."""
    changes = {"protection.cell_undervoltage.trip_below_V": 2.5, "protection.measurement.cell_mV": 0.0}

    def lasts(reserve_pct: float, own_pct: float) -> float:
        loss = DRAW_A * 24 + CAPACITY * own_pct / 100 / MONTH

        def empty(_: float, y: list[float]) -> float:
            return y[0]

        run = solve_ivp(lambda _, y: [-loss], (0, 3650), [CAPACITY * reserve_pct / 100], events=empty)
        return float(run.t_events[0][0])

    expected = lasts(0.5, 5), lasts(2, 2), lasts(5, 1)
    assert ends("standby.days_from_trip", changes) == pytest.approx(expected, rel=1e-6)  # root finding


def test_a_trip_at_the_voltage_that_harms_leaves_nothing() -> None:
    """Limit case: tripping at 2.0 V, where harm begins, leaves no day."""
    changes = {"protection.cell_undervoltage.trip_below_V": 2.0, "protection.measurement.cell_mV": 0.0}
    assert ends("standby.days_from_trip", changes) == (0.0, 0.0, 0.0)


def test_a_higher_trip_never_shortens_storage() -> None:
    found = [
        ends("standby.days_from_trip", {"protection.cell_undervoltage.trip_below_V": volts})
        for volts in (2.0, 2.2, 2.5, 2.6, 2.8, 3.0)
    ]
    assert all(a <= b for low, high in pairwise(found) for a, b in zip(low, high, strict=True))


@pytest.mark.parametrize(("days", "meets"), [(405.0, (True,) * 3), (406.0, (False, True, True))])
def test_storage_is_met_up_to_the_day(days: float, meets: tuple[bool, ...]) -> None:
    """From full, 100.5 % against 8 mA and 5 % a month last 405.65 days in the worst case (by hand)."""
    worst = CAPACITY * 1.005 / (DRAW_A * 24 + CAPACITY * 0.05 / MONTH)
    assert worst == pytest.approx(405.65, abs=0.005)
    assert ends("standby.meets_storage_days", {"storage.days": days}) == meets


def test_prospective_current_worked_again() -> None:
    """25.6 V over 8 x 0.6 x 50 % + 2 mohm; ends 20 V over 3.84 + 5 mohm, 29.2 V over 1.44 + 0.5 mohm."""
    expected = 20 / 8.84e-3, 25.6 / 4.4e-3, 29.2 / 1.94e-3
    assert ends("short_circuit.prospective_A") == pytest.approx(expected, rel=1e-12)


def test_a_second_string_halves_the_cells_not_the_joints() -> None:
    """25.6 V over 1.2 + 2 mohm; worked by hand."""
    found = ends("short_circuit.prospective_A", {"pack.parallel": 2})
    assert found[1] == pytest.approx(25.6 / 3.2e-3, rel=1e-12)


def test_cold_lowers_and_heat_raises_a_short_circuit() -> None:
    cold, rated, hot = (
        ends(f"short_circuit.{name}")
        for name in ("prospective_coldest_A", "prospective_A", "prospective_hottest_A")
    )
    assert all(a < b < c for a, b, c in zip(cold, rated, hot, strict=True))


@pytest.mark.parametrize(
    ("melting", "first"),
    # 6181 A (16983 A at most, 2328 A at least) for 300 us at 30 degC: 11,460 A2 s (86,530 and 1,625).
    [
        (1_000.0, (True,) * 3),
        (11_400.0, (False, True, True)),
        (80_000.0, (False, False, True)),
        (9e4, (False,) * 3),
    ],
)
def test_fuse_or_board(melting: float, first: tuple[bool, ...]) -> None:
    """What melts first follows from the Joule integral (term of IEC 60269-1); and the melting time agrees."""
    assert ends("short_circuit.fuse_melts_first", {"pack.fuse.melting_A2s": melting}) == first
    low, value, high = ends("short_circuit.fuse_melts_after_us", {"pack.fuse.melting_A2s": melting})
    assert (high <= 300, value <= 300, low <= 300) == first


@pytest.mark.parametrize(
    ("changes", "trips"),
    [
        ({}, False),  # 300 A for 0.3 s: above 190 A after 10 s, below 400 A
        ({"load.surge_A": 420.0}, False),  # above 400 A, but the level waits 0.5 s
        ({"load.surge_A": 420.0, "load.surge_s": 0.5}, True),
        ({"load.surge_s": 10.0}, True),  # 300 A for 10 s reach the first level
        ({"load.surge_A": 950.0}, True),  # the short-circuit level
        ({"load.surge_A": 950.0, "protection.discharge_overcurrent": "none"}, True),
        ({"load.surge_A": 700.0, "protection.discharge_overcurrent": "none"}, False),
    ],
)
def test_surge(changes: dict[str, Any], trips: bool) -> None:
    assert ends("currents.surge_trips", changes) == (trips, trips, trips)


def test_a_surge_within_the_measuring_error_may_trip() -> None:
    """398 A against 400 A read with 1 %: nominally not, in the worst case yes."""
    changes = {"load.surge_A": 398.0, "load.surge_s": 1.0}
    assert ends("currents.surge_trips", changes) == (False, False, True)


def test_what_a_surge_needs_is_named() -> None:
    """The level that the surge reaches has no delay."""
    levels = [{"trip_above_A": 190.0}, {"trip_above_A": 400.0, "delay_ms": 500.0}]
    assert fact("currents.surge_trips", {"protection.discharge_overcurrent": levels}) == Missing(
        ("protection.discharge_overcurrent[0].delay_s",),
        "not described: protection.discharge_overcurrent[0].delay_s",
    )


@pytest.mark.parametrize(
    ("levels", "ordered"),
    [
        ([(190.0, 10.0), (400.0, 0.5)], True),
        ([(400.0, 0.5), (190.0, 10.0)], True),  # the order in the file counts for nothing
        ([(190.0, 0.5), (400.0, 10.0)], False),
        ([(190.0, 10.0), (400.0, 10.0)], False),
        ([(190.0, 10.0), (190.0, 0.5)], False),
        ([(190.0, 10.0)], True),
    ],
)
def test_levels_in_order(levels: list[tuple[float, float]], ordered: bool) -> None:
    entries = [{"trip_above_A": amperes, "delay_s": seconds} for amperes, seconds in levels]
    changes = {"protection.discharge_overcurrent": entries}
    assert ends("currents.discharge_trips_ordered", changes) == (ordered,) * 3


PATHS = "charge_paths"
MAINS, SUN, SILENT = {"name": "mains", "max_A": 60.0}, {"name": "sun", "max_A": 25.0}, {"name": "wind"}


def test_all_paths_push_together() -> None:
    assert ends("currents.charge_paths_A", {PATHS: [MAINS, SUN]}) == (85.0, 85.0, 85.0)
    assert ends("currents.charge_paths_A", {PATHS: []}) == (60.0, 60.0, 60.0)  # the charger alone
    assert fact("currents.charge_paths_A", {PATHS: [MAINS, SILENT]}) == Missing(
        ("charge_paths[1].max_A",), "not described: charge_paths[1].max_A"
    )


def test_cells_side_by_side_bear_more() -> None:
    """The profile's cell bears 115 A charging at its best and 230 A discharging; two bear twice."""
    names = ("currents.charge_allowed_A", "currents.discharge_allowed_A")
    assert [ends(name, {"pack.parallel": 2})[1] for name in names] == [230.0, 460.0]


def test_voltages_by_cell_and_by_pack() -> None:
    """8 cells: limits 3.65 and 2.5 V, trips 3.60 V (5 mV) and 28.8 V (50 mV), charger 28.0 V; by hand."""
    expected = {
        "cells_max_V": (29.2, 29.2, 29.2),
        "cells_min_V": (20.0, 20.0, 20.0),
        "cells_nominal_V": (25.6, 25.6, 25.6),
        "cell_overvoltage_V": (3.595, 3.6, 3.605),
        "cell_undervoltage_V": (2.695, 2.7, 2.705),
        "second_overvoltage_V": (3.795, 3.8, 3.805),
        "cells_at_overvoltage_V": (28.76, 28.8, 28.84),
        "cells_at_undervoltage_V": (21.56, 21.6, 21.64),
        "pack_overvoltage_per_cell_V": (3.59375, 3.6, 3.60625),
        "pack_undervoltage_per_cell_V": (2.74375, 2.75, 2.75625),
        "charger_per_cell_V": (3.5, 3.5, 3.5),
        "charger_cold_per_cell_V": (3.5, 3.5, 3.5),
        "float_per_cell_V": (3.375, 3.375, 3.375),
        "charger_trips_cells": (False, False, False),
        "charger_trips_pack": (False, False, False),
        "overvoltage_pack_above_cell_V": (-0.01125, 0.0, 0.01125),
        "undervoltage_pack_above_cell_V": (0.03875, 0.05, 0.06125),
        "second_above_first": (True, True, True),
    }
    items = group("pack_voltage").items()
    found = {name: (item.low, item.value, item.high) for name, item in items if isinstance(item, Quantity)}
    assert found == {name: pytest.approx(values, abs=1e-9) for name, values in expected.items()}


def test_cold_compensation_counts_from_25_degC() -> None:
    """At -15 degC, 40 K below, 24 mV/K raise 28.0 V by 0.96 V; worked by hand."""
    found = ends("pack_voltage.charger_cold_per_cell_V", {"charger.cold_compensation_mV_per_K": 24.0})
    assert found[1] == pytest.approx(28.96 / 8, abs=1e-9)


@pytest.mark.parametrize(
    ("bulk", "trips"), [(28.7, (False,) * 3), (28.79, (False, False, True)), (28.9, (True,) * 3)]
)
def test_a_charger_at_the_trip(bulk: float, trips: tuple[bool, ...]) -> None:
    """Cells trip at 3.600 V and 5 mV, times 8: 28.76 to 28.84 V."""
    assert ends("pack_voltage.charger_trips_cells", {"charger.bulk_V": bulk}) == trips


def test_reserve_above_the_lowest_discharge_voltage_is_read_off_the_curve() -> None:
    """The curve rises by 0.837 V over its first 1 %: 2.5 to 2.7 V, give or take 5 and 20 mV; by hand."""
    expected = 0.5 + 0.175 / 0.837, 2 + 0.2 / 0.837, 5 + 0.225 / 0.837
    assert ends("standby.reserve_at_trip_pct") == pytest.approx(expected, rel=1e-9)


def test_charge_needed_by_coulomb_counting() -> None:
    """120 days of 8 mA and of 1, 2 and 5 % a month, less the reserve of 5, 2 and 0.5 %."""
    board = DRAW_A * 24 * 120 / CAPACITY * 100
    expected = board + 120 / MONTH - 5, board + 240 / MONTH - 2, board + 600 / MONTH - 0.5
    assert ends("standby.charge_needed_pct") == pytest.approx(expected, rel=1e-9)


def test_colder_than_the_discharge_inhibit_the_pack_is_off() -> None:
    """The profile stops discharging below -16 degC."""
    at, below = (
        ends("short_circuit.prospective_coldest_A", {"site.coldest_degC": degC}) for degC in (-16.0, -40.0)
    )
    assert at == below


@pytest.mark.parametrize(
    ("trip", "trips"), [(840.0, (True,) * 3), (853.0, (False, True, True)), (2900.0, (False, False, True))]
)
def test_a_weak_short_circuit_may_not_trip(trip: float, trips: tuple[bool, ...]) -> None:
    """At the coldest 857.6, 2848 and 9152 A flow; the board reads with an error of 1 %."""
    assert ends("short_circuit.trips", {"protection.short_circuit.trip_above_A": trip}) == trips


@pytest.mark.parametrize(
    ("most", "above"),
    [(2e3, (True,) * 3), (4e3, (False, True, True)), (1e4, (False, False, True)), (17e3, (False,) * 3)],
)
def test_what_the_board_can_interrupt(most: float, above: tuple[bool, ...]) -> None:
    """At the hottest 2328, 6181 and 16,984 A flow."""
    assert ends("short_circuit.above_board_max", {"pack.board.short_circuit_max_A": most}) == above


@pytest.mark.parametrize(
    ("amperes", "trips"),
    [(89.0, (False,) * 3), (90.0, (False, False, True)), (90.5, (False, True, True)), (91.0, (True,) * 3)],
)
def test_charging_at_the_trip(amperes: float, trips: tuple[bool, ...]) -> None:
    """The level is 90 A, read with an error of 1 %: 89.1 to 90.9 A."""
    assert ends("currents.charging_trips", {"charge_paths[0].max_A": amperes}) == trips


def test_a_level_quicker_than_the_short_circuit_is_out_of_order() -> None:
    quick = [{"trip_above_A": 400.0, "delay_ms": 0.2}]
    assert ends("currents.short_circuit_ordered", {"protection.discharge_overcurrent": quick}) == (False,) * 3


def test_second_overvoltage_within_the_error_may_come_first() -> None:
    """3.605 V against 3.600 V, each read with 5 mV."""
    changes = {"protection.second_overvoltage.trip_above_V": 3.605}
    assert ends("pack_voltage.second_above_first", changes) == (False, True, True)
