"""Resistance of a cell against temperature."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, overload

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

GAS_CONSTANT_J_PER_MOLK = 8.31446261815324
"""Molar gas constant, exact in the SI of 2019."""

RATED_K = 298.15
"""Temperature at which a cell's resistance is declared, 25 degC in K."""


@overload
def resistance_ratio(temperature_K: float, activation_J_per_mol: float) -> float: ...
@overload
def resistance_ratio(
    temperature_K: NDArray[np.float64], activation_J_per_mol: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def resistance_ratio(
    temperature_K: float | NDArray[np.float64], activation_J_per_mol: float | NDArray[np.float64]
) -> float | NDArray[np.float64]:
    """Give the resistance of a cell over its resistance at 25 degC.

    Args:
        temperature_K: Temperature of the cell, K, above 0; a number or an array of any shape.
        activation_J_per_mol: Activation energy of the resistance, J/mol, 0 for none; a number or an array
            alike.

    Returns:
        Ratio of resistances, dimensionless; 1 at 298.15 K; the shape of the arguments.

    Raises:
        ValueError: Temperature not above 0.
        ArithmeticError: So close to absolute zero that the ratio exceeds any number.

    Validity: one process governs the resistance, commonly -30 to 60 degC; the ohmic share of a real
        cell depends on temperature less than its reactions do, so far from 25 degC this is a round
        figure.
    Source: Arrhenius equation; activation energies stand in the tables of defaults with their
        sources.
    """
    coldest = temperature_K if isinstance(temperature_K, float | int) else temperature_K.min()
    if not coldest > 0:
        raise ValueError(f"temperature must be above 0 K, got {coldest}")
    exponent = activation_J_per_mol / GAS_CONSTANT_J_PER_MOLK * (1 / temperature_K - 1 / RATED_K)
    if isinstance(exponent, float):
        return math.exp(exponent)
    import numpy as np  # an array was handed in, so numpy is loaded already

    with np.errstate(over="raise"):
        return np.exp(exponent)


def activation_J_per_mol(ratio: float, temperature_K: float) -> float:
    """Give the activation energy behind one ratio of resistances.

    Args:
        ratio: Resistance at `temperature_K` over that at 25 degC, dimensionless, above 0.
        temperature_K: Temperature of the first of the two, K, above 0, not 298.15.

    Returns:
        Activation energy, J/mol.

    Raises:
        ValueError: Ratio or temperature not above 0, or the temperature is that of the reference.

    Validity: as for `resistance_ratio`, of which this is the inverse.
    Source: Arrhenius equation.
    """
    if not (ratio > 0 and temperature_K > 0 and temperature_K != RATED_K):
        raise ValueError(f"no activation energy from a ratio of {ratio} at {temperature_K} K")
    return GAS_CONSTANT_J_PER_MOLK * math.log(ratio) / (1 / temperature_K - 1 / RATED_K)
