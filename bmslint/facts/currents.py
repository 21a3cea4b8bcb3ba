"""Currents of the whole pack side by side: what pushes in, what the cells bear, where the board trips.

Validity: sensors of current are off by no more than the stated error.
Source: definitions, and Kirchhoff's current law for paths and cells side by side.
"""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.quantity import Group
from bmslint.facts.single import (
    NONE,
    Single,
    Triple,
    current_off,
    gather,
    limit,
    parallel,
    same,
    settings,
    triple,
)

GROUP = "currents"
CHARGE, DISCHARGE = "protection.charge_overcurrent", "protection.discharge_overcurrent"


def currents(make: Callable[[], Inputs]) -> Group:
    """Derive the pack's currents and its over-current levels.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `currents`. A level's range is the true current at which it trips, over the error of the
        board's measurement.
    """
    return gather(make, GROUP, DERIVED)


def _paths_A(inputs: Inputs) -> float:
    """Give what everything that can push in pushes in together (A)."""
    paths = inputs.find("charge_paths")
    if not paths:
        (most,) = settings(inputs, "charger.max_A")
        return float(most)
    silent = tuple(f"charge_paths[{index}].max_A" for index, path in enumerate(paths) if "max_A" not in path)
    if silent:
        raise LackingError(silent, "not described: " + ", ".join(silent))
    return float(sum(path["max_A"] for path in paths))


def _charge_allowed(inputs: Inputs) -> Triple:
    rows = inputs.limits.data.get("charge_current")
    if not rows:
        paths = inputs.limits.missing.get("charge_current", ("pack.cell.limits.charge_current",))
        raise LackingError(paths, "not known: how much current the cell bears while charging")
    inputs.bases.add(inputs.limits.sources["charge_current"].basis)
    return same(max(row["max_A"] for row in rows) * parallel(inputs))


def _discharge_allowed(inputs: Inputs) -> Triple:
    return same(limit(inputs, "discharge_max_A") * parallel(inputs))


def _pulse_allowed(inputs: Inputs) -> Triple:
    (most,) = settings(inputs, "pack.cell.limits.pulse_max_A")
    inputs.bases.add("cell maker")
    return same(most * parallel(inputs))


def _levels(inputs: Inputs, path: str) -> list[tuple[str, dict[str, Any]]]:
    """Give the levels of a protection with their paths, from the lowest current up."""
    (levels,) = settings(inputs, path)
    named = [(f"{path}[{index}]", level) for index, level in enumerate(levels)]
    silent = tuple(f"{name}.trip_above_A" for name, level in named if "trip_above_A" not in level)
    if silent or not named:
        lacking = silent or (path,)
        raise LackingError(lacking, "not described: " + ", ".join(lacking))
    return sorted(named, key=lambda item: float(item[1]["trip_above_A"]))


def _delay_s(name: str, level: dict[str, Any]) -> float:
    """Give the delay of a level (s)."""
    if "delay_s" in level:
        return float(level["delay_s"])
    if "delay_ms" in level:
        return float(level["delay_ms"]) / 1e3
    raise LackingError((f"{name}.delay_s",), f"not described: {name}.delay_s")


def _trip(path: str, which: int) -> Callable[[Inputs], Triple]:
    """Derive the true current of the lowest (0) or highest (-1) level."""

    def derive(inputs: Inputs) -> Triple:
        level = _levels(inputs, path)[which][1]
        return triple(current_off(inputs, level["trip_above_A"]))

    return derive


def _delay(path: str, which: int) -> Callable[[Inputs], Triple]:
    def derive(inputs: Inputs) -> Triple:
        return same(_delay_s(*_levels(inputs, path)[which]))

    return derive


def _ordered(path: str) -> Callable[[Inputs], Triple]:
    """Derive whether every higher level is also quicker."""

    def derive(inputs: Inputs) -> Triple:
        levels = [(level["trip_above_A"], _delay_s(name, level)) for name, level in _levels(inputs, path)]
        return same(all(low[0] < high[0] and low[1] > high[1] for low, high in pairwise(levels)))

    return derive


