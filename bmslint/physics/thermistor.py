"""Thermistors with a negative temperature coefficient, by the beta equation.

The equation and its terms (zero-power resistance, B-value, rated temperature of 25 degC) are those
of IEC 60539-1. A real part departs from one B-value over a wide span: between -20 and 60 degC a
curve fitted at 25 and 85 degC is commonly off by up to about 1 K (common practice, no source).
That belongs to the sensor's accuracy, not to this module.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Kelvin = TypeVar("Kelvin", float, NDArray[np.float64])

RATED_K = 298.15
"""Temperature at which a thermistor's rated resistance holds, 25 degC in K."""


def resistance(temperature_K: float, r25_ohm: float, beta_K: float) -> float:
    """Give the zero-power resistance of a thermistor.

    Args:
        temperature_K: Temperature of the thermistor, K, above 0.
        r25_ohm: Rated resistance at 25 degC, ohm, above 0.
        beta_K: B-value, K, above 0.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: An argument is not above 0.
        OverflowError: So close to absolute zero that the resistance exceeds any number.

    Validity: where the part's curve follows its B-value, commonly -40 to 125 degC.
    Source: IEC 60539-1, B-value.
    """
    _above_zero(temperature_K, r25_ohm, beta_K)
    return r25_ohm * math.exp(beta_K * (1 / temperature_K - 1 / RATED_K))


def temperature(resistance_ohm: float, r25_ohm: float, beta_K: float) -> float:
    """Give the temperature at which a thermistor has a resistance.

    Args:
        resistance_ohm: Zero-power resistance, ohm, above 0.
        r25_ohm: Rated resistance at 25 degC, ohm, above 0.
        beta_K: B-value, K, above 0.

    Returns:
        Temperature, K.

    Raises:
        ValueError: An argument is not above 0, or the curve reaches this resistance at no
            temperature: it tends to r25 exp(-beta / 298.15 K) as the temperature grows without end.

    Validity: as for `resistance`, whose inverse this is.
    Source: IEC 60539-1, B-value.
    """
    _above_zero(resistance_ohm, r25_ohm, beta_K)
    return _from_inverse(1 / RATED_K + math.log(resistance_ohm / r25_ohm) / beta_K)


def reading_as(
    true_K: Kelvin, r25_ohm: float, beta_K: float, read_r25_ohm: float, read_beta_K: float
) -> Kelvin:
    """Give what a thermistor reads when its resistance is converted by another part's curve.

    Args:
        true_K: Temperature of the thermistor, K, above 0; a number or an array of any shape.
        r25_ohm: Rated resistance of the fitted part, ohm, above 0.
        beta_K: B-value of the fitted part, K, above 0.
        read_r25_ohm: Rated resistance that the board assumes, ohm, above 0.
        read_beta_K: B-value that the board assumes, K, above 0.

    Returns:
        Temperature that the board reads, K; the shape of `true_K`.

    Raises:
        ValueError: An argument is not above 0, or the assumed curve has no temperature for the
            resistance.

    Validity: as for `resistance`. The resistance itself is never formed, so nothing overflows.
    Source: the beta equation of IEC 60539-1, solved for one resistance on two curves.
    """
    _above_zero(_smallest(true_K), r25_ohm, beta_K, read_r25_ohm, read_beta_K)
    log_ratio = math.log(r25_ohm) - math.log(read_r25_ohm)
    return _from_inverse(1 / RATED_K + (log_ratio + beta_K * (1 / true_K - 1 / RATED_K)) / read_beta_K)


def reading_line(
    r25_ohm: float, beta_K: float, read_r25_ohm: float, read_beta_K: float
) -> tuple[float, float]:
    """Give the straight line that ties the inverse of a reading to the inverse of the true temperature.

    Args:
        r25_ohm: Rated resistance of the fitted part, ohm, above 0.
        beta_K: B-value of the fitted part, K, above 0.
        read_r25_ohm: Rated resistance that the board assumes, ohm, above 0.
        read_beta_K: B-value that the board assumes, K, above 0.

    Returns:
        Intercept a (1/K) and slope b (no unit) of 1/reading = a + b/true.

    Raises:
        ValueError: An argument is not above 0.

    Validity: as for `reading_as`, which this is for many temperatures of one sensor.
    Source: the beta equation of IEC 60539-1.
    """
    _above_zero(r25_ohm, beta_K, read_r25_ohm, read_beta_K)
    log_ratio = math.log(r25_ohm) - math.log(read_r25_ohm)
    slope = beta_K / read_beta_K
    return 1 / RATED_K + log_ratio / read_beta_K - slope / RATED_K, slope


def true_at_reading(
    reading_K: Kelvin, r25_ohm: float, beta_K: float, read_r25_ohm: float, read_beta_K: float
) -> Kelvin:
    """Give the true temperature at which a thermistor read by another part's curve gives a reading.

    Args:
        reading_K: Temperature that the board reads, K, above 0; a number or an array of any shape.
        r25_ohm: Rated resistance of the fitted part, ohm, above 0.
        beta_K: B-value of the fitted part, K, above 0.
        read_r25_ohm: Rated resistance that the board assumes, ohm, above 0.
        read_beta_K: B-value that the board assumes, K, above 0.

    Returns:
        Temperature of the thermistor, K; the shape of `reading_K`.

    Raises:
        ValueError: An argument is not above 0, or the fitted part never has that resistance.

    Validity: as for `reading_as`, whose inverse this is: the two curves change places.
    Source: the beta equation of IEC 60539-1.
    """
    return reading_as(reading_K, read_r25_ohm, read_beta_K, r25_ohm, beta_K)


def _from_inverse(inverse_per_K: Kelvin) -> Kelvin:
    if not _smallest(inverse_per_K) > 0:
        raise ValueError("the curve has no temperature for this resistance")
    return 1 / inverse_per_K


def _smallest(value: Kelvin) -> float:
    return float(value) if isinstance(value, float | int) else float(value.min())


def _above_zero(*values: float) -> None:
    if not all(value > 0 for value in values):
        raise ValueError(f"temperatures, resistances and B-values must be above 0, got {values}")
