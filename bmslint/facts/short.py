"""What a short circuit drives through the pack, and which of board and fuse meets it first.

Validity: new cells, their ohmic part alone; the loop's inductance is left out.
Source: Ohm's law; terms of IEC 60269-1.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError, Property
from bmslint.facts.quantity import Group
from bmslint.facts.resistance import RATED_DEGC, Resistance, rated_ohm
from bmslint.facts.single import Single, Triple, current_off, gather, limit, parallel, same, settings, triple
from bmslint.physics.electrical import let_through_A2s, melting_s, prospective_A

GROUP = "short_circuit"


def short_circuit(make: Callable[[], Inputs]) -> Group:
    """Derive the current of a short circuit and what it meets.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `short_circuit`, for new cells. Within the delay of a short-circuit trip only the ohmic
        part of a cell's resistance counts, which is less than the 10 s resistance and rises less in the cold.
        The inductance of the loop is left out, so what passes is less than stated here.
    """
    return gather(make, GROUP, DERIVED)


def _current(inputs: Inputs, degC: float) -> Property:
    """Give the prospective current (A) with all cells at a temperature (degC)."""
    (series,) = settings(inputs, "pack.series")
    count = parallel(inputs)
    nominal, least, most = (
        limit(inputs, name) * series for name in ("nominal_V", "discharge_min_V", "charge_max_V")
    )
    cell = Resistance(rated_ohm(inputs), inputs.default("instant_activation_kJ_per_mol").scaled(1e3))
    ohm = cell.over(Property(degC, degC, degC, "declared")).scaled(series / count)
    share = inputs.default("instant_resistance_pct").scaled(0.01)
    joints = inputs.default("connection_mohm").scaled(1e-3)
    # By Ohm's law the ends are where voltage and resistances are at opposite ends of their ranges.
    value = prospective_A(nominal, ohm.value * share.value, joints.value)
    low = prospective_A(min(least, nominal), ohm.high * share.high, joints.high)
    high = prospective_A(max(most, nominal), ohm.low * share.low, joints.low)
    return Property(low, value, high, "default")


def _rated(inputs: Inputs) -> Property:
    return _current(inputs, RATED_DEGC)


def _hottest(inputs: Inputs) -> Property:
    (degC,) = settings(inputs, "site.hottest_degC")
    return _current(inputs, degC)


def _coldest(inputs: Inputs) -> Property:
    """Give the current at the coldest temperature at which the pack is on."""
    (degC,) = settings(inputs, "site.coldest_degC")
    inhibit = inputs.find("protection.discharge_cold.inhibit_below_degC")
    return _current(inputs, degC if inhibit is None else max(degC, inhibit))


def _delay_us(inputs: Inputs) -> float:
    (delay,) = settings(inputs, "protection.short_circuit.delay_us")
    return float(delay)


def _let_through(inputs: Inputs) -> Property:
    seconds, current = _delay_us(inputs) * 1e-6, _hottest(inputs)
    low, value, high = (
        let_through_A2s(amperes, seconds) for amperes in (current.low, current.value, current.high)
    )
    return Property(low, value, high, "default")


def _fuse_melts_first(inputs: Inputs) -> Triple:
    (melting,) = settings(inputs, "pack.fuse.melting_A2s")
    passed = _let_through(inputs)
    return passed.low >= melting, passed.value >= melting, passed.high >= melting


def _melting_us(inputs: Inputs) -> Triple:
    (melting,) = settings(inputs, "pack.fuse.melting_A2s")
    current = _hottest(inputs)
    if current.low <= 0.0:
        raise LackingError(("pack.cell.limits.discharge_min_V",), "cells of 0 V never melt a fuse")
    low, value, high = (
        1e6 * melting_s(amperes, melting) for amperes in (current.high, current.value, current.low)
    )
    return low, value, high


def _above_board(inputs: Inputs) -> Triple:
    (most,) = settings(inputs, "pack.board.short_circuit_max_A")
    current = _hottest(inputs)
    return current.low > most, current.value > most, current.high > most


def _trips(current: Callable[[Inputs], Property]) -> Callable[[Inputs], Triple]:
    def derive(inputs: Inputs) -> Triple:
        (setting,) = settings(inputs, "protection.short_circuit.trip_above_A")
        trip, found = current_off(inputs, setting), current(inputs)
        return found.low > trip.high, found.value > trip.value, found.high > trip.low

    return derive


DERIVED = {
    "prospective_A": Single(lambda inputs: triple(_rated(inputs)), "high"),
    "prospective_hottest_A": Single(lambda inputs: triple(_hottest(inputs)), "high"),
    "prospective_coldest_A": Single(lambda inputs: triple(_coldest(inputs)), "low"),
    "delay_us": Single(lambda inputs: same(_delay_us(inputs)), "high"),
    "let_through_A2s": Single(lambda inputs: triple(_let_through(inputs)), "high"),
    "fuse_melts_first": Single(_fuse_melts_first, "high"),
    "fuse_melts_after_us": Single(_melting_us, "low"),
    "above_board_max": Single(_above_board, "high"),
    "trips": Single(_trips(_coldest), "low"),
    "trips_at_25_degC": Single(_trips(_rated), "low"),
}
