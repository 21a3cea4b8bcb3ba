"""Conduction in the block against exact solutions.

Finite volumes are second order: the rate of a mode z is wrong by the part (z h)^2 / 12, h being the
volume over the wall's thickness, so a term z^2 Fo exp(-z^2 Fo), at most 1 / e, is wrong by up to
(z h)^2 / 12 e. Modes alive at the times tested have z below 5: the error stays below 0.8 h^2.
"""

import numpy as np
import pytest
import references
from cases import ALL_ON, FACES, Case, Face, centres, ours

L, K, HEAT = 0.036, 0.9, 2130 * 1020.0


def wall(face: Face, thickness_m: float = L) -> Case:
    """A wall of one square metre, insulated but on its high side."""
    faces = dict.fromkeys(FACES, Face()) | {"x_high": face}
    return Case((1, 1, 1), (thickness_m, 1.0, 1.0), (K, K, K), (0.0, 0.0, 0.0), HEAT, faces)


def rises(case: Case, volumes: int, seconds: float) -> np.ndarray:
    """Rise in the middle of each volume, and last on the high surface."""
    block = ours(case, (volumes, 1, 1))
    field = block.full_field(block.after(block.rest(), block.steady(ALL_ON), seconds))[:, 0, 0]
    return np.append(field, block.surface(field[-1], "x_high", case.flux("x_high")))


def places(case: Case, volumes: int) -> np.ndarray:
    """Where `rises` are, as a part of the thickness."""
    return np.append(centres(case, (volumes, 1, 1))[0] / case.cell_m[0], 1.0)


def seconds_at(fourier: float, thickness_m: float = L) -> float:
    return fourier * thickness_m**2 * HEAT / K


def convected(biot: float, fourier: float, volumes: int) -> tuple[np.ndarray, np.ndarray]:
    case = wall(Face(biot * K / L, 1.0))
    exact = [1 - references.plane_wall(biot, fourier, p) for p in places(case, volumes)]
    return rises(case, volumes, seconds_at(fourier)), np.array(exact)


@pytest.mark.parametrize(("biot", "fourier"), [(0.1, 1.0), (1.0, 0.2), (1.0, 0.5), (1.0, 1.0), (10.0, 0.2)])
def test_plane_wall(biot: float, fourier: float) -> None:
    """Carslaw and Jaeger 3.11; the table of Incropera holds for the same series (test_references)."""
    found, exact = convected(biot, fourier, 50)
    np.testing.assert_allclose(found, exact, atol=0.8 / 50**2)


@pytest.mark.parametrize("fourier", [0.1, 0.5, 1.0])
def test_surface_step(fourier: float) -> None:
    """Carslaw and Jaeger 3.3 and 3.4: a conductance without measure holds the surface."""
    case = wall(Face(1e9, 1.0))
    found = rises(case, 50, seconds_at(fourier))
    exact = np.array([1 - references.surface_step(fourier, p) for p in places(case, 50)])
    np.testing.assert_allclose(found, exact, atol=0.8 / 50**2)
    mean = 1 - references.surface_step_mean(fourier)
    assert found[:-1].mean() == pytest.approx(mean, abs=0.8 / 50**2)


@pytest.mark.parametrize("fourier", [0.1, 0.3, 1.0])
def test_constant_flux(fourier: float) -> None:
    """Carslaw and Jaeger 3.8, in units of q L / k; the gap from core to surface ends at half of it."""
    flux = 500.0
    case = wall(Face(film_W_per_m2=flux))
    found = rises(case, 50, seconds_at(fourier)) * K / (flux * L)
    exact = np.array([references.constant_flux(fourier, p) for p in places(case, 50)])
    np.testing.assert_allclose(found, exact, atol=0.8 / 50**2)
    if fourier == 1.0:
        assert found[-1] - found[0] == pytest.approx(0.5, abs=0.8 / 50**2)


@pytest.mark.parametrize(
    ("thickness_m", "core", "surface", "mean"),
    # 500 W/m2 for 1800 s on a cell of 72 mm: on both faces (half of it, 36 mm) and on one.
    [(0.036, 8.187, 18.160, 11.507), (0.072, 1.040, 17.120, 5.753)],
)
def test_film_on_a_cell(thickness_m: float, core: float, surface: float, mean: float) -> None:
    """Carslaw and Jaeger 3.8 in kelvin; the core is exact at the face, half a volume from the first."""
    scale, fourier = 500 * thickness_m / K, 1800 * K / HEAT / thickness_m**2
    exact = (
        scale * references.constant_flux(fourier, 0.0),
        scale * references.constant_flux(fourier, 1.0),
        500 * 1800 / (HEAT * thickness_m),
    )
    assert tuple(round(value, 3) for value in exact) == (core, surface, mean)
    found = rises(wall(Face(film_W_per_m2=500.0), thickness_m), 50, 1800.0)
    assert (found[0], found[-1]) == pytest.approx(exact[:2], abs=0.8 * scale / 50**2)
    # The mean is a balance: what a block without loss keeps is wrong by 1e-11 / s (SLOWEST_PER_S).
    assert found[:-1].mean() == pytest.approx(exact[2], rel=1e-7)


@pytest.mark.parametrize("seconds", [3600.0, 7200.0])
def test_anisotropic_block(seconds: float) -> None:
    """The product of three walls; odd counts put a volume into the middle, and the corner is carried
    from the last volume through its three surfaces."""
    volumes = (25, 15, 17)
    size, conductivity = (0.072, 0.174, 0.204), (0.9, 19.0, 19.0)
    faces = dict.fromkeys(FACES, Face(10.0, 1.0))
    case = Case((1, 1, 1), size, conductivity, (0.0, 0.0, 0.0), HEAT, faces)
    block = ours(case, volumes)
    field = block.full_field(block.after(block.rest(), block.steady(ALL_ON), seconds))
    mid = tuple(n // 2 for n in volumes)
    big_face = block.surface(field[(-1, *mid[1:])], "x_high", 10.0)
    corner = field[-1, -1, -1]
    for name in ("x_high", "y_high", "z_high"):
        corner = block.surface(corner, name, 10.0)
    found = (1 - field[mid], 1 - big_face, 1 - corner)
    # Only the slowest modes are alive, and their z^2 is below Bi = h L / k. The straight line from the
    # last volume to the surface leaves out a curvature of (z h)^2 / 8, more than the rates' (z h)^2 / 12 e.
    biots = [10 * s / 2 / k for s, k in zip(size, conductivity, strict=True)]
    error = sum(b * (2 / n) ** 2 for b, n in zip(biots, volumes, strict=True)) / 8
    assert found == pytest.approx(references.cooling_block(seconds), abs=error)


@pytest.mark.parametrize(("biot", "fourier"), [(1.0, 0.5), (10.0, 0.2)])
def test_halving_the_volumes_quarters_the_error(biot: float, fourier: float) -> None:
    """The root mean square over the wall. The next term of the error is of fourth order: below 1 % here."""
    errors = []
    for volumes in (20, 40, 80):
        found, exact = convected(biot, fourier, volumes)
        errors.append(np.sqrt(np.mean((found - exact)[:-1] ** 2)))
    assert [errors[0] / errors[1], errors[1] / errors[2]] == pytest.approx([4.0, 4.0], rel=0.01)
