"""Thermistor curves against numbers worked out another way."""

from decimal import Decimal, getcontext

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from bmslint.physics import thermistor

getcontext().prec = 40

R25 = 10_000.0


def decimal_resistance(celsius: str, r25: str, beta: str) -> Decimal:
    """IEC 60539-1: R = R25 exp(B (1/T - 1/298.15)), in 40 decimal digits."""
    kelvin = Decimal(celsius) + Decimal("273.15")
    return Decimal(r25) * (Decimal(beta) * (1 / kelvin - 1 / Decimal("298.15"))).exp()


@pytest.mark.parametrize(
    ("celsius", "beta", "ohm"),
    # Worked out by hand from the definition in IEC 60539-1, to the ohm.
    [(0, 3435, 28704), (-20, 3435, 77523), (0, 3950, 33621), (-20, 3950, 105385)],
)
def test_table(celsius: int, beta: int, ohm: int) -> None:
    exact = decimal_resistance(str(celsius), "10000", str(beta))
    assert round(exact) == ohm  # the table itself, recomputed in decimal arithmetic
    ours = thermistor.resistance(celsius + 273.15, R25, beta)
    assert ours == pytest.approx(float(exact), rel=1e-13)  # rounding of a handful of operations
    assert thermistor.temperature(ours, R25, beta) == pytest.approx(celsius + 273.15, rel=1e-14)


def test_b_value_is_the_one_of_the_standard() -> None:
    """IEC 60539-1 defines B = T1 T2 / (T2 - T1) ln(R1 / R2): what went in has to come out."""
    cold, hot = 298.15, 358.15
    ratio = thermistor.resistance(cold, R25, 3435) / thermistor.resistance(hot, R25, 3435)
    assert cold * hot / (hot - cold) * np.log(ratio) == pytest.approx(3435, rel=1e-13)


def test_temperature_coefficient_of_the_standard() -> None:
    """IEC 60539-1 defines alpha = 1/R dR/dT, which the B equation makes -B / T^2."""
    step = 1e-3
    up, down = (thermistor.resistance(273.15 + s, R25, 3435) for s in (step, -step))
    here = thermistor.resistance(273.15, R25, 3435)
    # Central difference: its error is of the order step^2 times the third derivative, below 1e-9.
    assert (up - down) / (2 * step) / here == pytest.approx(-3435 / 273.15**2, rel=1e-7)


@pytest.mark.parametrize(("true", "reads"), [(0, 3.02), (-20, -14.92), (45, 42.24)])
def test_read_with_the_wrong_curve(true: int, reads: float) -> None:
    """A 3435 K part read as 3950 K: the resistance is sought on the other curve by root finding."""
    ohm = float(decimal_resistance(str(true), "10000", "3435"))

    def missing(celsius: float) -> float:
        return float(np.log(R25 / ohm) + 3950 * (1 / (celsius + 273.15) - 1 / 298.15))

    found = brentq(missing, -100, 200, xtol=1e-12)
    assert round(found, 2) == reads  # the table itself, recomputed
    ours = thermistor.reading_as(true + 273.15, R25, 3435, R25, 3950)
    assert ours == pytest.approx(found + 273.15, abs=1e-10)  # the root finder's tolerance and rounding
    assert thermistor.true_at_reading(ours, R25, 3435, R25, 3950) == pytest.approx(true + 273.15)


ohms = st.floats(1e3, 1e6)
betas = st.floats(2500, 5000)


@given(st.floats(203.15, 423.15), ohms, betas, ohms, betas)
def test_reading_is_conversion_of_the_resistance(
    kelvin: float, r25: float, beta: float, read_r25: float, read_beta: float
) -> None:
    ohm = thermistor.resistance(kelvin, r25, beta)
    try:
        converted = thermistor.temperature(ohm, read_r25, read_beta)
    except ValueError:
        with pytest.raises(ValueError, match="no temperature"):
            thermistor.reading_as(kelvin, r25, beta, read_r25, read_beta)
        return
    # The sum of inverse temperatures loses digits where it comes near 0 (readings of thousands of
    # K).
    close = 1e-15 * max(1.0, converted) * 100
    assert thermistor.reading_as(kelvin, r25, beta, read_r25, read_beta) == pytest.approx(
        converted, rel=close
    )


@given(st.floats(203.15, 423.15), ohms, betas, ohms, betas)
def test_the_line_of_inverse_temperatures_is_the_reading(
    kelvin: float, r25: float, beta: float, read_r25: float, read_beta: float
) -> None:
    """The resistance on one curve, in 40 decimal digits, solved on the other: 1/reading = a + b/true."""
    ohm = decimal_resistance(str(kelvin - 273.15), str(r25), str(beta))
    inverse = 1 / Decimal("298.15") + (ohm / Decimal(str(read_r25))).ln() / Decimal(str(read_beta))
    intercept, slope = thermistor.reading_line(r25, beta, read_r25, read_beta)
    # Terms of up to 0.01 per kelvin are added, each right to 16 digits; kelvin - 273.15 is rounded too.
    assert intercept + slope / kelvin == pytest.approx(float(inverse), abs=1e-16 * 100)


def test_an_array_is_read_as_its_numbers_are() -> None:
    kelvin = np.linspace(233.15, 343.15, 12).reshape(3, 4)
    ours = thermistor.reading_as(kelvin, R25, 3435, 12_000, 3950)
    one_by_one = [[thermistor.reading_as(float(t), R25, 3435, 12_000, 3950) for t in r] for r in kelvin]
    np.testing.assert_array_equal(ours, one_by_one)
    back = thermistor.true_at_reading(ours, R25, 3435, 12_000, 3950)
    np.testing.assert_allclose(back, kelvin, rtol=1e-14)  # rounding


def test_the_same_curve_reads_true_at_extremes() -> None:
    """No resistance is formed, so 1 K and a beta of 10000 K, exp(9966), do not overflow."""
    assert thermistor.reading_as(1.0, R25, 10_000, R25, 10_000) == pytest.approx(1.0, rel=1e-13)


@pytest.mark.parametrize(
    "call",
    [
        lambda: thermistor.resistance(0.0, R25, 3435),
        lambda: thermistor.temperature(R25, R25, float("nan")),
        lambda: thermistor.reading_as(-1.0, R25, 3435, R25, 3950),
        lambda: thermistor.true_at_reading(300.0, R25, 3435, 0.0, 3950),
    ],
)
def test_values_without_meaning_are_refused(call) -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        call()


def test_a_resistance_below_the_curve_is_refused() -> None:
    """As T grows, R tends to r25 exp(-B / 298.15), here 0.0993 ohm: 0.09 ohm has no temperature."""
    assert thermistor.temperature(0.1, R25, 3435) > 1e5
    with pytest.raises(ValueError, match="no temperature"):
        thermistor.temperature(0.09, R25, 3435)
