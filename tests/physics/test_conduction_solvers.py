"""Conduction in a heated block against general solvers that share nothing with it.

scikit-fem (finite elements) knows no volumes; the network integrated by scipy has the same volumes
but neither modes nor film elimination, so it bounds what the modes alone get wrong.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from cases import ALL_ON, FACES, Case, Face, centres, ours
from fem_block import FemBlock
from volume_block import VolumeBlock

from bmslint.physics import conduction
from bmslint.physics.conduction import Block

FILM = 1 / 6e-4  # contact of a film, W/(m2 K)
VOLUMES = (6, 8, 10)

# Four cells in a row with nothing alike on any two faces, warmed from the soak.
HEATED = Case(
    cells=(4, 1, 1),
    cell_m=(0.036, 0.13, 0.2),
    conductivity_W_per_mK=(0.9, 19.0, 19.0),
    contact_m2K_per_W=(3e-4, 0.0, 0.0),
    heat_J_per_m3K=2130 * 1020.0,
    faces={
        "x_low": Face(3.0, 0.0, 600.0, FILM),
        "x_high": Face(1.0, 2.0, 450.0, FILM),
        "y_low": Face(4.0, 0.0, 200.0, FILM),
        "y_high": Face(2.0, -3.0),
        "z_low": Face(8.0, -10.0),
        "z_high": Face(5.0, 4.0),
    },
    inside_W_per_m3=300.0,
)
# Foam between the cells, so that the field jumps by kelvins at each plane.
FOAM = replace(HEATED, contact_m2K_per_W=(0.025, 0.0, 0.0))
# Several rows and tiers, contacts across all three axes, a film in every plane across x.
STACK = replace(
    HEATED,
    cells=(3, 2, 2),
    contact_m2K_per_W=(3e-4, 5e-4, 2e-3),
    between_W_per_m2=150.0,
)


@pytest.fixture(autouse=True, scope="module")
def every_mode() -> Iterator[None]:
    """Keep every mode, so that tolerances show errors of the method and not what is left out.

    What leaving out costs is shown in test_conduction_modes.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(conduction, "NEGLIGIBLE", 0.0)
        yield


def after(case: Case, seconds: float, volumes: tuple[int, int, int] = VOLUMES) -> np.ndarray:
    block = ours(case, volumes)
    return block.full_field(block.after(block.rest(), block.steady(ALL_ON), seconds))


def switched(case: Case) -> list[tuple[dict[str, float], Case, float]]:
    """A warm-up: heater on; off; warmer air and a charge current inside; heater on again."""
    off = {name: replace(face, film_W_per_m2=0.0) for name, face in case.faces.items()}
    warmer = {name: replace(face, outside_K=3 * face.outside_K) for name, face in off.items()}
    again = {
        name: replace(face, film_W_per_m2=case.faces[name].film_W_per_m2) for name, face in warmer.items()
    }
    calm = {"inside_W_per_m3": 0.0}
    charged = {"inside_W_per_m3": 5 * case.inside_W_per_m3}
    return [
        ({"film": 1.0, "outside": 1.0}, replace(case, **calm), 2400.0),
        ({"outside": 1.0}, replace(case, faces=off, **calm), 1800.0),
        ({"outside": 3.0, "inside": 5.0}, replace(case, faces=warmer, **charged), 3000.0),
        ({"film": 1.0, "outside": 3.0, "inside": 5.0}, replace(case, faces=again, **charged), 900.0),
    ]


def fields_at_switches(block: Block, case: Case) -> list[np.ndarray]:
    state, fields = block.rest(), []
    for strengths, _, seconds in switched(case):
        state = block.after(state, block.steady(strengths), seconds)
        fields.append(block.full_field(state))
    return fields


