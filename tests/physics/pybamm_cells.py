"""Cells from published parameter sets, computed by PyBaMM's porous-electrode model (Doyle, Fuller, Newman).

Isothermal; half the usual mesh or so, which moves a voltage by less than a millivolt. Currents are rates in
1/h of the set's own capacity, positive into the cell.
"""

from functools import cache

import numpy as np
import pybamm

POINTS = {"x_n": 10, "x_s": 5, "x_p": 10, "r_n": 15, "r_p": 15}
# The potential of the negative electrode where plating begins, next to the separator.
PLATING = "Negative electrode surface potential difference at separator interface [V]"


@cache
def model() -> pybamm.BaseModel:
    return pybamm.lithium_ion.DFN()


def values_at(name: str, celsius: float, rate_per_h: float) -> pybamm.ParameterValues:
    """The set at one temperature and one charging rate."""
    values = pybamm.ParameterValues(name)
    values["Ambient temperature [K]"] = values["Initial temperature [K]"] = celsius + 273.15
    values["Current function [A]"] = -rate_per_h * values["Nominal cell capacity [A.h]"]
    return values


@cache
def charged(name: str, celsius: float, rate_per_h: float, charge: float = 0.5) -> tuple[float, float, float]:
    """Voltage at rest (V), after 10 s of charging (V), and the current (A)."""
    values = values_at(name, celsius, rate_per_h)
    found = pybamm.Simulation(model(), parameter_values=values, var_pts=POINTS).solve(
        [0, 10], initial_soc=charge
    )
    rest = found["Battery open-circuit voltage [V]"].entries[0]
    return float(rest), float(found["Terminal voltage [V]"].entries[-1]), -values["Current function [A]"]


def resistance_ohm(name: str, celsius: float, rate_per_h: float = 0.1) -> float:
    """Direct-current resistance over 10 s, half charged."""
    rest, end, current = charged(name, celsius, rate_per_h)
    return (end - rest) / current


def plating_margin_V(name: str, celsius: float, rate_per_h: float) -> float:
    """Lowest potential of the negative electrode against lithium from 10 to 80 % of charge."""
    values = values_at(name, celsius, rate_per_h)
    empty_n, full_n, full_p, empty_p = (
        float(np.asarray(limit).item()) for limit in pybamm.lithium_ion.get_min_max_stoichiometries(values)
    )
    values["Upper voltage cut-off [V]"] = 5.5  # the electrode is looked at, not the charger
    for electrode, empty, full in (("negative", empty_n, full_n), ("positive", empty_p, full_p)):
        most = values[f"Maximum concentration in {electrode} electrode [mol.m-3]"]
        values[f"Initial concentration in {electrode} electrode [mol.m-3]"] = most * (
            empty + 0.1 * (full - empty)
        )
    found = pybamm.Simulation(model(), parameter_values=values, var_pts=POINTS).solve(
        [0, 0.7 * 3600 / rate_per_h]
    )
    return float(found[PLATING].entries.min())
