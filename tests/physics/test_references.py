"""The exact solutions the other tests lean on, against the tables of the literature."""

import numpy as np
import pytest
import references
from cases import FACES, Case, Face
from fem_block import FemBlock


@pytest.mark.parametrize(
    ("biot", "root", "coefficient"),
    # Incropera and others, table 5.1, one-term coefficients of the plane wall (from memory).
    [(0.1, 0.3111, 1.0161), (1.0, 0.8603, 1.1191), (10.0, 1.4289, 1.2620)],
)
def test_one_term_coefficients(biot: float, root: float, coefficient: float) -> None:
    z = references.plane_wall_roots(biot, 1)[0]
    found = (round(float(z), 4), round(float(4 * np.sin(z) / (2 * z + np.sin(2 * z))), 4))
    assert found == (root, coefficient)


@pytest.mark.parametrize(
    ("biot", "fourier", "middle", "surface"),
    # Worked out once from the series of Carslaw and Jaeger 3.11.
    [
        (1.0, 0.2, 0.950642, 0.643391),
        (1.0, 0.5, 0.772526, 0.504522),
        (1.0, 1.0, 0.533859, 0.348177),
        (10.0, 0.2, 0.829255, 0.122482),
    ],
)
def test_plane_wall(biot: float, fourier: float, middle: float, surface: float) -> None:
    found = [round(references.plane_wall(biot, fourier, place), 6) for place in (0.0, 1.0)]
    assert found == [middle, surface]


@pytest.mark.parametrize(
    ("fourier", "middle", "mean"),
    # Carslaw and Jaeger 3.3 and 3.4, evaluated.
    [(0.1, 0.949305, 0.643177), (0.5, 0.370777, 0.236050), (1.0, 0.107977, 0.068740)],
)
def test_surface_step(fourier: float, middle: float, mean: float) -> None:
    found = (references.surface_step(fourier, 0.0), references.surface_step_mean(fourier))
    assert tuple(round(value, 6) for value in found) == (middle, mean)


@pytest.mark.parametrize(
    ("fourier", "core", "surface"),
    # Carslaw and Jaeger 3.8, evaluated.
    [(0.1, 0.007885, 0.356826), (0.3, 0.143824, 0.622842), (1.0, 0.833344, 1.333323)],
)
def test_constant_flux(fourier: float, core: float, surface: float) -> None:
    found = [round(references.constant_flux(fourier, place), 6) for place in (0.0, 1.0)]
    assert found == [core, surface]


@pytest.mark.parametrize(
    ("seconds", "middle", "big_face", "corner"),
    [(3600.0, 0.506869, 0.420262, 0.400036), (7200.0, 0.238915, 0.198092, 0.188559)],
)
def test_anisotropic_block_by_product_and_by_elements(
    seconds: float, middle: float, big_face: float, corner: float
) -> None:
    """A block cools as the product of three plane walls (Newman's rule; Incropera, section 5.8; both from
    memory), and scikit-fem, which knows nothing of products, gives the same."""
    product = references.cooling_block(seconds)
    assert tuple(round(value, 6) for value in product) == (middle, big_face, corner)
    # One eighth: insulated where the block is symmetric, cooled on the other three faces.
    faces = {name: Face(10.0 if name.endswith("high") else 0.0, -1.0) for name in FACES}
    eighth = Case((1, 1, 1), (0.036, 0.087, 0.102), (0.9, 19.0, 19.0), (0.0, 0.0, 0.0), 2130 * 1020.0, faces)
    block = FemBlock(eighth, (6, 3, 3))
    block.march(eighth, seconds, int(seconds / 30))
    ends = [np.array([0.0, size]) for size in eighth.cell_m]
    field = 1 + block.at(*ends)
    found = (field[0, 0, 0], field[1, 0, 0], field[1, 1, 1])
    assert found == pytest.approx(product, abs=1e-6)  # the sixth digit