@pytest.mark.parametrize("case", [HEATED, FOAM], ids=["dry contact", "foam"])
@pytest.mark.parametrize("seconds", [600.0, 3600.0])
def test_heated_block_against_finite_elements(case: Case, seconds: float) -> None:
    """scikit-fem, every volume of the block: below 0.05 K, and a finer mesh says the same."""
    places = centres(case, VOLUMES)
    fields = []
    for elements in ((4, 3, 3), (6, 3, 3)):
        block = FemBlock(case, elements)
        block.march(case, seconds, 60)
        fields.append(block.at(*places))
    assert np.abs(fields[0] - fields[1]).max() < 0.01  # a fifth of what is to be shown
    assert np.abs(after(case, seconds) - fields[1]).max() < 0.05


def test_switches_against_finite_elements() -> None:
    """scikit-fem, stepped through the same switches, every volume at every switch: below 0.05 K."""
    block, places = FemBlock(HEATED, (4, 3, 3)), centres(HEATED, VOLUMES)
    expected = []
    for _, case, seconds in switched(HEATED):
        block.march(case, seconds, 60)
        expected.append(block.at(*places))
    found = fields_at_switches(ours(HEATED, VOLUMES), HEATED)
    assert np.abs(np.array(found) - np.array(expected)).max() < 0.05


@pytest.mark.parametrize(
    ("case", "volumes"),
    [(HEATED, VOLUMES), (FOAM, VOLUMES), (STACK, (4, 4, 4))],
    ids=["dry contact", "foam", "rows and tiers"],
)
def test_switches_against_a_stiff_integrator(case: Case, volumes: tuple[int, int, int]) -> None:
    """scipy's BDF on the network, switch by switch.

    Its tolerance of 1e-8 holds for one step; over some hundred steps of rises up to 70 K that is
    1e-4 K at most.
    """
    network = VolumeBlock(case, volumes)
    state, expected = np.zeros(network.number.size), []
    for strengths, phase, seconds in switched(case):
        phase = replace(phase, between_W_per_m2=case.between_W_per_m2 * strengths.get("between", 0.0))
        state = network.march(phase, state, seconds, 1e-8)
        expected.append(state.reshape(network.shape))
    found = fields_at_switches(ours(case, volumes), case)
    assert np.abs(np.array(found) - np.array(expected)).max() < 1e-4


def test_films_between_cells_against_a_stiff_integrator() -> None:
    """The film is a node of its own in each plane of the network; tolerance as above."""
    network = VolumeBlock(STACK, (4, 4, 4))
    expected = network.march(STACK, np.zeros(network.number.size), 1800.0, 1e-8)
    found = after(STACK, 1800.0, (4, 4, 4))
    assert np.abs(found.ravel() - expected).max() < 1e-4


@pytest.mark.parametrize(
    ("case", "volumes"), [(HEATED, VOLUMES), (STACK, (4, 4, 4))], ids=["row", "rows and tiers"]
)
def test_steady_state_against_a_direct_solution(case: Case, volumes: tuple[int, int, int]) -> None:
    """scipy's sparse direct solution of the network: rounding, in rises up to 154 K."""
    network = VolumeBlock(case, volumes)
    block = ours(case, volumes)
    found = block.full_field(block.steady(ALL_ON))
    assert np.abs(found.ravel() - network.steady(case)).max() < 1e-9


@pytest.mark.parametrize("name", FACES)
def test_film_and_surface_against_explicit_film_nodes(name: str) -> None:
    """T_film = (P'' + h T_s + U T_out) / (h + U), from our surface, is the network's film node; a bare
    face has no film, and its node is the surface itself. The rest is rounding."""
    network = VolumeBlock(HEATED, VOLUMES)
    block, axis = ours(HEATED, VOLUMES), "xyz".index(name[0])
    state = block.steady(ALL_ON)
    behind = np.take(block.full_field(state), -1 if name.endswith("high") else 0, axis=axis)
    surface = block.surface(behind, name, HEATED.flux(name))
    face = HEATED.faces[name]
    if face.film_contact_W_per_m2K is not None:
        heat = face.film_W_per_m2 + face.loss_W_per_m2K * face.outside_K
        contact = face.film_contact_W_per_m2K
        surface = (heat + contact * surface) / (contact + face.loss_W_per_m2K)
    expected = network.film_temperatures(HEATED, network.steady(HEATED), name)
    assert np.abs(np.ravel(surface) - expected).max() < 1e-9
