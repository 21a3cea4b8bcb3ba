"""Voltages of pack, charger and cells brought to one measure: volts of one cell, and of the whole pack.

Validity: cells in series share the pack's voltage evenly.
Source: Kirchhoff's voltage law; definitions.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, Property
from bmslint.facts.quantity import Group
from bmslint.facts.single import (
    Derive,
    Single,
    Triple,
    cell_off,
    gather,
    limit,
    pack_off,
    same,
    settings,
    triple,
)

GROUP = "pack_voltage"
# What `charger.cold_compensation_mV_per_K` counts from.
COMPENSATED_FROM_DEGC = 25.0
CELL_OVER = "protection.cell_overvoltage.trip_above_V"
CELL_UNDER = "protection.cell_undervoltage.trip_below_V"
PACK_OVER = "protection.pack_overvoltage.trip_above_V"
PACK_UNDER = "protection.pack_undervoltage.trip_below_V"
SECOND = "protection.second_overvoltage.trip_above_V"


def pack_voltage(make: Callable[[], Inputs]) -> Group:
    """Derive pack voltages by cell and cell voltages by pack.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `pack_voltage`. A trip's range is the true voltage at which it trips, over the error of
        the board's measurement; a pack's voltage counts as shared evenly by its cells.
    """
    return gather(make, GROUP, DERIVED)


def _series(inputs: Inputs) -> float:
    (series,) = settings(inputs, "pack.series")
    return float(series)


def _cells(name: str) -> Derive:
    """Derive a cell limit times the number in series (V)."""
    return lambda inputs: same(limit(inputs, name) * _series(inputs))


def _cell_trip(path: str) -> Derive:
    return lambda inputs: triple(cell_off(inputs, *settings(inputs, path)))


def _all_at(path: str) -> Derive:
    """Derive the pack voltage (V) with every cell at its own trip."""
    return lambda inputs: triple(cell_off(inputs, *settings(inputs, path)).scaled(_series(inputs)))


def _pack_trip(path: str) -> Callable[[Inputs], Property]:
    return lambda inputs: pack_off(inputs, *settings(inputs, path))


def _per_cell(path: str) -> Derive:
    """Derive a pack trip's voltage for each cell (V)."""
    return lambda inputs: triple(_pack_trip(path)(inputs).scaled(1.0 / _series(inputs)))


def _charger(path: str) -> Derive:
    return lambda inputs: same(settings(inputs, path)[0] / _series(inputs))


def _bulk_cold_V(inputs: Inputs) -> float:
    """Give the charger's voltage (V, whole pack) at the coldest site temperature."""
    bulk, rise, coldest = settings(
        inputs, "charger.bulk_V", "charger.cold_compensation_mV_per_K", "site.coldest_degC"
    )
    return max(float(bulk) + float(rise) / 1e3 * max(COMPENSATED_FROM_DEGC - float(coldest), 0.0), 0.0)


def _charger_cold(inputs: Inputs) -> Triple:
    return same(_bulk_cold_V(inputs) / _series(inputs))


def _charger_trips_cells(inputs: Inputs) -> Triple:
    """Derive whether equal cells at the charger's voltage trip the cell over-voltage."""
    cell = settings(inputs, "charger.bulk_V")[0] / _series(inputs)
    trip = cell_off(inputs, *settings(inputs, CELL_OVER))
    return cell > trip.high, cell > trip.value, cell > trip.low


def _charger_trips_pack(inputs: Inputs) -> Triple:
    """Derive whether the charger's voltage trips the pack over-voltage."""
    (bulk,) = settings(inputs, "charger.bulk_V")
    trip = _pack_trip(PACK_OVER)(inputs)
    return bulk > trip.high, bulk > trip.value, bulk > trip.low


def _pack_above_cell(pack_path: str, cell_path: str) -> Derive:
    """Derive how far (V for each cell) the pack's trip lies above the cells' own."""

    def derive(inputs: Inputs) -> Triple:
        pack = _pack_trip(pack_path)(inputs).scaled(1.0 / _series(inputs))
        cell = cell_off(inputs, *settings(inputs, cell_path))
        return pack.low - cell.high, pack.value - cell.value, pack.high - cell.low

    return derive


def _second_above_first(inputs: Inputs) -> Triple:
    """Derive whether the second over-voltage lies above the first, both with the cell measurement's error."""
    second, first = (cell_off(inputs, *settings(inputs, path)) for path in (SECOND, CELL_OVER))
    return second.low > first.high, second.value > first.value, second.high > first.low


DERIVED = {
    "cells_max_V": Single(_cells("charge_max_V"), "low"),
    "cells_min_V": Single(_cells("discharge_min_V"), "high"),
    "cells_nominal_V": Single(_cells("nominal_V")),
    "cell_overvoltage_V": Single(_cell_trip(CELL_OVER), "high"),
    "cell_undervoltage_V": Single(_cell_trip(CELL_UNDER), "low"),
    "second_overvoltage_V": Single(_cell_trip(SECOND), "high"),
    "cells_at_overvoltage_V": Single(_all_at(CELL_OVER), "high"),
    "cells_at_undervoltage_V": Single(_all_at(CELL_UNDER), "low"),
    "pack_overvoltage_per_cell_V": Single(_per_cell(PACK_OVER), "high"),
    "pack_undervoltage_per_cell_V": Single(_per_cell(PACK_UNDER), "low"),
    "charger_per_cell_V": Single(_charger("charger.bulk_V"), "high"),
    "charger_cold_per_cell_V": Single(_charger_cold, "high"),
    "float_per_cell_V": Single(_charger("charger.float_V"), "high"),
    "charger_trips_cells": Single(_charger_trips_cells, "high"),
    "charger_trips_pack": Single(_charger_trips_pack, "high"),
    "overvoltage_pack_above_cell_V": Single(_pack_above_cell(PACK_OVER, CELL_OVER)),
    "undervoltage_pack_above_cell_V": Single(_pack_above_cell(PACK_UNDER, CELL_UNDER)),
    "second_above_first": Single(_second_above_first, "low"),
}
