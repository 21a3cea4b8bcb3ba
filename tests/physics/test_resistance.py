"""Resistance of a cell against temperature."""

import pytest
from scipy.constants import R as GAS_CONSTANT
from scipy.integrate import quad

from bmslint.physics import resistance


@pytest.mark.parametrize(
    ("celsius", "ratio"),
    # Arrhenius ratios against 25 degC at 35 kJ/mol, worked out by hand with R = 8.314.
    [(0, 3.64), (-20, 12.30)],
)
def test_arrhenius_ratio(celsius: int, ratio: float) -> None:
    """The integral of van 't Hoff and Arrhenius, d ln R / dT = -E / (R T^2), by scipy's quadrature
    and scipy's gas constant."""
    ours = resistance.resistance_ratio(celsius + 273.15, 35e3)
    assert round(ours, 2) == pytest.approx(ratio)
    exponent, _ = quad(lambda t: 35e3 / (GAS_CONSTANT * t**2), celsius + 273.15, 298.15)
    assert ours == pytest.approx(2.718281828459045**exponent, rel=1e-10)  # quadrature


@pytest.mark.parametrize("activation", [0.0, 20e3, 35e3, 40e3])
def test_the_inverse_returns_the_activation(activation: float) -> None:
    ratio = resistance.resistance_ratio(273.15, activation)
    assert resistance.activation_J_per_mol(ratio, 273.15) == pytest.approx(activation, abs=1e-8)


@pytest.mark.parametrize(
    "call",
    [
        lambda: resistance.resistance_ratio(0.0, 35e3),
        lambda: resistance.activation_J_per_mol(0.0, 273.15),
        lambda: resistance.activation_J_per_mol(2.0, 298.15),
    ],
)
def test_values_without_meaning_are_refused(call) -> None:
    with pytest.raises(ValueError, match=r"above 0 K|no activation energy"):
        call()
