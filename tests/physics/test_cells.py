"""Mean temperatures of whole cells in a block."""

import numpy as np
import pytest
import references
from cases import ALL_ON, FACES, Case, Face, ours
from scipy.integrate import quad

from bmslint.physics.cells import cell_means

K, HEAT, CELL_M = 0.9, 2130 * 1020.0, 0.018
# Four cells in a row without contact resistance, held by 100 W/(m2 K) at 1 K above them on both ends.
ROW = Case(
    (4, 1, 1), (CELL_M, 1.0, 1.0), (K, K, K), (0.0, 0.0, 0.0), HEAT,
    dict.fromkeys(FACES, Face()) | dict.fromkeys(FACES[:2], Face(100.0, 1.0)),
)  # fmt: skip


@pytest.mark.parametrize("fourier", [0.1, 0.3, 1.0])
def test_cells_of_a_row_against_the_exact_wall(fourier: float) -> None:
    """The plane wall of the literature, its mean over each quarter by scipy.integrate.quad.

    16 volumes in each cell: second order in 1/32 of the half wall, below 0.8 / 32^2 = 8e-4.
    """
    half = 2 * CELL_M
    block = ours(ROW, (16, 1, 1))
    state = block.after(block.rest(), block.steady(ALL_ON), fourier * half**2 * HEAT / K)
    inner, outer = (
        1.0 - 2 * quad(lambda p: references.plane_wall(100 * half / K, fourier, p), low, low + 0.5)[0]
        for low in (0.0, 0.5)
    )
    assert cell_means(block, state, (4, 1, 1))[:, 0, 0] == pytest.approx(
        [outer, inner, inner, outer], abs=8e-4
    )


def uneven(cells: tuple[int, int, int]) -> Case:
    """A block that is heated on one end, cooled below, with heat inside: no cell is like another."""
    faces = {name: Face(5.0 + 7.0 * n, 10.0 * (n == 4), 300.0 * (n == 0)) for n, name in enumerate(FACES)}
    return Case(
        cells, (0.03, 0.15, 0.2), (0.9, 19.0, 19.0), (5e-4, 1e-3, 1e-3), HEAT, faces, inside_W_per_m3=800.0
    )


@pytest.mark.parametrize("ends", [0, 6])
@pytest.mark.parametrize("cells", [(4, 2, 1), (3, 1, 2), (1, 1, 1)])
def test_cells_against_their_own_volumes_averaged(cells: tuple[int, int, int], ends: int) -> None:
    """The whole field averaged over the volumes in each cell with numpy, graded ends by their lengths."""
    case = uneven(cells)
    block = ours(case, (4, 3, 3), ends)
    state = block.after(block.rest(), block.steady(ALL_ON), 5000.0)
    field = block.full_field(state)
    expected = np.empty(cells)
    where = [np.floor(axis.middles_m / axis.length_m).astype(int) for axis in block.axes]
    lengths = [axis.steps_m for axis in block.axes]
    for cell in np.ndindex(*cells):
        chosen = np.ix_(*(np.flatnonzero(place == number) for place, number in zip(where, cell, strict=True)))
        weights = np.einsum("i,j,k->ijk", *lengths)[chosen]
        expected[cell] = np.average(field[chosen], weights=weights)
    assert cell_means(block, state, cells) == pytest.approx(expected, rel=1e-10)


def test_a_body_that_many_cells_were_made_into_is_cut_up_again() -> None:
    """Limit: twice as many cells as the one body in their place has volumes; the mean stays the block's."""
    case = uneven((1, 1, 1))
    block = ours(case, (12, 3, 3))
    state = block.steady(ALL_ON)
    halves, thirds = cell_means(block, state, (24, 1, 1)), cell_means(block, state, (5, 1, 1))
    assert (halves.shape, thirds.shape) == ((12, 1, 1), (5, 1, 1))
    assert (halves.mean(), thirds.mean()) == pytest.approx((block.mean(state), block.mean(state)), rel=1e-10)
    assert halves[:, 0, 0] == pytest.approx(block.full_field(state).mean(axis=(1, 2)), rel=1e-10)
