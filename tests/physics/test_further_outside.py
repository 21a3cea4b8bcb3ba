"""Relations of one line each against another library, another method and their limits."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pybamm
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from scipy.constants import Stefan_Boltzmann
from scipy.integrate import quad, solve_ivp
from scipy.stats import linregress
from skfem import Basis, BilinearForm, ElementLineP2, FacetBasis, LinearForm, MeshLine, solve
from skfem.helpers import dot, grad

from bmslint.physics import electrical, resistance, round_cells, surfaces, thermistor, voltage

# The parameter set's own names, and the energies that stand in its functions (J/mol).
ELECTRODES = {"Negative": 53_400.0, "Positive": 43_600.0}


@pytest.mark.parametrize("electrode", ELECTRODES)
@pytest.mark.parametrize("celsius", [-20.0, 0.0, 10.0, 45.0])
def test_arrhenius_of_a_published_parameter_set(electrode: str, celsius: float) -> None:
    """PyBaMM's exchange-current densities after Ecker and others (2015): a charge transfer that falls with
    temperature by their energy is a resistance that rises by ours. Rounding, and their gas constant."""
    values = pybamm.ParameterValues("Ecker2015")
    density = values[f"{electrode} electrode exchange-current density [A.m-2]"]

    def at(kelvin: float) -> float:
        amounts = (pybamm.Scalar(amount) for amount in (1e3, 1e4, 3e4))
        return float(values.process_symbol(density(*amounts, kelvin)).evaluate())

    kelvin = celsius + 273.15
    ours = resistance.resistance_ratio(kelvin, ELECTRODES[electrode])
    assert ours == pytest.approx(at(298.15) / at(kelvin), rel=1e-6)
    assert resistance.activation_J_per_mol(ours, kelvin) == pytest.approx(ELECTRODES[electrode], rel=1e-9)


def test_no_activation_and_the_rated_temperature_leave_a_resistance_as_it_is() -> None:
    """Limits of the ratio, and of the energy behind one."""
    assert [resistance.resistance_ratio(kelvin, 0.0) for kelvin in (213.15, 298.15, 333.15)] == [1.0] * 3
    assert resistance.resistance_ratio(298.15, 50e3) == 1.0
    assert resistance.activation_J_per_mol(1.0, 273.15) == 0.0


@pytest.mark.parametrize("energy", [17.1e3, 35e3, 55e3])
def test_activation_is_the_slope_of_an_arrhenius_plot(energy: float) -> None:
    """ln r over 1 / (R T) at seven temperatures, its slope by scipy's linear regression."""
    kelvin = np.linspace(253.15, 313.15, 7)
    ratios = np.array([resistance.resistance_ratio(float(each), energy) for each in kelvin])
    fit = linregress(1 / (8.314462618 * kelvin), np.log(ratios))
    assert fit.slope == pytest.approx(energy, rel=1e-9)
    cold = float(ratios[0])
    assert resistance.activation_J_per_mol(cold, 253.15) == pytest.approx(fit.slope, rel=1e-9)


@pytest.mark.parametrize(
    ("layers", "inner", "outer"),
    # Thickness (mm) and conductivity (W/(m K)) of each layer, conductances at the surfaces (W/(m2 K)).
    [
        ([(125.0, 0.05), (25.0, 0.10)], 1e6, 1e6),
        ([(2.0, 15.0), (40.0, 0.035), (1.5, 0.2)], 8.0, 7.7),
        ([(10.0, 0.026), (0.125, 0.21), (36.0, 0.9), (20.0, 0.035)], 5.0, 150.0),
    ],
)
def test_layers_against_finite_elements(
    layers: list[tuple[float, float]], inner: float, outer: float
) -> None:
    """scikit-fem along the layers, 1 K across: what passes is what the layers in series conduct. The first is
    printed: M. J. Moran and others, Introduction to Thermal Systems Engineering (statement read, solution
    recomputed), 30 K across 125 mm of insulation and 25 mm of siding are 10.9 W/m2."""
    edges = np.concatenate(([0.0], np.cumsum([mm / 1e3 for mm, _ in layers])))
    mesh = MeshLine(np.unique(np.concatenate([np.linspace(a, b, 5) for a, b in pairwise(edges)])))

    @BilinearForm
    def conduction(u, v, w):
        which = np.clip(np.searchsorted(edges, w.x[0], side="right") - 1, 0, len(layers) - 1)
        return np.array([k for _, k in layers])[which] * dot(grad(u), grad(v))

    @BilinearForm
    def mass(u, v, w):
        return u * v

    @LinearForm
    def unit(v, w):
        return 1.0 * v

    basis = Basis(mesh, ElementLineP2())
    surface = [
        mesh.facets_satisfying(lambda x, at=at: np.abs(x[0] - at) < 1e-12) for at in (edges[0], edges[-1])
    ]
    ends = [FacetBasis(mesh, ElementLineP2(), facets=each) for each in surface]
    matrix = conduction.assemble(basis) + inner * mass.assemble(ends[0]) + outer * mass.assemble(ends[1])
    field = solve(matrix, inner * unit.assemble(ends[0]))
    passed = outer * float(unit.assemble(ends[1]) @ field)
    ours = surfaces.series_W_per_m2K(inner, *(k / (mm / 1e3) for mm, k in layers), outer)
    assert ours == pytest.approx(passed, rel=1e-6)  # conditioning, with conductances of 1e6 beside 0.4
    if len(layers) == 2:
        assert round(30.0 * ours, 1) == 10.9


