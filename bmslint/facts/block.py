"""Masses, counts and energy of the pack.

Validity: as the settings declare; energy at nominal voltage, not over the curve.
Source: definitions of volume, density, charge and energy.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import unit_of
from bmslint.facts.pack import describe
from bmslint.facts.quantity import Group, Missing, Quantity


def block(make: Callable[[], Inputs]) -> Group:
    """Derive masses, counts and energy.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `block`.
    """
    facts: dict[str, Quantity | Missing] = {}
    for name, derive in DERIVED.items():
        inputs = make()
        try:
            low, value, high = derive(inputs)
        except LackingError as error:
            facts[name] = Missing(error.paths, error.reason)
            continue
        facts[name] = Quantity(
            value, low, high, unit_of("block", name), inputs.basis, None, tuple(sorted(inputs.assumed))
        )
    return facts


Triple = tuple[float, float, float]


def _cells(inputs: Inputs) -> Triple:
    (stacked,) = inputs.need("pack.layout.stacked")
    count = stacked * (inputs.find("pack.layout.rows") or 1.0) * (inputs.find("pack.layout.tiers") or 1.0)
    return count, count, count


def _cells_declared(inputs: Inputs) -> Triple:
    count = inputs.need("pack.series")[0] * inputs.assume("pack.parallel", 1.0)
    return count, count, count


def _mass(inputs: Inputs) -> Triple:
    cells = _cells(inputs)[0]
    (mass,) = inputs.need("pack.cell.mass_kg")
    return mass * cells, mass * cells, mass * cells


def _density(inputs: Inputs) -> Triple:
    inputs.need("pack.cell.mass_kg")
    sides = ("diameter_mm", "height_mm")
    factor = 3.141592653589793 / 4
    if inputs.shape != "cylindrical":
        sides, factor = ("thickness_mm", "width_mm", "height_mm"), 1.0  # type: ignore[assignment]
    sizes = inputs.need(*(f"pack.cell.{side}" for side in sides))
    volume = factor * sizes[0] * (sizes[0] if len(sizes) == 2 else sizes[1]) * sizes[-1] * 1e-9
    if volume <= 0.0:
        raise LackingError((), "the cell has no volume")
    density = inputs.find("pack.cell.mass_kg") / volume
    return density, density, density


def _heat_capacity(inputs: Inputs) -> Triple:
    pack = describe(inputs)
    x, y, z = pack.size_m
    heat, density, box = pack.specific_heat, pack.density, x * y * z
    return heat.low * density.low * box, heat.value * density.value * box, heat.high * density.high * box


def capacity_Ah(inputs: Inputs) -> float:
    """Give the capacity of the pack (Ah): declared, or that of its cells in parallel.

    Args:
        inputs: the settings.

    Returns:
        Capacity (Ah).

    Raises:
        LackingError: neither is described.
    """
    declared = inputs.find("pack.capacity_Ah")
    if declared is not None:
        return float(declared)
    (cell,) = inputs.need("pack.cell.capacity_Ah")
    return float(cell * inputs.assume("pack.parallel", 1.0))


def energy_Wh(inputs: Inputs) -> float:
    """Give the energy of the full pack at nominal voltage (Wh).

    Args:
        inputs: the settings.

    Returns:
        Energy (Wh).

    Raises:
        LackingError: capacity or nominal voltage is not known.
    """
    capacity = capacity_Ah(inputs)
    nominal = inputs.limits.data.get("nominal_V")
    if nominal is None or capacity <= 0.0:
        raise LackingError((), "not known: the nominal voltage of this chemistry")
    inputs.bases.add("chemistry table")
    return float(capacity * nominal * inputs.need("pack.series")[0])


def _capacity(inputs: Inputs) -> Triple:
    capacity = capacity_Ah(inputs)
    return capacity, capacity, capacity


def _energy(inputs: Inputs) -> Triple:
    energy = energy_Wh(inputs)
    return energy, energy, energy


DERIVED: dict[str, Callable[[Inputs], Triple]] = {
    "cells": _cells,
    "cells_declared": _cells_declared,
    "mass_kg": _mass,
    "density_kg_per_m3": _density,
    "heat_capacity_J_per_K": _heat_capacity,
    "capacity_Ah": _capacity,
    "energy_Wh": _energy,
}
