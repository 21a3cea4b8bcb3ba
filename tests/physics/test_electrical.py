"""Charge over time, short circuits and fuses, against handbook relations and other solvers."""

from collections.abc import Callable
from math import exp, isclose

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import PchipInterpolator

from bmslint.limits import load_open_circuit
from bmslint.physics import electrical


@pytest.mark.parametrize(
    ("volts", "inside_ohm", "outside_ohm", "amperes"),
    [
        # Worked by hand from Ohm's law.
        (12.0, 0.01, 0.01, 600.0),
        (25.6, 0.0024, 0.002, 25.6 / 0.0044),
        (51.2, 0.0, 0.016, 3200.0),
    ],
)
def test_prospective_current(volts: float, inside_ohm: float, outside_ohm: float, amperes: float) -> None:
    assert electrical.prospective_A(volts, inside_ohm, outside_ohm) == pytest.approx(amperes, rel=1e-12)


def test_prospective_current_by_nodal_analysis() -> None:
    """Four cells in series, three strings side by side, shorted: Kirchhoff's node equations by numpy.

    An independent way to the same current: conductances between nodes, cells as current sources.
    """
    volts, ohm, outside = 3.3, 2e-3, 1.5e-3
    nodes = 4
    conductance = 3 / ohm
    matrix, sources = np.zeros((nodes, nodes)), np.zeros(nodes)
    for node in range(nodes):
        matrix[node, node] += conductance
        sources[node] += volts * conductance
        if node:
            matrix[node - 1, node - 1] += conductance
            matrix[node, node - 1] -= conductance
            matrix[node - 1, node] -= conductance
            sources[node - 1] -= volts * conductance
    matrix[-1, -1] += 1 / outside
    terminal = np.linalg.solve(matrix, sources)[-1]
    found = electrical.prospective_A(4 * volts, 4 * ohm / 3, outside)
    assert found == pytest.approx(terminal / outside, rel=1e-9)  # conditioning of the matrix


@pytest.mark.parametrize("inductance_H", [0.2e-6, 1e-6, 5e-6])
def test_inductance_only_lowers_what_passes(inductance_H: float) -> None:
    """di/dt = (V - R i) / L by scipy, from textbook circuit theory: the stated let-through is never below."""
    volts, ohm, seconds = 25.6, 4.4e-3, 300e-6
    run = solve_ivp(
        lambda _, y: [(volts - ohm * y[0]) / inductance_H, y[0] ** 2], (0, seconds), [0, 0], rtol=1e-9
    )
    stated = electrical.let_through_A2s(electrical.prospective_A(volts, ohm, 0.0), seconds)
    tau = inductance_H / ohm
    closed = quad(lambda t: (volts / ohm * (1 - exp(-t / tau))) ** 2, 0, seconds)[0]
    assert run.y[1, -1] == pytest.approx(closed, rel=1e-5)  # integrator
    assert closed < stated


def test_without_inductance_all_of_it_passes() -> None:
    """Limit case: the loop's inductance goes to nothing, and the Joule integral to the stated one."""
    volts, ohm, seconds, tau = 25.6, 4.4e-3, 300e-6, 1e-10
    closed = quad(lambda t: (volts / ohm * (1 - exp(-t / tau))) ** 2, 0, seconds, points=[20 * tau])[0]
    assert closed == pytest.approx(electrical.let_through_A2s(volts / ohm, seconds), rel=1e-5)  # 1.5 tau / t


@pytest.mark.parametrize(
    ("amperes", "seconds", "joule_integral"),
    [(1000.0, 0.001, 1000.0), (900.0, 300e-6, 243.0), (5000.0, 0.004, 100_000.0)],  # by hand
)
def test_joule_integral_and_melting_time(amperes: float, seconds: float, joule_integral: float) -> None:
    """Terms of IEC 60127-1 and IEC 60269-1, from memory: the pre-arcing time is the pre-arcing integral
    over the square of the prospective current."""
    assert electrical.let_through_A2s(amperes, seconds) == pytest.approx(joule_integral, rel=1e-12)
    assert electrical.melting_s(amperes, joule_integral) == pytest.approx(seconds, rel=1e-12)