@pytest.mark.parametrize("emissivity", [0.05, 0.5, 0.9])
@pytest.mark.parametrize("kelvin", [253.15, 273.15, 303.15])
def test_radiation_is_the_slope_of_plancks_law_summed(kelvin: float, emissivity: float) -> None:
    """Planck's law over all wavelengths by scipy's quadrature, at a hundredth of a kelvin on either side; the
    series of the power law leaves (0.01 K / T)^2, the quadrature 1e-6."""
    h, c, k = 6.62607015e-34, 299792458.0, 1.380649e-23

    def emitted(temperature: float) -> float:
        # With x = h c / (wavelength k T): the integral of x^3 / (exp(x) - 1).
        total = quad(lambda x: x**3 / np.expm1(x), 1e-9, 200.0, epsabs=1e-13)[0]
        return float(2 * np.pi * (k * temperature) ** 4 / (h**3 * c**2) * total)

    slope = (emitted(kelvin + 0.01) - emitted(kelvin - 0.01)) / 0.02
    assert surfaces.radiation_W_per_m2K(kelvin, emissivity) == pytest.approx(emissivity * slope, rel=1e-6)
    assert emitted(kelvin) == pytest.approx(Stefan_Boltzmann * kelvin**4, rel=1e-8)


def test_radiation_of_nothing() -> None:
    """Limits: a mirror, and nothing that is warm."""
    assert (surfaces.radiation_W_per_m2K(273.15, 0.0), surfaces.radiation_W_per_m2K(0.0, 0.9)) == (0.0, 0.0)


@pytest.mark.parametrize("height_m", [0.05, 0.2, 1.0])
def test_a_plate_as_warm_as_its_air_conducts_as_the_correlation_ends(height_m: float) -> None:
    """Limit: no difference, Nu = 0.825^2 of Churchill and Chu, with the conductivity of air at 0 degC of
    package fluids (U.S. Standard Atmosphere, 1976). And warmer or colder is alike."""
    still = surfaces.vertical_plate_W_per_m2K(height_m, 273.15, 273.15)
    expected = ATMOSPHERE_1976.thermal_conductivity(273.15) * 0.825**2 / height_m
    assert still == pytest.approx(expected, rel=1e-9)
    hot, cold = (surfaces.vertical_plate_W_per_m2K(height_m, 273.15 + d, 273.15 - d) for d in (5.0, -5.0))
    assert hot == cold > still


@pytest.mark.parametrize("beta", [3435.0, 3950.0])
def test_a_thermistor_at_its_rated_temperature_and_read_by_its_own_curve(beta: float) -> None:
    """Limits: 25 degC is r25; and the line of inverse temperatures is 0 + 1 / T."""
    assert thermistor.resistance(298.15, 1e4, beta) == 1e4
    assert thermistor.temperature(1e4, 1e4, beta) == pytest.approx(298.15, rel=1e-14)
    assert thermistor.reading_line(1e4, beta, 1e4, beta) == (pytest.approx(0.0, abs=1e-18), 1.0)
    assert thermistor.true_at_reading(263.15, 1e4, beta, 1e4, beta) == pytest.approx(263.15, rel=1e-14)


def test_nothing_flows_nothing_moves() -> None:
    """Limits: no current, no time and no heat."""
    none, ohm = np.array(0.0), np.array(0.005)
    assert voltage.ohmic_V(none, ohm) == voltage.transfer_V(none, ohm, np.array(263.15)) == 0.0
    assert voltage.moved_V(np.array(12.0), np.array(60.0), 8e5, 0.0) == 0.0
    assert voltage.moved_V(np.array(12.0), none, 8e5, 5.0) == 0.0
    assert round_cells.radial_rise_K(0.0, 0.009, 0.2) == 0.0
    assert electrical.let_through_A2s(900.0, 0.0) == 0.0


@pytest.mark.parametrize(("amps", "short"), [(20e3, True), (6e3, True), (300.0, False)])
def test_melting_without_cooling_holds_for_short_times(amps: float, short: bool) -> None:
    """The validity that is stated, about 10 ms: a copper element of 1 mm2 that loses heat with a time
    constant of a second, an assumption for the test, heated by scipy. Below 10 ms it melts when the integral
    says, to 1 %; at a current that takes longer later than that, and never sooner."""
    ohm_m, per_K, J_per_m3K, area = 1.7241e-8, 0.00393, 3.45e6, 1e-6
    integral = quad(lambda t: J_per_m3K / (ohm_m * (1 + per_K * (t - 20.0))), 40.0, 1083.0)[0] * area**2

    def melted(_: float, y: np.ndarray) -> float:
        return float(y[0] - 1083.0)

    melted.terminal = True  # type: ignore[attr-defined]

    def heating(cooled: float) -> Callable[[float, np.ndarray], list[float]]:
        return lambda _, y: [
            ohm_m * (1 + per_K * (y[0] - 20.0)) * (amps / area) ** 2 / J_per_m3K - cooled * (y[0] - 40.0)
        ]

    run = solve_ivp(heating(1.0), (0.0, 60.0), [40.0], events=melted, rtol=1e-8, max_step=0.05)
    seconds, ours = float(run.t_events[0][0]), electrical.melting_s(amps, integral)
    assert seconds > ours
    assert (seconds == pytest.approx(ours, rel=0.01)) == short == (seconds < 0.01)
