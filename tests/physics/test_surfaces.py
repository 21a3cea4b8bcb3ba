"""Conductances of surfaces and layers against handbook packages."""

import math

import ht
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from scipy.constants import Stefan_Boltzmann

from bmslint.physics import surfaces


@pytest.mark.parametrize("height_m", [0.05, 0.1, 0.2, 0.5])
@pytest.mark.parametrize("rise_K", [-15.0, 2.0, 10.0, 40.0])
@pytest.mark.parametrize("air_K", [248.15, 273.15, 303.15])
def test_vertical_plate_against_handbook_packages(height_m: float, rise_K: float, air_K: float) -> None:
    """Nusselt number by package `ht` (Churchill and Chu, checked there with the original paper),
    air by package `fluids` (U.S. Standard Atmosphere, 1976)."""
    film_K = air_K + rise_K / 2
    conductivity = ATMOSPHERE_1976.thermal_conductivity(film_K)
    viscosity = ATMOSPHERE_1976.viscosity(film_K)
    density = ATMOSPHERE_1976.density(film_K, 101325.0)
    heat = 3.5 * 8.31432 / 28.9644e-3  # ideal diatomic gas, gas constant and molar mass of 1976
    grashof = 9.80665 * abs(rise_K) / film_K * height_m**3 * (density / viscosity) ** 2
    nusselt = ht.Nu_vertical_plate_Churchill(viscosity * heat / conductivity, grashof)
    ours = surfaces.vertical_plate_W_per_m2K(height_m, air_K + rise_K, air_K)
    # Same equations; the gas constant of air is given to eight digits on one side, R / M on the
    # other.
    assert ours == pytest.approx(nusselt * conductivity / height_m, rel=1e-6)


def test_air_after_another_tables_values() -> None:
    """Incropera and others, table A.4, air at 300 K: Pr 0.707, nu 15.89e-6 m2/s, k 26.3e-3 W/(m K)
    (from memory). Two property tables of air differ by up to 1 %, the conductance by as much."""
    height_m, rise_K = 0.2, 10.0
    grashof = 9.80665 * rise_K / 300 * height_m**3 / 15.89e-6**2
    expected = ht.Nu_vertical_plate_Churchill(0.707, grashof) * 26.3e-3 / height_m
    ours = surfaces.vertical_plate_W_per_m2K(height_m, 305.0, 295.0)
    assert ours == pytest.approx(expected, rel=0.01)


def test_still_air_range_of_the_defaults() -> None:
    """Plates of 0.1 to 0.2 m, 2 to 10 K above air at 0 degC: 2.5 to 4.4 W/(m2 K), as the default
    range of still air says."""
    values = [
        surfaces.vertical_plate_W_per_m2K(h, 273.15 + rise, 273.15) for h in (0.1, 0.2) for rise in (2, 10)
    ]
    assert (round(min(values), 1), round(max(values), 1)) == (2.5, 4.4)


@pytest.mark.parametrize("difference_K", [0.0, 5.0, 40.0])
def test_radiation_against_the_law_itself(difference_K: float) -> None:
    """sigma eps (T1^4 - T2^4) / (T1 - T2), with scipy's constant; the stated relative error is
    (dT / 2T)^2 and is exact, so what remains is rounding (of T^4 in a difference) alone."""
    mean_K, emissivity = 273.15, 0.9
    hot, cold = mean_K + difference_K / 2, mean_K - difference_K / 2
    exact = emissivity * Stefan_Boltzmann * (hot + cold) * (hot**2 + cold**2)
    ours = surfaces.radiation_W_per_m2K(mean_K, emissivity)
    assert ours * (1 + (difference_K / (2 * mean_K)) ** 2) == pytest.approx(exact, rel=1e-9)


def test_series_against_ht_of_a_wall() -> None:
    """20 mm of foam of 0.035 W/(m K), still air 3.5 and radiation 4.2 W/(m2 K) outside, by the
    equations of a plane wall: 1 / (0.02 / 0.035 + 1 / 7.7)."""
    ours = surfaces.series_W_per_m2K(0.035 / 0.020, 3.5 + 4.2)
    slab = ht.R_to_k(0.020 / 0.035, 0.020)  # back from resistance to conductivity: 0.035 W/(m K)
    assert slab == pytest.approx(0.035, rel=1e-12)
    assert ours == pytest.approx(1 / (0.020 / slab + 1 / 7.7), rel=1e-12)


def test_series_limits() -> None:
    assert surfaces.series_W_per_m2K(0.0, 5.0) == 0.0
    assert surfaces.series_W_per_m2K(math.inf, 5.0) == 5.0
    assert surfaces.series_W_per_m2K(math.inf) == math.inf


@pytest.mark.parametrize(
    "call",
    [
        lambda: surfaces.series_W_per_m2K(),
        lambda: surfaces.series_W_per_m2K(1.0, -1.0),
        lambda: surfaces.series_W_per_m2K(math.nan),
        lambda: surfaces.radiation_W_per_m2K(-1.0, 0.9),
        lambda: surfaces.radiation_W_per_m2K(273.15, 1.1),
        lambda: surfaces.vertical_plate_W_per_m2K(0.0, 280.0, 273.15),
    ],
)
def test_values_without_meaning_are_refused(call) -> None:
    with pytest.raises(ValueError, match=r"conductances|no radiation|above 0"):
        call()
