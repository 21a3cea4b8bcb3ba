"""Heat that a current makes in the cells, and the temperature at which it is carried off.

Validity: constant current; all cells have the resistance of the pack's mean temperature; no reversible heat.
Source: Joule's law; the straight line through the two points of Gauss' quadrature, our own use of it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from bmslint.facts.inputs import Inputs, Side
from bmslint.facts.pack import Pack
from bmslint.facts.resistance import COLDEST_DEGC, RATED_DEGC, ZERO_K, Resistance, cell_resistance
from bmslint.physics.axis import Array
from bmslint.physics.resistance import resistance_ratio
from bmslint.physics.round_cells import SQUARE_FILL, radial_rise_K

# A straight line through these places of a span, from its middle in half spans, crosses a curve so that
# its error cancels over the span (Gauss).
GAUSS = 1.0 / sqrt(3.0)
# Shares of the heat at which it is tried whether it is carried off, and how often they are divided anew.
PARTS, ROUNDS = np.linspace(1.0 / 64.0, 1.0, 64), 3


@dataclass(frozen=True)
class Joule:
    """Heat of a pack current in each cell, current squared times the 10 s resistance.

    The reversible part is neglected: it changes its sign with the state of charge and between charge and
    discharge. All cells count as having the resistance of the pack's mean temperature, or a line around it.
    """

    resistance: Resistance
    parallel: float
    box_m3: float

    def W_per_m3(self, pack_A: Array, temperature_degC: Array, sides: Sequence[Side]) -> Array:
        """Give the heat in the block (W/m3) in several runs.

        Args:
            pack_A: current of the pack (A), shape (runs, times).
            temperature_degC: of the cells (degC), shape (runs, times).
            sides: for each run which end of the resistance's range.

        Returns:
            Heat (W/m3), shape (runs, times).
        """
        energy = self.resistance.activation_J_per_mol
        other: dict[Side, Side] = {"low": "high", "value": "value", "high": "low"}
        cold = np.array([energy.at(side) for side in sides])[:, None]
        # Above 25 degC the lower activation gives the higher resistance.
        warm = np.array([energy.at(other[side]) for side in sides])[:, None]
        energies = np.where(temperature_degC > RATED_DEGC, warm, cold)
        kelvin = np.maximum(temperature_degC, COLDEST_DEGC) + ZERO_K
        ohm = self.resistance.rated_ohm * resistance_ratio(kelvin, energies)
        heat: Array = (pack_A / self.parallel) ** 2 * ohm / self.box_m3
        return heat

    def line(
        self, pack_A: Array, low_degC: Array, high_degC: Array, sides: Sequence[Side]
    ) -> tuple[Array, Array]:
        """Give the heat as a line over a span of temperature, in several runs.

        Args:
            pack_A: current of the pack (A), shape (runs,).
            low_degC: lower end of the span (degC), shape (runs,).
            high_degC: upper end, above the lower (degC), shape (runs,).
            sides: for each run which end of the resistance's range.

        Returns:
            Heat at the lower end (W/m3) and how much less it is for each kelvin (W/(m3 K)), 0 or more; each
            of shape (runs,). Over 12 K and with 40 kJ/mol the line is off by 2.5 % at its ends, and by
            nothing on average.
        """
        middle, part = (low_degC + high_degC) / 2.0, (high_degC - low_degC) / 2.0 * GAUSS
        heats = self.W_per_m3(pack_A[:, None], np.stack((middle - part, middle + part), axis=1), sides)
        fall = np.maximum((heats[:, 0] - heats[:, 1]) / (2.0 * part), 0.0)
        return heats.mean(axis=1) + fall * (high_degC - low_degC) / 2.0, fall


def joule(inputs: Inputs, pack: Pack) -> Joule:
    """Read what makes heat of a current.

    Args:
        inputs: the settings.
        pack: the pack.

    Returns:
        The heat by current and temperature.

    Raises:
        LackingError: `pack.cell.resistance_mohm` is not described.
    """
    x, y, z = pack.lengths_m
    return Joule(cell_resistance(inputs), float(inputs.assume("pack.parallel", 1.0)), x * y * z)


def axis_rise_K(pack: Pack, heat_W_per_m3: float, side: Side) -> float:
    """Give how much hotter the axis of a round cell is than the block around it (K); 0 for other shapes.

    Args:
        pack: the pack.
        heat_W_per_m3: heat in the block (W/m3), which the cell makes in the part of its box that it fills.
        side: which end of the radial conductivity's range.

    Returns:
        The rise over the cell's skin in the steady state (K), an upper bound before that.
    """
    if not pack.radius_m:
        return 0.0
    return radial_rise_K(heat_W_per_m3 / SQUARE_FILL, pack.radius_m, pack.radial.at(side))


def balance(makes: Callable[[Array], Array], most: Array) -> Array:
    """Find the heat that is made at the temperature it leads to, in several runs.

    Args:
        makes: the heat made (W/m3) once the pack has settled under each of several heats (W/m3), shape
            (runs, heats); it may jump down where a reading crosses a current step.
        most: the most that can be made (W/m3), shape (runs,).

    Returns:
        The first such heat (W/m3) when coming from a cold pack, to 4 millionths of the most, shape (runs,).
        At a jump the heat that holds the pack there, as a current does that is switched to and fro.
    """
    low, high, runs = np.zeros_like(most), most, np.arange(len(most))
    for _ in range(ROUNDS):
        tried = low[:, None] + (high - low)[:, None] * PARTS
        enough = makes(tried) <= tried
        # The most itself is always enough; only rounding could deny it.
        enough[:, -1] = True
        first = enough.argmax(axis=1)
        low, high = np.where(first == 0, low, tried[runs, first - 1]), tried[runs, first]
    return high
