"""Reading a place, the modes of an axis, and a long row as one body, each against something outside.

Outside are the exact plane wall, finite elements by scikit-fem, scipy's interpolation and eigensolver, and
the row of cells solved without volumes: transfer matrices of its layers (H. S. Carslaw and J. C. Jaeger,
Conduction of Heat in Solids, 2nd ed., section 3.7 on composite walls, number from memory), with roots by
scipy.
"""

from itertools import pairwise
from math import cos, pi, sin

import numpy as np
import pytest
import references
from cases import ALL_ON, FACES, Case, Face, ours
from fem_block import FemBlock
from scipy.interpolate import RegularGridInterpolator
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq
from test_conduction_solvers import FOAM, HEATED

from bmslint.physics.axis import Axis, homogenised
from bmslint.physics.conduction import Block

K, HEAT = 0.9, 2130 * 1020.0
HALF_M, FILM = 0.036, 100.0
BIOT = FILM * HALF_M / K
WALL = Case(
    (1, 1, 1), (2 * HALF_M, 1.0, 1.0), (K, K, K), (0.0, 0.0, 0.0), HEAT,
    dict.fromkeys(FACES, Face()) | dict.fromkeys(FACES[:2], Face(FILM, 1.0)),
)  # fmt: skip


def read_at(block: Block, state: np.ndarray, place: tuple[float, float, float]) -> float:
    weights = tuple(axis.weights(at) for axis, at in zip(block.axes, place, strict=True))
    return float((block.probe([(weights[0], weights[1], weights[2])]) @ state)[0])


@pytest.mark.parametrize("ends", [0, 20])
@pytest.mark.parametrize("place", [0.0, 0.137, 0.52, 0.811])
def test_a_place_in_the_exact_wall(place: float, ends: int) -> None:
    """Carslaw and Jaeger 3.11 off the middles of the volumes, Bi 4, Fo 0.3.

    The field's curvature is at most z^2 = 1.6 of its value over the half wall. A straight line between two
    middles h of the half wall apart is therefore off by 1.6 h^2 / 8, and the volumes by as much again: 1e-3
    for 40 alike, 1e-2 for 20 in each half that grow to a sixth of it.
    """
    block = ours(WALL, (40, 1, 1), ends)
    state = block.after(block.rest(), block.steady(ALL_ON), 0.3 * HALF_M**2 * HEAT / K)
    expected = 1.0 - references.plane_wall(BIOT, 0.3, place)
    bound = 2 * 1.6 / 8 * (block.axes[0].steps_m.max() / HALF_M) ** 2
    assert read_at(block, state, (HALF_M * (1 + place), 0.5, 0.5)) == pytest.approx(expected, abs=bound)


PLACES = [
    (0.0125, 0.065, 0.1), (0.054, 0.021, 0.177), (0.0721, 0.11, 0.033), (0.118, 0.065, 0.141),
]  # fmt: skip


@pytest.mark.parametrize(("case", "abs_K"), [(HEATED, 0.05), (FOAM, 0.05)], ids=["contacts", "foam"])
def test_places_in_a_block_against_finite_elements(case: Case, abs_K: float) -> None:
    """scikit-fem at places that are no middles of volumes, and on both sides of the contact planes.

    0.05 K is what volumes and elements differ by at the middles already. On a plane between cells the place
    reads half way between the two sides, which in foam are kelvins apart: neither surface by itself. The
    middles of the volumes beside it are another half volume away on either side, which cancels but for the
    difference of the two slopes.
    """
    block = ours(case, (12, 8, 10), 0)
    state = block.after(block.rest(), block.steady(ALL_ON), 1800.0)
    elements = FemBlock(case, (6, 3, 3))
    elements.march(case, 1800.0, 40)

    def theirs(x: float, y: float, z: float) -> float:
        return float(elements.at(np.array([x]), np.array([y]), np.array([z]))[0, 0, 0])

    for place in PLACES:
        assert read_at(block, state, place) == pytest.approx(theirs(*place), abs=abs_K)
    jumps = []
    for plane in (0.036, 0.072, 0.108):
        sides = theirs(plane - 1e-9, 0.065, 0.1), theirs(plane + 1e-9, 0.065, 0.1)
        jumps.append(abs(sides[1] - sides[0]))
        assert read_at(block, state, (plane, 0.065, 0.1)) == pytest.approx(sum(sides) / 2, abs=abs_K)
    assert (max(jumps) > 2.0) == (case is FOAM)


@pytest.mark.parametrize("ends", [0, 6])
def test_weights_are_scipys_linear_interpolation(ends: int) -> None:
    """scipy's RegularGridInterpolator over the middles of the volumes; rounding of three products."""
    block = ours(HEATED, (4, 5, 7), ends)
    state = block.after(block.rest(), block.steady(ALL_ON), 2400.0)
    middles = tuple(axis.middles_m for axis in block.axes)
    between = RegularGridInterpolator(middles, block.full_field(state))
    for place in PLACES:
        assert read_at(block, state, place) == pytest.approx(float(between(place)), abs=1e-9)


