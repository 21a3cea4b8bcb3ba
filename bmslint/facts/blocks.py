"""Packs at corners of their ranges as a stack of blocks for the conduction model.

Every array has the cases as its first axis, a pack at a corner each.

Validity: packs that are cut alike: they differ in their properties alone.
Source: resistances in series for the outside, as in `physics.surfaces`; how finely the block is cut is our
    own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bmslint.facts.pack import Case
from bmslint.physics.axis import Array, Axis, Each, homogenised
from bmslint.physics.conduction import BETWEEN, FACES, INSIDE, Block

# Volumes along x, y and z that the whole block is cut into, and the fewest and most in one cell; in the
# outermost cells along x, where a film heats across the poorly conducting thickness, at least ENDS,
# and with films between all cells never fewer than BETWEEN_FILMS. Against a cut two to three times finer
# a block under 500 W/m2 differs by 0.3 K at most (tests/physics/test_grid.py).
WANTED = (24, 10, 10)
FEWEST, MOST, ENDS, BETWEEN_FILMS = (3, 2, 2), 12, 8, 8
# Cells in a row beyond which one volume in each but the outermost is enough, and volumes beyond which the
# row is taken as one body with the same resistance.
LONG_ROW, LARGEST_AXIS = 40, 128


@dataclass(frozen=True)
class Face:
    """What lies outside one face of the block, shape (cases,).

    Args:
        loss_W_per_m2K: conductance from the face, or its film, to the outside (W/(m2 K)).
        effective_W_per_m2K: conductance from the cells' surface to the outside, through a film if any.
        drives: flux on the face (W/m2), by what drives it: `heater` for 1 W/m2 of film, `air` and `floor`
            for 1 K; one that drives none of the cases is left out.
    """

    loss_W_per_m2K: Array
    effective_W_per_m2K: Array
    drives: Mapping[str, Array]


def film_W_per_m2K(cases: Sequence[Case]) -> Array:
    """Give the conductance from the film to the cell (W/(m2 K)), shape (cases,)."""
    return np.array([pack.film_W_per_m2K(corner) for pack, corner in cases])


def outside(cases: Sequence[Case]) -> dict[str, Face]:
    """Give what lies outside each face.

    Args:
        cases: packs that are cut alike, each at a corner.

    Returns:
        The faces by name.
    """
    to_cell = film_W_per_m2K(cases)
    none = np.zeros(len(cases))
    found = {}
    for face in FACES:
        loss = np.array([pack.loss_W_per_m2K(face, corner.loss) for pack, corner in cases])
        effective, drives = loss, {}
        if cases[0][0].has_film(face):
            effective = np.array([pack.effective_W_per_m2K(face, corner) for pack, corner in cases])
            drives["heater"] = to_cell / (to_cell + loss)
        on_floor = np.array([pack.floor_contact and face == "z_low" for pack, _ in cases])
        for name, there in (("air", ~on_floor), ("floor", on_floor)):
            if there.any():
                drives[name] = np.where(there, effective, none)
        found[face] = Face(loss, effective, drives)
    return found


def stacked(cases: Sequence[Case], drives: Sequence[str]) -> Block:
    """Build the conduction model.

    Args:
        cases: packs that are cut alike, each at a corner.
        drives: names of what may drive them: `heater`, `air`, `floor`, `inside`.

    Returns:
        A stack of one block for each case.
    """
    pack, faces = cases[0][0], outside(cases)
    axes = _axes(cases, faces)
    weights: dict[str, dict[str, Each]] = {}
    for name in drives:
        if name == INSIDE:
            weights[name] = {INSIDE: 1.0}
            continue
        weights[name] = {face: each.drives[name] for face, each in faces.items() if name in each.drives}
        if name == "heater" and pack.between:
            if axes[0].cells > 1:
                weights[name][BETWEEN] = 1.0
            else:
                # A row taken as one body has no planes left: their films warm it throughout.
                weights[name][INSIDE] = (pack.counts[0] - 1) / pack.size_m[0]
    return Block(axes, np.array([each.heat_J_per_m3K(corner) for each, corner in cases]), weights)


def _axes(cases: Sequence[Case], faces: Mapping[str, Face]) -> tuple[Axis, Axis, Axis]:
    """Build the three axes of the stack."""
    pack = cases[0][0]
    through = np.array([each.through.at(corner.through) for each, corner in cases])
    along = np.array([each.along.at(corner.along) for each, corner in cases])
    contact = np.array([each.contact.at(corner.contact) for each, corner in cases])
    built = []
    for number, conductivity in enumerate((through, through if pack.radius_m else along, along)):
        cells, ends = pack.counts[number], 0
        fewest = FEWEST[number] if cells <= LONG_ROW else 1
        if number == 0 and pack.between:
            fewest = BETWEEN_FILMS
        volumes = min(max(round(WANTED[number] / cells), fewest), MOST)
        if number == 0 and not pack.between:
            ends = ENDS if cells == 1 else max(volumes, ENDS)
        low, high = (faces[face].effective_W_per_m2K for face in FACES[2 * number : 2 * number + 2])
        axis = Axis(
            cells=cells,
            length_m=pack.lengths_m[number],
            conductivity_W_per_mK=conductivity,
            contact_m2K_per_W=contact,
            low_W_per_m2K=low,
            high_W_per_m2K=high,
            volumes=volumes,
            ends=ends,
        )
        built.append(homogenised(axis, LARGEST_AXIS))
    return built[0], built[1], built[2]
