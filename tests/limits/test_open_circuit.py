"""Open-circuit curves: against the published functions they were drawn from, and against other sets."""

import numpy as np
import pybamm
import pytest
from numpy import exp, tanh
from numpy.typing import NDArray

from bmslint.limits import known_chemistries, load_open_circuit
from bmslint.limits.tables import chemistry_table

Array = NDArray[np.float64]


def lfp_V(charge: Array) -> Array:
    """BPX open standard, examples/lfp_18650_cell_BPX.json: electrode potentials and stoichiometries."""
    x = 0.0016261 + charge * (0.82258 - 0.0016261)
    y = 0.95038 - charge * (0.95038 - 0.0875)
    negative = (
        5.29210878e01 * exp(-1.72699386e02 * x)
        - 1.17963399e03
        + 1.20956356e03 * tanh(6.72033948e01 * (x + 2.44746396e-02))
        + 4.52430314e-02 * tanh(-1.47542326e01 * (x - 1.62746053e-01))
        + 2.01855800e01 * tanh(-2.46666302e01 * (x - 1.12986136e00))
        + 2.01708039e-02 * tanh(-1.19900231e01 * (x - 5.49773440e-01))
        + 4.99616805e01 * tanh(-6.11370883e01 * (x + 4.69382558e-03))
    )
    positive = (
        3.41285712e00
        - 1.49721852e-02 * y
        + 3.54866018e14 * exp(-3.95729493e02 * y)
        - 1.45998465e00 * exp(-1.10108622e02 * (1 - y))
    )
    return positive - negative


def nmc_positive_V(charge: Array) -> Array:
    """BPX open standard, examples/nmc_pouch_cell_BPX.json: positive electrode."""
    y = 0.96210 - charge * (0.96210 - 0.42424)
    return (
        -3.04420906 * y
        + 10.04892207
        - 0.65637536 * tanh(-4.02134095 * (y - 0.80063948))
        + 4.24678547 * tanh(12.17805062 * (y - 7.57659337))
        - 0.3757068 * tanh(59.33067782 * (y - 0.99784492))
    )


def nmc_V(charge: Array) -> Array:
    """The same file, both electrodes."""
    x = 0.005504 + charge * (0.75668 - 0.005504)
    negative = (
        9.47057878e-01 * exp(-1.59418743e02 * x)
        - 3.50928033e04
        + 1.64230269e-01 * tanh(-4.55509094e01 * (x - 3.24116012e-02))
        + 3.69968491e-02 * tanh(-1.96718868e01 * (x - 1.68334476e-01))
        + 1.91517003e04 * tanh(3.19648312e00 * (x - 1.85139824e00))
        + 5.42448511e04 * tanh(-3.19009848e00 * (x - 2.01660395e00))
    )
    return nmc_positive_V(charge) - negative


@pytest.mark.parametrize(
    ("chemistry", "published"), [("lfp", lfp_V), ("lfp_low_temperature", lfp_V), ("nmc", nmc_V)]
)
def test_points_are_the_published_functions(chemistry: str, published) -> None:
    """Every point, to the millivolt that it is given in."""
    curve = load_open_circuit(chemistry)
    assert curve is not None
    assert np.round(published(np.array(curve.charge)), 3).tolist() == list(curve.cell_V)


@pytest.mark.parametrize(("chemistry", "published"), [("lfp", lfp_V), ("nmc", nmc_V)])
def test_straight_lines_between_the_points_follow_the_function(chemistry: str, published) -> None:
    """Between 2 and 99 % within 20 mV, which is the curve's own range and no more."""
    curve = load_open_circuit(chemistry)
    assert curve is not None
    charge = np.linspace(0.02, 0.99, 2001)
    assert np.abs(np.interp(charge, curve.charge, curve.cell_V) - published(charge)).max() < 0.020


def test_titanate_is_the_nickel_oxide_electrode_less_the_plateau() -> None:
    """From 5 % up; 1.55 V for the titanate, and the two points below, are from memory (unverified)."""
    curve = load_open_circuit("lto")
    assert curve is not None
    charge = np.array(curve.charge)
    assert np.round(nmc_positive_V(charge[2:]) - 1.55, 3).tolist() == list(curve.cell_V[2:])
    assert (curve.cell_V[:2], curve.how) == ((1.5, 1.95), "unverified")


def pybamm_V(name: str, charge: Array) -> Array:
    """Open-circuit voltage of a parameter set of PyBaMM at 25 degC, by its own stoichiometry limits."""
    values, model = pybamm.ParameterValues(name), pybamm.LithiumIonParameters()
    x_0, x_100, y_100, y_0 = (
        float(np.asarray(limit).item()) for limit in pybamm.lithium_ion.get_min_max_stoichiometries(values)
    )

    def potential(electrode, stoichiometry: float) -> float:
        symbol = electrode.prim.U(pybamm.Scalar(stoichiometry), pybamm.Scalar(298.15))
        return float(np.asarray(values.process_symbol(symbol).evaluate()).item())

    return np.array(
        [
            potential(model.p, y_0 + part * (y_100 - y_0)) - potential(model.n, x_0 + part * (x_100 - x_0))
            for part in charge
        ]
    )


@pytest.mark.parametrize(
    ("chemistry", "name", "first", "last", "most_mV"),
    # Other cells of the chemistry, so the tolerance is the spread between cells: of iron phosphate where it
    # is flat, the iron phosphate cell of 2013 empties earlier below 30 %; of nickel oxides with 33 to 80 %
    # nickel between 20 and 95 %.
    [
        ("lfp", "Prada2013", 0.4, 0.95, 35),
        ("nmc", "Mohtat2020", 0.2, 0.95, 65),
        ("nmc", "Chen2020", 0.2, 0.95, 130),
        ("nmc", "Ecker2015", 0.2, 0.95, 145),
    ],
)
def test_other_sets_lie_close(chemistry: str, name: str, first: float, last: float, most_mV: float) -> None:
    """PyBaMM's parameter sets, which have nothing in common with the file the curve is from."""
    curve = load_open_circuit(chemistry)
    assert curve is not None
    charge = np.linspace(first, last, 12)
    difference = np.interp(charge, curve.charge, curve.cell_V) - pybamm_V(name, charge)
    assert np.abs(difference).max() * 1e3 < most_mV


def test_full_and_empty_against_the_limits() -> None:
    """Full and empty less the charge and discharge limit (V); the limits are from other sources."""
    found = {}
    for name in known_chemistries():
        curve, limits = load_open_circuit(name), chemistry_table(name)["limits"]
        if curve is None:
            found[name] = None
            continue
        full = curve.cell_V[-1] - limits["charge_max_V"]["value"]
        found[name] = (round(full, 2) + 0.0, round(curve.cell_V[0] - limits["discharge_min_V"]["value"], 2))
    assert found == {
        "lfp": (0.0, -0.5),
        "lfp_low_temperature": (0.0, -0.5),
        "lto": (-0.06, 0.0),
        "nmc": (0.0, 0.2),
        "sodium_ion": None,
    }
