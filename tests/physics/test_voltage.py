"""Voltage at rest, its slope, what it moves, and the current that a held voltage leaves."""

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import make_interp_spline
from scipy.optimize import brentq

from bmslint.limits import load_open_circuit
from bmslint.physics.voltage import at_rest_V, moved_V, ohmic_V, slope_V, transfer_A, transfer_V

CURVES = {name: load_open_circuit(name) for name in ("lfp", "nmc", "lto")}


@pytest.mark.parametrize("name", CURVES)
def test_at_rest_is_the_straight_spline_of_scipy(name: str) -> None:
    """scipy.interpolate's spline of degree 1 through the same points, at 2,001 states of charge."""
    curve = CURVES[name]
    charge = np.linspace(0.0, 1.0, 2001)
    spline = make_interp_spline(curve.charge, curve.cell_V, k=1)
    assert at_rest_V(charge, curve.charge, curve.cell_V) == pytest.approx(spline(charge), abs=1e-12)


def test_beyond_the_ends_the_end_holds() -> None:
    curve = CURVES["lfp"]
    ends = at_rest_V(np.array([-0.1, 1.1]), curve.charge, curve.cell_V)
    assert ends.tolist() == [2.000, 3.649]


@pytest.mark.parametrize("name", CURVES)
def test_slope_is_the_derivative_of_that_spline(name: str) -> None:
    """scipy's derivative, in the middle between each pair of points and above the last."""
    curve = CURVES[name]
    charge, volts = np.array(curve.charge), np.array(curve.cell_V)
    middles = (charge[1:] + charge[:-1]) / 2
    spline = make_interp_spline(charge, volts, k=1)
    expected = spline.derivative()(middles)
    assert slope_V(spline(middles), charge, volts) == pytest.approx(expected, rel=1e-9)
    beyond = slope_V(np.array([volts[0] - 1.0, volts[-1] + 1.0]), charge, volts)
    assert beyond == pytest.approx([expected[0], expected[-1]], rel=1e-9)


@pytest.mark.parametrize("name", CURVES)
def test_slope_adds_up_to_the_curve(name: str) -> None:
    """scipy.integrate.quad of charge over voltage, 1 / slope, from empty to full is one full charge."""
    curve = CURVES[name]
    total = sum(
        quad(lambda v: 1.0 / slope_V(np.array(v), curve.charge, curve.cell_V), low, high)[0]
        for low, high in zip(curve.cell_V[:-1], curve.cell_V[1:], strict=True)
    )
    assert total == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(
    ("trip_V", "current_A", "seconds"), [(3.60, 60.0, 1.0), (3.50, 20.0, 5.0), (2.6, -120.0, 5.0)]
)
def test_moved_against_charge_integrated_in_time(trip_V: float, current_A: float, seconds: float) -> None:
    """scipy.integrate.solve_ivp of dq/dt = I / Q, read off scipy's spline, for 230 Ah of iron phosphate."""
    curve, capacity_As = CURVES["lfp"], 230 * 3600.0
    spline = make_interp_spline(curve.charge, curve.cell_V, k=1)
    start = brentq(lambda q: float(spline(q)) - trip_V, 0.0, 1.0, xtol=1e-14)
    end = solve_ivp(lambda _, q: [current_A / capacity_As], (0.0, seconds), [start], rtol=1e-10).y[0, -1]
    slope = slope_V(np.array(trip_V), curve.charge, curve.cell_V)
    ours = moved_V(slope, np.array(current_A), capacity_As, seconds)
    assert ours == pytest.approx(float(spline(end)) - trip_V, rel=1e-6)


def electrode_A(overpotential_V: float, exchange_A: float, kelvin: float) -> float:
    """Butler and Volmer's equation, both transfer coefficients one half; constants by scipy."""
    reduced = constants.physical_constants["Faraday constant"][0] * overpotential_V / (constants.R * kelvin)
    return float(exchange_A * (np.exp(reduced / 2) - np.exp(-reduced / 2)))


@pytest.mark.parametrize(
    ("current_A", "resistance_ohm", "kelvin"),
    [
        (35.0, 0.006, 269.15),
        (20.0, 0.0012, 281.0),
        (120.0, 0.0054, 258.15),
        (-120.0, 0.0054, 258.15),
        (1.0, 0.15, 298.15),
    ],
)
def test_charge_transfer_is_the_root_of_both_electrodes(
    current_A: float, resistance_ohm: float, kelvin: float
) -> None:
    """scipy.optimize.brentq on Butler and Volmer's equation, its slope at 0 being half the resistance."""
    small = constants.R * kelvin / constants.physical_constants["Faraday constant"][0]
    exchange = small / (resistance_ohm / 2)
    root = brentq(lambda v: electrode_A(v, exchange, kelvin) - current_A, -1.0, 1.0, xtol=1e-15)
    ours = transfer_V(np.array(current_A), np.array(resistance_ohm), np.array(kelvin))
    assert ours == pytest.approx(2 * root, rel=1e-9)
    assert transfer_A(ours, np.array(resistance_ohm), np.array(kelvin)) == pytest.approx(current_A, rel=1e-9)


def test_small_currents_obey_ohm_and_large_ones_tafel() -> None:
    """Limits: to a part in a million below 0.1 mV; ten times a large current adds 2 (2 R T / F) ln 10."""
    ohm, kelvin = np.array(0.005), np.array(273.15)
    small = np.array(0.02)
    assert transfer_V(small, ohm, kelvin) == pytest.approx(ohmic_V(small, ohm), rel=1e-6)
    large = np.array([1e6, 1e7])
    tafel = 4 * constants.R * 273.15 / constants.physical_constants["Faraday constant"][0] * np.log(10)
    assert np.diff(transfer_V(large, ohm, kelvin)) == pytest.approx([tafel], rel=1e-8)


def test_a_rise_beyond_all_measure_stays_a_number() -> None:
    assert np.isfinite(transfer_A(np.array([-1e9, 1e9]), np.array(1e-9), np.array(213.15))).all()
