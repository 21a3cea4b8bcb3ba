"""A pack of round cells from its settings: its block, and cells hotter than what they touch."""

import math

import pytest

from bmslint.facts import Quantity, derive
from bmslint.facts.blocks import stacked
from bmslint.facts.inputs import Inputs
from bmslint.facts.pack import NOMINAL, describe
from bmslint.limits import load_limits
from bmslint.settings import read_text

TEXT = """
format: 1
title: Invented round cells
pack:
  chemistry: nmc
  series: 2
  parallel: 2
  cell:
    shape: cylindrical
    capacity_Ah: 2.5
    diameter_mm: 18
    height_mm: 65
    mass_kg: 0.045
    resistance_mohm: 30
    resistance_ratio_0degC: 1
    thermal: {through_W_per_mK: 0.2, along_W_per_mK: 20, specific_heat_J_per_kgK: 1000, basis: measured}
  layout: {stacked: 2, rows: 2, contact_m2K_per_W: 0.0003}
sensors:
  core: {place: between_cells, accuracy_K: 0, lag_s: 0}
protection:
  discharge_hot: {inhibit_above_degC: 60, release_below_degC: 50, sensors: [core]}
load: {continuous_A: 10}
site: {hottest_degC: 30}
"""


def test_across_round_cells_the_block_conducts_alike_both_ways() -> None:
    """Across as the array, still air and radiation between; along by the share that the cells fill."""
    data = read_text(TEXT, "round.yaml").data
    pack = describe(Inputs(data, load_limits(data)))
    x, y, z = stacked([(pack, NOMINAL)], ("inside",)).picked(0).axes
    assert x.conductivity_W_per_mK == y.conductivity_W_per_mK
    # Between Wiener's bounds for air of 0.024 to 0.05 W/(m K), radiation in it, and below the cell itself.
    assert 0.06 < x.conductivity_W_per_mK < 0.17
    assert z.conductivity_W_per_mK == pytest.approx(20 * math.pi / 4, rel=1e-12)


def test_a_sensor_between_round_cells_does_not_see_their_axes() -> None:
    """5 A through 30 mohm are 0.75 W in each: its axis is 4.59 K above its skin, by hand. The block's
    own fall across a box comes on top, so the sum is an upper bound, by less than as much again."""
    data = read_text(TEXT, "round.yaml").data
    facts = derive(data, load_limits(data))
    above = facts.find("hot_discharge.hottest_above_reading_K")
    assert isinstance(above, Quantity)
    rise = 0.75 / (math.pi * 0.009**2 * 0.065) * 0.009**2 / (4 * 0.2)
    assert rise <= float(above.value) < 2 * rise
