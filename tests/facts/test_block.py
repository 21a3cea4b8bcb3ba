"""Masses, counts and energy against the same worked out by hand from the profiles' numbers."""

from math import pi

import pytest
from packs import derived, of_profile

from bmslint.facts import Quantity

HUT = {
    "cells": 8,  # 4 stacked, 2 rows
    "cells_declared": 8,  # 8 in series, 1 in parallel
    "mass_kg": 8 * 4.1,
    "density_kg_per_m3": 4.1 / (0.054 * 0.174 * 0.205),
    "heat_capacity_J_per_K": 8 * 4.1 * 1020,  # specific heat of the table
    "capacity_Ah": 230,
    "energy_Wh": 8 * 3.2 * 230,  # nominal voltage of iron phosphate
}
BUOY = {
    "cells": 12,
    "cells_declared": 12,
    "mass_kg": 12 * 0.53,
    "density_kg_per_m3": 0.53 / (0.011 * 0.120 * 0.200),
    "heat_capacity_J_per_K": 12 * 0.53 * 1000,
    "capacity_Ah": 20,
    "energy_Wh": 12 * 2.3 * 20,  # nominal voltage of titanate
}


@pytest.mark.parametrize(("stem", "by_hand"), [("ridge-hut", HUT), ("research-buoy", BUOY)])
def test_block_by_hand(stem: str, by_hand: dict[str, float]) -> None:
    block = derived(of_profile(stem)).nominal()["block"]
    assert block == pytest.approx(by_hand, rel=1e-12)  # rounding of a few products


def test_a_round_cell_has_the_volume_of_a_cylinder() -> None:
    """The trike's cell, 21 mm across and 70 mm high."""
    document = of_profile("delivery-trike")
    cell = document.data["pack"]["cell"]
    volume = pi / 4 * (cell["diameter_mm"] / 1e3) ** 2 * cell["height_mm"] / 1e3
    density = derived(document).find("block.density_kg_per_m3")
    assert isinstance(density, Quantity)
    assert density.value == pytest.approx(cell["mass_kg"] / volume, rel=1e-12)