@pytest.mark.parametrize("ends", [0, 6])
def test_at_a_middle_and_beyond_the_last_one_volume_counts_alone(ends: int) -> None:
    """Limit cases: on a middle, and in the outer half of the first and last volume."""
    axis = Axis(3, 0.04, K, 3e-4, 5.0, 7.0, 4, ends)
    for number, middle in enumerate(axis.middles_m):
        assert axis.weights(float(middle)) == pytest.approx(np.eye(axis.count)[number], abs=1e-12)
    for place, number in ((0.0, 0), (0.3 * axis.steps_m[0], 0), (0.12, -1)):
        assert axis.weights(place).tolist() == np.eye(axis.count)[number].tolist()


@pytest.mark.parametrize("biot", [0.1, 1.0, 10.0])
def test_rates_are_the_roots_of_the_exact_wall(biot: float) -> None:
    """z tan z = Bi (Incropera, table 5.1; roots 0.3111, 0.8603, 1.4289 in tests/physics/test_references.py):
    a mode that is alike on both sides decays at a z^2 / L^2. Second order: z^2 / 12 / 50^2 for the first four
    on 50 volumes in each half."""
    film = biot * K / HALF_M
    axis = Axis(1, 2 * HALF_M, K, 0.0, film, film, 100)
    rates = axis.modes(HEAT, alike=True)[0][:4]
    roots = references.plane_wall_roots(biot, 4)
    assert rates == pytest.approx(K / HEAT * (roots / HALF_M) ** 2, rel=5e-3)
    assert rates[0] == pytest.approx(K / HEAT * (roots[0] / HALF_M) ** 2, rel=1e-4)


@pytest.mark.parametrize("ends", [0, 5])
def test_modes_against_scipys_tridiagonal_solver(ends: int) -> None:
    """LAPACK's tridiagonal solver through scipy, on a matrix built volume by volume."""
    axis = Axis(4, 0.036, K, 2e-3, 3.0, 40.0, 5, ends)
    n, steps = axis.count, axis.steps_m
    edges = np.cumsum(steps)
    ways = []
    for i in range(n - 1):
        way = steps[i] / (2 * K) + steps[i + 1] / (2 * K)
        if min(abs(edges[i] - 0.036 * cell) for cell in (1, 2, 3)) < 1e-9:
            way += 2e-3
        ways.append(1 / way)
    diagonal = np.array([ways[0], *(a + b for a, b in pairwise(ways)), ways[-1]])
    diagonal[0] += 1 / (1 / 3.0 + steps[0] / (2 * K))
    diagonal[-1] += 1 / (1 / 40.0 + steps[-1] / (2 * K))
    off = -np.array(ways) / np.sqrt(steps[:-1] * steps[1:])
    rates, shapes = eigh_tridiagonal(diagonal / steps / HEAT, off / HEAT)
    ours_rates, ours_shapes = axis.modes(HEAT, alike=False)
    assert ours_rates == pytest.approx(rates, rel=1e-9)
    overlap = np.abs((ours_shapes * np.sqrt(steps)[:, None]).T @ shapes)
    assert overlap == pytest.approx(np.eye(n), abs=1e-6)


def test_a_wall_that_loses_nothing_has_a_mode_that_stays() -> None:
    """Limit: adiabatic, a (n pi / L)^2 with n from 0 (any text); rounding of the eigensolver beside 0."""
    rates = Axis(1, 2 * HALF_M, K, 0.0, 0.0, 0.0, 100).modes(HEAT, alike=False)[0]
    assert rates[0] == pytest.approx(0.0, abs=1e-12)
    assert rates[1:4] == pytest.approx([K / HEAT * (n * pi / (2 * HALF_M)) ** 2 for n in (1, 2, 3)], rel=1e-3)


def layers(row: Axis, rate_per_s: float) -> np.ndarray:
    """Temperature and flux behind a row of cells from those before it, at one rate of decay.

    The exact solution in each cell, cos and sin of sqrt(rate rho c / k) x, and a contact after each but the
    last; no volumes.
    """
    wave = (rate_per_s * HEAT / row.conductivity_W_per_mK) ** 0.5
    turn, stiff = wave * row.length_m, wave * row.conductivity_W_per_mK
    # Flux counts in the direction of x: q = -k T'.
    cell = np.array([[cos(turn), -sin(turn) / stiff], [stiff * sin(turn), cos(turn)]])
    contact = np.array([[1.0, -row.contact_m2K_per_W], [0.0, 1.0]])
    whole = cell
    for _ in range(row.cells - 1):
        whole = cell @ contact @ whole
    return whole