def test_melting_integral_of_copper() -> None:
    """A copper element of 1 mm2 heated to its melting point without cooling, resistance rising with heat.

    IEC 60949, from memory: I2t = K^2 S^2 ln((Tf + beta) / (Ti + beta)), K 226 A s^0.5/mm2 and beta 234.5 for
    copper. An element of which the integral is known melts by `melting_s` when scipy's heating says so.
    """
    ohm_m, per_K, J_per_m3K, area_m2 = 1.7241e-8, 0.00393, 3.45e6, 1e-6  # copper at 20 degC, handbook values
    heat = quad(lambda t: J_per_m3K / (ohm_m * (1 + per_K * (t - 20))), 40, 1083)[0] * area_m2**2
    assert heat == pytest.approx(226.0**2 * np.log((1083 + 234.5) / (40 + 234.5)), rel=0.01)  # K is rounded
    amperes = 3000.0
    run = solve_ivp(
        lambda _, y: [ohm_m * (1 + per_K * (y[0] - 20)) * (amperes / area_m2) ** 2 / J_per_m3K],
        (0, 0.1), [40.0], events=(melted := _at(1083.0)), rtol=1e-8,
    )  # fmt: skip
    assert melted.terminal
    assert run.t_events[0][0] == pytest.approx(electrical.melting_s(amperes, heat), rel=1e-5)  # integrator


def _at(degC: float) -> Callable[[float, list[float]], float]:
    def event(_: float, y: list[float]) -> float:
        return y[0] - degC

    event.terminal = True  # type: ignore[attr-defined]
    return event


@pytest.mark.parametrize(
    ("charge_Ah", "draw_A", "lost", "days"),
    [
        (1.0, 0.010, 1e-12, 100 / 24),  # 1 A h at 10 mA are 100 hours
        (24.0, 1.0, 1e-12, 1.0),
        (100.0, 0.0, 100.0 / 30, 30.0),  # self-discharge alone
    ],
)
def test_lasting(charge_Ah: float, draw_A: float, lost: float, days: float) -> None:
    """Coulomb counting, worked by hand; and by integrating the charge down to nothing."""
    found = electrical.lasts_days(charge_Ah, draw_A, lost)
    assert found == pytest.approx(days, rel=1e-9)
    run = solve_ivp(lambda _, y: [-(24 * draw_A + lost)], (0, 2 * days), [charge_Ah], events=_at(0.0))
    assert run.t_events[0][0] == pytest.approx(found, rel=1e-6)  # root finding of the integrator


def test_self_discharge_in_proportion_lasts_longer() -> None:
    """A loss in proportion to what is left (exponential) is slower than the constant one that is counted."""
    constant = electrical.lasts_days(50.0, 0.0, 1.0)
    run = solve_ivp(lambda _, y: [-y[0] / 100.0], (0, 1000), [100.0], events=_at(50.0), rtol=1e-8)
    assert run.t_events[0][0] > constant
    assert run.t_events[0][0] == pytest.approx(100 * np.log(2), rel=1e-5)  # integrator


@pytest.mark.parametrize(
    ("imbalance_Ah", "bleed_A", "hours"),
    [(4.6, 0.15, 4.6 / 0.15), (1.0, 0.1, 10.0), (0.0, 0.05, 0.0)],  # by hand; no imbalance, no time
)
def test_bleeding(imbalance_Ah: float, bleed_A: float, hours: float) -> None:
    assert isclose(electrical.bleed_h(imbalance_Ah, bleed_A), hours, rel_tol=1e-12)


def test_a_resistor_bleeds_as_its_mean_current() -> None:
    """A bleed resistor across an iron phosphate cell between 3.40 and 3.55 V, by scipy: 4 % is what the
    voltage itself varies there, and what a constant current may be off."""
    ohm, capacity = 33.0, 2.0  # 0.1 A h of surplus
    run = solve_ivp(lambda _, y: [-(3.40 + 0.15 * y[0] / 0.1) / ohm], (0, 10), [0.1], events=_at(0.0))
    assert run.t_events[0][0] == pytest.approx(electrical.bleed_h(0.05 * capacity, 3.475 / ohm), rel=0.04)


@pytest.mark.parametrize("chemistry", ["lfp", "nmc", "lto"])
def test_state_of_charge_is_the_inverse_of_the_curve(chemistry: str) -> None:
    """scipy's monotone interpolation of the swapped curve at its points, numpy's straight one between."""
    curve = load_open_circuit(chemistry)
    assert curve is not None
    swapped = PchipInterpolator(curve.cell_V, curve.charge)
    for charge, volts in zip(curve.charge, curve.cell_V, strict=True):
        found = electrical.charge_at(volts, curve.charge, curve.cell_V)
        assert found == pytest.approx(charge, abs=1e-12)
        assert found == pytest.approx(float(swapped(volts)), abs=1e-9)  # rounding of the interpolant
    between = np.linspace(curve.cell_V[0] - 0.1, curve.cell_V[-1] + 0.1, 301)
    ours = [electrical.charge_at(volts, curve.charge, curve.cell_V) for volts in between]
    assert ours == pytest.approx(np.interp(between, curve.cell_V, curve.charge), abs=1e-12)
