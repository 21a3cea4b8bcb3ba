"""Heat passed by a surface to its surroundings, as a conductance for each unit of area."""

from __future__ import annotations

STEFAN_BOLTZMANN_W_PER_M2K4 = 5.670374419e-8
"""Stefan-Boltzmann constant, exact in the SI of 2019 to the digits given (CODATA 2018)."""

_PRESSURE_PA = 101325.0
_GRAVITY_M_PER_S2 = 9.80665
_GAS_CONSTANT_AIR_J_PER_KGK = 287.05287  # U.S. Standard Atmosphere, 1976
_SPECIFIC_HEAT_AIR_J_PER_KGK = 3.5 * _GAS_CONSTANT_AIR_J_PER_KGK  # ideal diatomic gas


def series_W_per_m2K(*conductances_W_per_m2K: float) -> float:
    """Give the conductance of layers that the same heat crosses one after the other.

    Args:
        conductances_W_per_m2K: Conductance of each layer or surface film, W/(m2 K), 0 or more, at
            least one: conductivity over thickness for a layer, convection plus radiation for a
            surface. One of 0 lets nothing through; an infinite one is left out of the sum.

    Returns:
        Conductance of all together, W/(m2 K); infinite only if every one is.

    Raises:
        ValueError: None given, or one below 0 or not a number.

    Validity: flat layers, thin against their extent, with no heat source between them.
    Source: thermal resistances in series, any text on heat conduction.
    """
    if not conductances_W_per_m2K or not all(value >= 0 for value in conductances_W_per_m2K):
        raise ValueError(f"conductances must be given and 0 or more, got {conductances_W_per_m2K}")
    if min(conductances_W_per_m2K) == 0:
        return 0.0
    resistance = sum(1 / value for value in conductances_W_per_m2K)
    return 1 / resistance if resistance > 0 else float("inf")


def radiation_W_per_m2K(temperature_K: float, emissivity: float) -> float:
    """Give the conductance of radiation between a surface and surroundings of nearly its
    temperature.

    Args:
        temperature_K: Mean of surface and surroundings, K, 0 or more.
        emissivity: Hemispherical emissivity of the surface, 0 to 1.

    Returns:
        Conductance 4 eps sigma T^3, W/(m2 K).

    Raises:
        ValueError: Temperature below 0 or emissivity outside 0 to 1.

    Validity: surroundings large against the surface; (dT / 2T)^2 below the truth, relatively: 0.5 %
        for 40 K between the two at 0 degC.
    Source: Stefan-Boltzmann law, made linear about the mean temperature.
    """
    if not (temperature_K >= 0 and 0 <= emissivity <= 1):
        raise ValueError(f"no radiation for {temperature_K} K and an emissivity of {emissivity}")
    return 4 * emissivity * STEFAN_BOLTZMANN_W_PER_M2K4 * temperature_K**3


def vertical_plate_W_per_m2K(height_m: float, surface_K: float, air_K: float) -> float:
    """Give the conductance of natural convection from a vertical plate to still air.

    Args:
        height_m: Height of the plate, m, above 0.
        surface_K: Temperature of the plate, K, above 0.
        air_K: Temperature of the air far away, K, above 0.

    Returns:
        Mean conductance over the height, W/(m2 K), without radiation.

    Raises:
        ValueError: An argument is not above 0.

    Validity: isothermal plate, Rayleigh number up to 1e12, air at 101325 Pa between 200 and 400 K,
        properties at the mean temperature.
    Source: S. W. Churchill and H. H. S. Chu, Correlating equations for laminar and turbulent free
        convection from a vertical plate, Int. J. Heat Mass Transfer 18 (1975) 1323-1329; viscosity
        and conductivity of air after the U.S. Standard Atmosphere, 1976.
    """
    if not min(height_m, surface_K, air_K) > 0:
        raise ValueError(f"height and temperatures must be above 0, got {height_m}, {surface_K}, {air_K}")
    film_K = (surface_K + air_K) / 2
    viscosity_Pa_s = 1.458e-6 * film_K**1.5 / (film_K + 110.4)
    conductivity_W_per_mK = 2.64638e-3 * film_K**1.5 / (film_K + 245.4 * 10 ** (-12 / film_K))
    density_kg_per_m3 = _PRESSURE_PA / (_GAS_CONSTANT_AIR_J_PER_KGK * film_K)
    prandtl = viscosity_Pa_s * _SPECIFIC_HEAT_AIR_J_PER_KGK / conductivity_W_per_mK
    buoyancy_m_per_s2 = _GRAVITY_M_PER_S2 * abs(surface_K - air_K) / film_K
    grashof = buoyancy_m_per_s2 * height_m**3 * (density_kg_per_m3 / viscosity_Pa_s) ** 2
    shape = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt = (0.825 + 0.387 * (grashof * prandtl) ** (1 / 6) / shape) ** 2
    return float(nusselt * conductivity_W_per_mK / height_m)
