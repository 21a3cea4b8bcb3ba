"""Voltage of a cell: at rest, under current, and how fast it moves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bmslint.physics.resistance import GAS_CONSTANT_J_PER_MOLK

Array = NDArray[np.float64]

FARADAY_C_PER_MOL = 96485.33212331
"""Faraday constant, exact in the SI of 2019 (rounded)."""

SCALE_V_PER_K = 4.0 * GAS_CONSTANT_J_PER_MOLK / FARADAY_C_PER_MOL
# Argument of a hyperbolic sine that is still a number, with room to multiply it.
LARGEST = 600.0


def at_rest_V(charge: Array, charges: Sequence[float], volts: Sequence[float]) -> Array:
    """Give the voltage of a cell at rest.

    Args:
        charge: State of charge, 0 to 1, any shape.
        charges: States of charge of the curve's points, 0 to 1, rising, shape (points,).
        volts: Voltage at rest at each of them, V, shape (points,).

    Returns:
        Voltage, V, of the shape of `charge`; straight between two points, the end's voltage beyond.

    Validity: 25 degC; with temperature a lithium cell at rest moves by some 0.1 mV/K, which is neglected.
    Source: definition; numpy.interp.
    """
    result: Array = np.interp(charge, charges, volts)
    return result


def ohmic_V(current_A: Array, resistance_ohm: Array) -> Array:
    """Give the rise of a cell's voltage some seconds after a current began, were its resistance all ohmic.

    Args:
        current_A: Current into the cell, A; negative while it discharges.
        resistance_ohm: Direct-current resistance over these seconds at the cell's temperature, ohm.

    Returns:
        Rise over the voltage at rest, V, of the shape that the arguments broadcast to.

    Validity: seconds, not minutes, because diffusion adds to it later; the upper bound, see `transfer_V`.
    Source: Ohm's law.
    """
    result: Array = current_A * resistance_ohm
    return result


def transfer_V(current_A: Array, resistance_ohm: Array, temperature_K: Array) -> Array:
    """Give the rise of a cell's voltage after a current began, were its resistance all charge transfer.

    Both electrodes alike, each with half of the resistance: 2 (2 R T / F) arsinh(F I r / (4 R T)).

    Args:
        current_A: Current into the cell, A; negative while it discharges.
        resistance_ohm: Resistance for small currents at the cell's temperature, ohm.
        temperature_K: Temperature of the cell, K, above 0.

    Returns:
        Rise over the voltage at rest, V, of the shape that the arguments broadcast to; that of Ohm's law
        for small currents, and ever less of it the larger the current.

    Validity: as `ohmic_V`; in the cold, where charge transfer is most of a cell's resistance.
    Source: Butler and Volmer's equation with both transfer coefficients one half, solved for the
        overpotential.
    """
    scale = SCALE_V_PER_K * temperature_K
    result: Array = scale * np.arcsinh(current_A * resistance_ohm / scale)
    return result


def transfer_A(rise_V: Array, resistance_ohm: Array, temperature_K: Array) -> Array:
    """Give the current behind a rise of the voltage by `transfer_V`.

    Args:
        rise_V: Rise over the voltage at rest, V.
        resistance_ohm: Resistance for small currents at the cell's temperature, ohm, above 0.
        temperature_K: Temperature of the cell, K, above 0.

    Returns:
        Current into the cell, A, of the shape that the arguments broadcast to.

    Validity: as `transfer_V`; a rise of more than 70 V or so is cut to what a number can hold.
    Source: the inverse of `transfer_V`.
    """
    scale = SCALE_V_PER_K * temperature_K
    result: Array = scale / resistance_ohm * np.sinh(np.clip(rise_V / scale, -LARGEST, LARGEST))
    return result


def slope_V(rest_V: Array, charges: Sequence[float], volts: Sequence[float]) -> Array:
    """Give the slope of the voltage at rest over the state of charge, at a voltage.

    Args:
        rest_V: Voltage at rest, V, any shape.
        charges: States of charge of the curve's points, 0 to 1, rising, shape (points,).
        volts: Voltage at rest at each of them, V, rising, shape (points,).

    Returns:
        Slope, V for a full charge, of the shape of `rest_V`; at a point of the curve the slope above it,
        beyond the ends that of the last stretch.

    Validity: as `at_rest_V`.
    Source: definition.
    """
    slopes = np.diff(volts) / np.diff(charges)
    result: Array = slopes[np.clip(np.searchsorted(volts, rest_V, side="right") - 1, 0, len(slopes) - 1)]
    return result


def moved_V(slope_V: Array, current_A: Array, capacity_As: float, seconds: float) -> Array:
    """Give how far the voltage moves while a current flows on.

    Args:
        slope_V: Slope of the voltage over the state of charge, V for a full charge.
        current_A: Current, A.
        capacity_As: Capacity, A s, above 0.
        seconds: How long it flows, s.

    Returns:
        Change of voltage, V, of the shape that slope and current broadcast to.

    Validity: so short that the slope stays what it is; resistance constant.
    Source: charge is current times time.
    """
    result: Array = slope_V * current_A * seconds / capacity_As
    return result