def _short_circuit(inputs: Inputs) -> tuple[float, float] | None:
    """Give trip (A) and delay (s) of the short-circuit level; None where none is there or described."""
    if inputs.find("protection.short_circuit") in (None, NONE):
        return None
    trip, delay = settings(
        inputs, "protection.short_circuit.trip_above_A", "protection.short_circuit.delay_us"
    )
    return float(trip), float(delay) * 1e-6


def _short_circuit_ordered(inputs: Inputs) -> Triple:
    """Derive whether the short-circuit level is above and quicker than every other discharge level."""
    settings(inputs, "protection.short_circuit")
    short, levels = _short_circuit(inputs), _levels(inputs, DISCHARGE)
    highest, quickest = levels[-1][1]["trip_above_A"], min(_delay_s(*item) for item in levels)
    return same(short is not None and highest < short[0] and quickest > short[1])


def _charging_trips(inputs: Inputs) -> Triple:
    """Derive whether the full charge current by itself trips the lowest level."""
    trip, flowing = current_off(inputs, _levels(inputs, CHARGE)[0][1]["trip_above_A"]), _paths_A(inputs)
    return flowing > trip.high, flowing > trip.value, flowing > trip.low


def _load_trips(inputs: Inputs) -> Triple:
    """Derive whether the continuous load by itself trips the lowest level."""
    (flowing,) = settings(inputs, "load.continuous_A")
    trip = current_off(inputs, _levels(inputs, DISCHARGE)[0][1]["trip_above_A"])
    return flowing > trip.high, flowing > trip.value, flowing > trip.low


def _surge_trips(inputs: Inputs) -> Triple:
    """Derive whether the load's surge trips a discharge level, the short-circuit level included."""
    surge, seconds = settings(inputs, "load.surge_A", "load.surge_s")
    levels: list[tuple[float, float]] = []
    if inputs.find(DISCHARGE) != NONE:
        reached = [
            (name, level)
            for name, level in _levels(inputs, DISCHARGE)
            if surge > current_off(inputs, level["trip_above_A"]).low
        ]
        levels = [(level["trip_above_A"], _delay_s(name, level)) for name, level in reached]
    short = _short_circuit(inputs)
    if short is not None:
        levels.append(short)
    elif inputs.find(DISCHARGE) == NONE:
        settings(inputs, "protection.short_circuit")
        raise LackingError((), "no discharge level is there to trip")
    trips = [current_off(inputs, trip) for trip, delay in levels if seconds >= delay]
    return (
        any(surge > trip.high for trip in trips),
        any(surge > trip.value for trip in trips),
        any(surge > trip.low for trip in trips),
    )


DERIVED = {
    "charge_paths_A": Single(lambda inputs: same(_paths_A(inputs)), "high"),
    "charge_allowed_A": Single(_charge_allowed, "low"),
    "discharge_allowed_A": Single(_discharge_allowed, "low"),
    "pulse_allowed_A": Single(_pulse_allowed, "low"),
    "lowest_charge_trip_A": Single(_trip(CHARGE, 0), "high"),
    "lowest_charge_trip_delay_s": Single(_delay(CHARGE, 0), "high"),
    "highest_charge_trip_A": Single(_trip(CHARGE, -1), "high"),
    "highest_charge_trip_delay_s": Single(_delay(CHARGE, -1), "high"),
    "lowest_discharge_trip_A": Single(_trip(DISCHARGE, 0), "high"),
    "lowest_discharge_trip_delay_s": Single(_delay(DISCHARGE, 0), "high"),
    "highest_discharge_trip_A": Single(_trip(DISCHARGE, -1), "high"),
    "highest_discharge_trip_delay_s": Single(_delay(DISCHARGE, -1), "high"),
    "charge_trips_ordered": Single(_ordered(CHARGE), "low"),
    "discharge_trips_ordered": Single(_ordered(DISCHARGE), "low"),
    "short_circuit_ordered": Single(_short_circuit_ordered, "low"),
    "charging_trips": Single(_charging_trips, "high"),
    "load_trips": Single(_load_trips, "high"),
    "surge_trips": Single(_surge_trips, "high"),
}
