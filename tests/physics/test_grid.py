"""How finely a block has to be cut, and that uneven volumes keep the laws that even ones keep."""

from dataclasses import replace

import numpy as np
import pytest
from cases import ALL_ON, FACES, Face, ours
from fem_block import FemBlock
from test_conduction_solvers import FILM, HEATED, STACK

from bmslint.facts import blocks
from bmslint.facts.inputs import exact
from bmslint.facts.pack import NOMINAL, Pack
from bmslint.physics.axis import homogenised
from bmslint.physics.conduction import BETWEEN, Block

INSTANTS = (300.0, 1200.0, 3600.0, 7200.0)


def test_graded_volumes_against_finite_elements() -> None:
    """scikit-fem at the middle of every volume: below 0.05 K."""
    block = ours(HEATED, (6, 8, 10), ends=8)
    field = block.full_field(block.after(block.rest(), block.steady(ALL_ON), 3600.0))
    reference = FemBlock(HEATED, (6, 3, 3))
    reference.march(HEATED, 3600.0, 60)
    x, y, z = (axis.middles_m for axis in block.axes)
    assert field.shape == (28, 8, 10)
    assert np.abs(field - reference.at(x, y, z)).max() < 0.05


def test_graded_volumes_keep_all_heat() -> None:
    """Mean rise of a closed block = heat / heat capacity, films between the cells included."""
    faces = {name: Face(film_W_per_m2=100.0, film_contact_W_per_m2K=FILM) for name in FACES}
    closed = replace(STACK, faces=faces)
    watts = 300.0 * closed.volume_m3 + 100.0 * sum(closed.area_m2(name) for name in FACES)
    watts += closed.between_W_per_m2 * (closed.cells[0] - 1) * closed.area_m2("x_low")
    block = ours(closed, (4, 4, 4), ends=6)
    mean = block.mean(block.after(block.rest(), block.steady(ALL_ON), 3600.0))
    assert mean == pytest.approx(watts * 3600.0 / (closed.heat_J_per_m3K * closed.volume_m3), rel=1e-7)


def test_even_and_graded_volumes_tend_to_the_same() -> None:
    """Rows and tiers, a film in every plane, cells cut finely both ways: what is left is second order."""
    rises = []
    for volumes, ends in ((16, 0), (12, 16)):
        block = ours(STACK, (volumes, 4, 4), ends)
        probe = block.probe([tuple(a.weights(p) for a, p in zip(block.axes, (0.054, 0.1, 0.3), strict=True))])
        states = [block.after(block.rest(), block.steady(ALL_ON), t) for t in INSTANTS]
        rises.append((probe @ np.array(states).T)[0])
    np.testing.assert_allclose(rises[0], rises[1], atol=0.02)


def pack(stacked: int, thickness_m: float, between: bool, rows: int = 1) -> Pack:
    """A row in foam under a film on ends and sides, with the properties of the defaults."""
    return Pack(
        counts=(stacked, rows, 1),
        lengths_m=(thickness_m, 0.174, 0.204),
        through=exact(0.9),
        along=exact(19.0),
        contact=exact(3e-4),
        density=exact(2130.0),
        specific_heat=exact(1020.0),
        outer=exact(2.0),
        insulation_m2K_per_W=0.0,
        underside=exact(2.0),
        floor_contact=False,
        heated=("ends", "sides"),
        between=between,
        film_contact=exact(6e-4),
        coupling=exact(50.0),
        radius_m=0.0,
        radial=exact(0.9),
    )


def heater(shape: Pack) -> dict[str, float]:
    """Flux on each face for 1 W/m2 of film."""
    faces = blocks.outside([(shape, NOMINAL)])
    return {name: float(face.drives["heater"][0]) for name, face in faces.items() if "heater" in face.drives}


def rises(block: Block, shape: Pack) -> np.ndarray:
    """Rise under 500 W/m2 at each instant: end face, side, innermost plane or middle, coldest volume.

    A plane with a film in it is read at the film, as the facts do.
    """
    x, y, z = shape.size_m
    inner = (shape.counts[0] // 2) * shape.lengths_m[0] if shape.counts[0] > 1 else x / 2
    beside = (shape.counts[0] // 2 + 0.5) * shape.lengths_m[0]
    places = ((0.0, y / 2, z / 2), (beside, 0.0, z / 2), (inner, y / 2, z / 2))
    rows = block.probe([tuple(a.weights(p) for a, p in zip(block.axes, at, strict=True)) for at in places])
    states = np.array([block.after(block.rest(), block.steady({"heater": 500.0}), t) for t in INSTANTS])
    found = np.column_stack((states @ rows.T, [block.field(state).min() for state in states]))
    for number, face in ((0, "x_low"), (1, "y_low")):
        flux = 500.0 * heater(shape).get(face, 0.0)
        found[:, number] = block.surface(found[:, number], face, flux)
    if shape.between:
        axis = block.axes[0]
        found[:, 2] += 250.0 * (1 / axis.halves_W_per_m2K[axis.count // 2] + axis.contact_m2K_per_W / 2)
    return found


ROWS = [(1, 0.036), (1, 0.072), (2, 0.072), (3, 0.054), (4, 0.036), (8, 0.072), (16, 0.036), (16, 0.072)]


@pytest.mark.parametrize(
    ("stacked", "thickness_m", "between"),
    [(n, t, False) for n, t in [*ROWS, (30, 0.054)]] + [(n, t, True) for n, t in ROWS if n > 1],
)
def test_the_cut_of_the_facts_is_fine_enough(stacked: int, thickness_m: float, between: bool) -> None:
    """Against a cut two to three times finer: 0.3 K after five minutes to two hours of 500 W/m2, on
    rises of 7 to 60 K. Sensors are commonly good to 1 K."""
    shape = pack(stacked, thickness_m, between)
    block = blocks.stacked([(shape, NOMINAL)], ("heater",)).picked(0)
    x, y, z = block.axes
    finer = x.volumes * 3 if x.cells <= 8 else 20
    axes = (replace(x, volumes=finer, ends=0), replace(y, volumes=20), replace(z, volumes=20))
    fine = Block(
        axes,
        block.heat_J_per_m3K,
        {"heater": heater(shape) | ({BETWEEN: 1.0} if shape.between else {})},
    )
    assert np.abs(rises(block, shape) - rises(fine, shape)).max() < 0.3


def test_a_long_row_as_one_body_keeps_the_heat_of_its_films() -> None:
    """Sixty cells with films between them: the mean is that of the row cut cell by cell."""
    shape = pack(60, 0.02, True)
    block = blocks.stacked([(shape, NOMINAL)], ("heater",)).picked(0)
    assert block.axes[0] == homogenised(replace(block.axes[0], cells=1), 128)
    cut = replace(
        block.axes[0], cells=60, length_m=0.02, conductivity_W_per_mK=0.9, contact_m2K_per_W=3e-4, volumes=4
    )
    weights = heater(shape) | {BETWEEN: 1.0}
    fine = Block((cut, *block.axes[1:]), block.heat_J_per_m3K, {"heater": weights})
    means = [b.mean(b.after(b.rest(), b.steady({"heater": 500.0}), 3600.0)) for b in (block, fine)]
    assert means[0] == pytest.approx(means[1], rel=1e-3)
