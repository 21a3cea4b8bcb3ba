"""The jump of the cell voltage when a trip stops the current, and whether it releases the trip at once.

Validity: the first 10 s after the current ends; half charged cells.
Source: Butler and Volmer, and Ohm at the upper end, as in `physics.voltage`.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError, Property, Side, exact
from bmslint.facts.names import unit_of
from bmslint.facts.quantity import Group, Missing, Quantity
from bmslint.facts.resistance import RATED_DEGC, cell_resistance, kelvin, note_law, rated_ohm

GROUP = "relaxation"
# By the fact's beginning: the entry, its trip, its release, the jump's name.
SIDES = {
    "overvoltage": ("protection.cell_overvoltage", "trip_above_V", "release_below_V", "drop"),
    "undervoltage": ("protection.cell_undervoltage", "trip_below_V", "release_above_V", "rise"),
}


def relaxation(make: Callable[[], Inputs], heated: Group, ambient: Group) -> Group:
    """Derive the jump after an over-voltage and an under-voltage trip, at 25 degC and in the cold.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.
        heated: the facts of `heated_warmup`.
        ambient: the facts of `ambient_warmup`, which count for a pack without a heater.

    Returns:
        The facts of `relaxation`, by the 10 s resistance of a half charged cell, taken as charge transfer,
        and at the upper end as ohmic: near empty it is higher, and after minutes diffusion adds to the jump.
    """
    facts: dict[str, Quantity | Missing] = {}
    for side in SIDES:
        for place in ("", "_cold"):
            inputs = make()
            jump, chatters = f"{side}_{SIDES[side][3]}{place}_V", f"{side}_chatters{place}"
            try:
                facts[jump] = found = _jump(inputs, side, place, jump, heated, ambient)
            except LackingError as error:
                facts[jump] = facts[chatters] = Missing(error.paths, error.reason)
                continue
            try:
                facts[chatters] = _chatters(inputs, side, found)
            except LackingError as error:
                facts[chatters] = Missing(error.paths, error.reason)
    return facts


def _jump(inputs: Inputs, side: str, place: str, name: str, heated: Group, ambient: Group) -> Quantity:
    """Derive the jump (V) of one cell at one place in temperature."""
    import numpy as np

    from bmslint.physics.voltage import transfer_V

    ohm = exact(rated_ohm(inputs))
    note_law(inputs)
    if side == "overvoltage":
        current, at = _charging(inputs, place, ambient if inputs.find("heater") == "none" else heated)
    else:
        current, at = _discharging(inputs, place)
    if place:
        ohm = cell_resistance(inputs).over(at)
    amps = current.scaled(1.0 / inputs.assume("pack.parallel", 1.0))
    sides: tuple[tuple[Side, float], ...] = (("value", at.value), ("low", at.low), ("low", at.high))
    transfer = [
        float(transfer_V(np.array(amps.at(end)), np.array(ohm.at(end)), np.array(kelvin(degC))))
        for end, degC in sides
    ]
    return Quantity(
        transfer[0], min(transfer), max(amps.high * ohm.high, *transfer),
        unit_of(GROUP, name), inputs.basis, "high", tuple(sorted(inputs.assumed)),
    )  # fmt: skip


def _charging(inputs: Inputs, place: str, group: Group) -> tuple[Property, Property]:
    """Give the charge current (A, whole pack), and the cell's temperature (degC) with it."""
    from bmslint.facts.charging import charge_current

    if not place:
        return exact(charge_current(inputs).permitted_A(RATED_DEGC)), exact(RATED_DEGC)
    found = []
    for name in ("current_at_release_A", "coldest_cell_at_release_degC"):
        item = group[name]
        if isinstance(item, Missing):
            raise LackingError(item.paths, item.reason)
        inputs.bases.add(item.basis)
        inputs.assumed.update(item.assumed)
        found.append(Property(float(item.low), float(item.value), float(item.high), item.basis))
    return found[0], found[1]


def _discharging(inputs: Inputs, place: str) -> tuple[Property, Property]:
    """Give the load's current (A, whole pack), and the cell's temperature (degC) with it."""
    if not place:
        (load,) = inputs.need("load.continuous_A")
        return exact(load), exact(RATED_DEGC)
    load, coldest, entry = inputs.need("load.continuous_A", "site.coldest_degC", "protection.discharge_cold")
    if entry != "none":
        coldest = max(coldest, inputs.need("protection.discharge_cold.inhibit_below_degC")[0])
    return exact(load), exact(coldest)


def _chatters(inputs: Inputs, side: str, jump: Quantity) -> Quantity:
    """Derive whether the jump carries the voltage past the release."""
    path, trip, release, _ = SIDES[side]
    if inputs.find(path) == "none":
        raise LackingError((), f"{path} is none")
    at, back = inputs.need(f"{path}.{trip}", f"{path}.{release}")
    between = at - back if side == "overvoltage" else back - at
    value, low, high = (float(volts) > between for volts in (jump.value, jump.low, jump.high))
    return Quantity(value, low, high, "", inputs.basis, "high", jump.assumed)
