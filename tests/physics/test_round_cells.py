"""Round cells side by side against the unit cell solved by volumes, and against limits by hand."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import spsolve

from bmslint.physics.round_cells import SQUARE_FILL, radial_rise_K, square_array_W_per_mK


def unit_cell(contrast: float, fill: float, count: int) -> float:
    """Conductivity of the array over that of the filling, by count x count volumes on a quarter.

    The cell's axis is a corner of the quarter, two opposite sides are held 1 K apart, the others are
    adiabatic. A volume that the cell's edge crosses gets the geometric mean of what it holds in series
    and side by side. The error falls as the volumes do.
    """
    step, parts = 0.5 / count, 8
    places = (np.arange(count * parts) + 0.5) * step / parts
    inside = np.add.outer(places**2, places**2) < fill / np.pi
    share = inside.reshape(count, parts, count, parts).mean(axis=(1, 3))
    k = np.sqrt((share * contrast + 1 - share) / (share / contrast + 1 - share))
    number = np.arange(count**2).reshape(count, count)
    rows, columns, ways = [], [], []
    diagonal = np.zeros(count**2)
    for low, high, a, b in (
        (number[:-1], number[1:], k[:-1], k[1:]),
        (number[:, :-1], number[:, 1:], k[:, :-1], k[:, 1:]),
    ):
        way = (2 * a * b / (a + b)).ravel()
        rows += [low.ravel(), high.ravel()]
        columns += [high.ravel(), low.ravel()]
        ways += [-way, -way]
        np.add.at(diagonal, low.ravel(), way)
        np.add.at(diagonal, high.ravel(), way)
    heat = np.zeros(count**2)
    diagonal[number[0]] += 2 * k[0]
    diagonal[number[-1]] += 2 * k[-1]
    heat[number[-1]] = 2 * k[-1]
    off = coo_matrix((np.concatenate(ways), (np.concatenate(rows), np.concatenate(columns))))
    field = spsolve((off + diags(diagonal)).tocsc(), heat).reshape(count, count)
    return float((2 * k[0] * field[0]).sum())


@pytest.mark.parametrize("fill", [0.3, 0.6, SQUARE_FILL])
@pytest.mark.parametrize("contrast", [0.3, 3.0, 5.0])
def test_square_array_against_the_unit_cell(contrast: float, fill: float) -> None:
    """The volumes are good for 1 % (half as many change the result by as much), the formula where the
    cells touch for another 1 %."""
    ours = square_array_W_per_mK(contrast, 1.0, fill)
    assert ours == pytest.approx(unit_cell(contrast, fill, 120), rel=0.02)


@pytest.mark.parametrize(("contrast", "lacks"), [(6.67, 0.02), (10.0, 0.045)])
def test_touching_cells_that_conduct_well_are_given_too_little(contrast: float, lacks: float) -> None:
    """As the formula's validity says; what is safe, since poor conduction keeps a core cold or hot."""
    ratio = square_array_W_per_mK(contrast, 1.0) / unit_cell(contrast, SQUARE_FILL, 200)
    assert 1.0 - lacks < ratio < 1.0


def test_limits_of_the_array() -> None:
    """Nothing there, no difference, and few cells: Rayleigh's 1 + 2 f (k - 1) / (k + 1), to f squared."""
    assert square_array_W_per_mK(30.0, 0.02, 0.0) == 0.02
    assert square_array_W_per_mK(0.2, 0.2) == pytest.approx(0.2, rel=1e-12)
    assert square_array_W_per_mK(4.0, 1.0, 0.01) == pytest.approx(1 + 0.02 * 3 / 5, rel=2e-4)


def test_an_array_conducts_between_its_bounds() -> None:
    """Side by side is the most, in series the least that any arrangement conducts (Wiener's bounds)."""
    for cell in (0.15, 0.2, 1.0, 3.4):
        most = SQUARE_FILL * cell + (1 - SQUARE_FILL) * 0.04
        least = 1 / (SQUARE_FILL / cell + (1 - SQUARE_FILL) / 0.04)
        assert least < square_array_W_per_mK(cell, 0.04) < most


@pytest.mark.parametrize(
    ("heat", "radius", "radial"), [(45e3, 0.009, 0.2), (20e3, 0.0105, 0.15), (200e3, 0.013, 3.4)]
)
def test_rise_of_the_axis_against_a_boundary_value_problem(heat: float, radius: float, radial: float) -> None:
    """(r T')' = - q r / k with T = 0 at the skin, by scipy's solve_bvp from close to the axis."""
    start = 1e-6 * radius
    place = np.linspace(start, radius, 50)

    def slope(r: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.array([y[1] / r, -heat * r / radial])

    found = solve_bvp(
        slope, lambda a, b: np.array([a[1] + heat * start**2 / (2 * radial), b[0]]), place, np.zeros((2, 50))
    )
    # solve_bvp's own tolerance of 1e-3, on a solution that its collocation meets almost exactly.
    assert radial_rise_K(heat, radius, radial) == pytest.approx(float(found.sol(start)[0]), rel=1e-3)


def test_rise_of_a_usual_cell_by_hand() -> None:
    """18 mm, 0.75 W in 65 mm of length: 45.3 kW/m3, r2 / 4 k = 1.0125e-4, 4.59 K."""
    heat = 0.75 / (math.pi * 0.009**2 * 0.065)
    assert round(radial_rise_K(heat, 0.009, 0.2), 2) == 4.59


@pytest.mark.parametrize(
    "call",
    [
        lambda: square_array_W_per_mK(0.0, 0.02),
        lambda: square_array_W_per_mK(0.2, 0.02, 0.9),
        lambda: radial_rise_K(1.0, -1.0, 0.2),
        lambda: radial_rise_K(1.0, 1.0, 0.0),
    ],
)
def test_values_without_meaning_are_refused(call) -> None:
    with pytest.raises(ValueError, match=r"no array|no rise"):
        call()
