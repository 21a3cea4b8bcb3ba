"""Voltage of a cell: at rest, under current, and how fast it moves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def at_rest_V(charge: Array, charges: Sequence[float], volts: Sequence[float]) -> Array:
    """Give the voltage of a cell at rest.

    Args:
        charge: State of charge, 0 to 1, any shape.
        charges: States of charge of the curve's points, rising, shape (points,).
        volts: Voltage at rest at each of them, V, shape (points,).

    Returns:
        Voltage, V, of the shape of `charge`; straight between two points, the end's voltage beyond.

    Validity: 25 degC; with temperature a lithium cell at rest moves by some 0.1 mV/K, which is neglected.
    Source: definition; numpy.interp.
    """
    result: Array = np.interp(charge, charges, volts)
    return result


def under_current_V(rest_V: Array, current_A: Array, resistance_ohm: Array) -> Array:
    """Give the voltage of a cell some seconds after a current began.

    Args:
        rest_V: Voltage at rest, V.
        current_A: Current into the cell, A; negative while it discharges.
        resistance_ohm: Direct-current resistance over these seconds at the cell's temperature, ohm.

    Returns:
        Voltage, V, of the shape that the three broadcast to.

    Validity: seconds, not minutes, because diffusion adds to the resistance later; current so small that the
        resistance does not fall with it, in the cold below about half the capacity in an hour.
    Source: Ohm's law.
    """
    result: Array = rest_V + current_A * resistance_ohm
    return result


def held_current_A(current_A: Array, hold_V: float, rest_V: Array, resistance_ohm: Array) -> Array:
    """Give the current that a charger lets flow which never goes above a voltage.

    Args:
        current_A: Current that it would push, A, not negative.
        hold_V: Voltage that it holds, for what the next two describe, V.
        rest_V: Voltage at rest, V.
        resistance_ohm: Resistance, ohm, above 0.

    Returns:
        Current, A, not negative, of the shape that the arguments broadcast to.

    Validity: as `under_current_V`.
    Source: Ohm's law.
    """
    result: Array = np.clip((hold_V - rest_V) / resistance_ohm, 0.0, current_A)
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