def slowest_per_s(row: Axis) -> float:
    """The first rate at which nothing but the films' losses leaves a row of cells, by scipy's brentq."""
    # A wall of the same resistance is slower than this: no film can make it lose more than held surfaces.
    across = row.cells * (row.length_m / row.conductivity_W_per_mK + row.contact_m2K_per_W)
    most = pi**2 / (HEAT * row.cells * row.length_m * across) * 1.05

    def unmatched(rate: float) -> float:
        # Out of the low face goes low T, so the flux in the direction of x is -low T.
        high = layers(row, rate) @ np.array([1.0, -row.low_W_per_m2K])
        return float(high[1] - row.high_W_per_m2K * high[0])

    return float(brentq(unmatched, 1e-12, most, xtol=1e-18, rtol=1e-12))


ROWS = [
    Axis(60, 0.02, 0.9, 3e-4, 5.0, 5.0, 4),
    Axis(100, 0.012, 0.52, 6e-4, 30.0, 30.0, 3),
    Axis(50, 0.036, 0.9, 0.025, 2.0, 8.0, 4),
    Axis(300, 0.01, 0.9, 0.01, 1000.0, 1000.0, 2),
]


@pytest.mark.parametrize("row", ROWS, ids=["contacts", "pouches", "foam, uneven", "foam, held"])
def test_a_long_row_decays_as_its_layers(row: Axis) -> None:
    """The slowest mode against the exact one of all layers. The body has one contact more than the row has,
    in the middle of the resistances that count: a part in the number of cells, at most."""
    body = homogenised(row, 128)
    assert (body.cells, body.count) == (1, 128)
    rate = float(body.modes(HEAT, alike=False)[0][0])
    assert rate == pytest.approx(slowest_per_s(row), rel=1.0 / row.cells)
    assert rate < slowest_per_s(row)


@pytest.mark.parametrize(
    ("row", "W_per_m2"),
    # Worked by hand: 1 K over 1/h + N L/k + (N - 1) R'' + 1/h.
    [
        (ROWS[0], 1 / (0.2 + 60 * 0.02 / 0.9 + 59 * 3e-4 + 0.2)),
        (ROWS[1], 1 / (1 / 30 + 100 * 0.012 / 0.52 + 99 * 6e-4 + 1 / 30)),
        (ROWS[2], 1 / (0.5 + 50 * 0.036 / 0.9 + 49 * 0.025 + 0.125)),
    ],
    ids=["contacts", "pouches", "foam, uneven"],
)
def test_a_long_row_passes_what_its_resistances_pass(row: Axis, W_per_m2: float) -> None:
    """The steady heat through the body; by hand, and by the layers at a rate of nothing. As above a part in
    the number of cells, for the contact that the row lacks."""
    body = homogenised(row, 128)
    side = Axis(1, 1.0, 1.0, 0.0, 0.0, 0.0, 1)
    block = Block((body, side, side), HEAT, {"warm": {"x_high": row.high_W_per_m2K}})
    first = read_at(block, block.steady({"warm": 1.0}), (0.0, 0.5, 0.5))
    passed = first / (1 / row.low_W_per_m2K + 1 / body.half_W_per_m2K)
    whole = layers(row, 1e-18)
    # 1 K outside the high end: T and q there follow from the low end's T, which the loss gives.
    end = whole @ np.array([1.0, -row.low_W_per_m2K])
    exact = row.low_W_per_m2K / (end[0] - end[1] / row.high_W_per_m2K)
    assert exact == pytest.approx(W_per_m2, rel=1e-9)
    assert passed == pytest.approx(W_per_m2, rel=1.0 / row.cells)


def test_a_printed_composite_wall() -> None:
    """M. J. Moran and others, Introduction to Thermal Systems Engineering, a wall of 125 mm of insulation of
    0.05 and 25 mm of siding of 0.10 W/(m K) between 20 and -10 degC (the statement was read, the solution
    recomputed): 10.9 W/m2. As a row of equal parts with the siding as their contacts it is one body."""
    parts = 500
    row = Axis(parts, 0.125 / parts, 0.05, 0.25 / parts, 1e9, 1e9, 1)
    body = homogenised(row, 100)
    through = 30.0 * body.conductivity_W_per_mK / body.length_m
    assert round(through, 1) == 10.9
    assert through == pytest.approx(30.0 / (0.125 / 0.05 + 0.025 / 0.10), rel=1e-12)


@pytest.mark.parametrize("biot", [0.5, 5.0])
def test_a_row_without_contacts_is_the_exact_wall(biot: float) -> None:
    """Limit: nothing between the cells, so the body is the row, and its slowest mode z tan z = Bi; second
    order on 64 volumes in each half, z^2 / 12 / 64^2. A row that is short enough is left as it is."""
    half = 60 * 0.02 / 2
    film = biot * K / half
    row = Axis(60, 0.02, K, 0.0, film, film, 4)
    z = references.plane_wall_roots(biot, 1)[0]
    exact = K / HEAT * (z / half) ** 2
    assert slowest_per_s(row) == pytest.approx(exact, rel=1e-9)
    assert float(homogenised(row, 128).modes(HEAT, alike=False)[0][0]) == pytest.approx(exact, rel=1e-4)
    assert homogenised(row, 240) is row
