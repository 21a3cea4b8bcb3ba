"""How far a cell goes past its trip while the protection waits out its delay.

Validity: so short a delay that the slope of the curve stays; resistance constant.
Source: charge is current times time; the open-circuit curve has its own source.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import unit_of
from bmslint.facts.quantity import Group, Missing, Quantity
from bmslint.facts.resistance import RATED_DEGC
from bmslint.facts.voltage_step import open_circuit

GROUP = "overshoot"


def overshoot(make: Callable[[], Inputs]) -> Group:
    """Derive how far a cell at 25 degC goes past each voltage trip within its delay.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `overshoot`: current by delay over capacity, by the slope of the open-circuit curve where
        the cell stands when it trips.
    """
    facts: dict[str, Quantity | Missing] = {}
    for name, derive in (("overvoltage_overshoot_mV", _over), ("undervoltage_overshoot_mV", _under)):
        try:
            facts[name] = derive(make(), name)
        except LackingError as error:
            facts[name] = Missing(error.paths, error.reason)
    return facts


def _over(inputs: Inputs, name: str) -> Quantity:
    """Derive the overshoot above the over-voltage trip."""
    from bmslint.facts.charging import charge_current

    trip, delay = _setting(inputs, "protection.cell_overvoltage", "trip_above_V")
    return _past(inputs, name, charge_current(inputs).permitted_A(RATED_DEGC), trip, delay)


def _under(inputs: Inputs, name: str) -> Quantity:
    """Derive the overshoot below the under-voltage trip."""
    trip, delay = _setting(inputs, "protection.cell_undervoltage", "trip_below_V")
    (load,) = inputs.need("load.continuous_A")
    return _past(inputs, name, -load, trip, delay)


def _setting(inputs: Inputs, path: str, key: str) -> tuple[float, float]:
    """Give a trip (V) and its delay (s)."""
    if inputs.find(path) == "none":
        raise LackingError((), f"{path} is none")
    trip, delay = inputs.need(f"{path}.{key}", f"{path}.delay_s")
    return trip, delay


def capacity_Ah(inputs: Inputs) -> float:
    """Give the capacity of one cell (Ah).

    Args:
        inputs: the settings.

    Returns:
        Capacity of the cell, or that of the pack divided among its parallel cells.

    Raises:
        LackingError: neither is described.
    """
    cell = inputs.find("pack.cell.capacity_Ah")
    if cell is None and inputs.find("pack.capacity_Ah") is not None:
        cell = inputs.find("pack.capacity_Ah") / inputs.assume("pack.parallel", 1.0)
    if cell is None:
        (cell,) = inputs.need("pack.cell.capacity_Ah")
    return float(cell)


def _past(inputs: Inputs, name: str, pack_A: float, trip_V: float, delay_s: float) -> Quantity:
    """Derive how far (mV) a current (A, whole pack, negative out of it) takes a cell past a trip."""
    import numpy as np

    from bmslint.physics.voltage import moved_V, slope_V

    curve, capacity_As = open_circuit(inputs), 3600.0 * capacity_Ah(inputs)
    current = pack_A / inputs.assume("pack.parallel", 1.0)
    milliohms = inputs.assume("pack.cell.resistance_mohm", 0.0)
    # Where the cell stands at rest when the voltage under current trips, and the range of the curve about it.
    rest = trip_V - current * milliohms / 1e3
    within = [volts for volts in curve.cell_V if abs(volts - rest) < curve.range_V]
    places = np.array([rest, rest - curve.range_V, rest + curve.range_V, *within])
    slope = slope_V(places, curve.charge, curve.cell_V)
    past = 1e3 * moved_V(slope, np.array(abs(current)), capacity_As, delay_s)
    return Quantity(
        float(past[0]), float(past.min()), float(past.max()), unit_of(GROUP, name), inputs.basis, "high",
        tuple(sorted(inputs.assumed)),
    )  # fmt: skip
