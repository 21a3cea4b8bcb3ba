"""A heated block of cells described once, for bmslint and for the independent solvers alike."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from bmslint.physics.axis import Axis
from bmslint.physics.conduction import Block

FACES = ("x_low", "x_high", "y_low", "y_high", "z_low", "z_high")


@dataclass(frozen=True)
class Face:
    """What lies outside one face; temperatures in K above the start."""

    loss_W_per_m2K: float = 0.0
    outside_K: float = 0.0
    film_W_per_m2: float = 0.0
    film_contact_W_per_m2K: float | None = None


@dataclass(frozen=True)
class Case:
    """A block of cells, soaked at 0, and all that drives it."""

    cells: tuple[int, int, int]
    cell_m: tuple[float, float, float]
    conductivity_W_per_mK: tuple[float, float, float]
    contact_m2K_per_W: tuple[float, float, float]
    heat_J_per_m3K: float
    faces: Mapping[str, Face] = field(default_factory=lambda: dict.fromkeys(FACES, Face()))
    inside_W_per_m3: float = 0.0
    between_W_per_m2: float = 0.0  # a film in every contact plane across x

    def passed(self, name: str) -> float:
        """Share of what is set free at a face's film that a cell surface of 0 K takes up."""
        face = self.faces[name]
        if face.film_contact_W_per_m2K is None:
            return 1.0
        return face.film_contact_W_per_m2K / (face.film_contact_W_per_m2K + face.loss_W_per_m2K)

    def loss(self, name: str) -> float:
        """Conductance from the cell surface outward, W/(m2 K): q_in falls by it for each kelvin."""
        return self.faces[name].loss_W_per_m2K * self.passed(name)

    def flux(self, name: str) -> float:
        """Flux into a cell surface of 0 K, W/m2."""
        face = self.faces[name]
        return (face.film_W_per_m2 + face.loss_W_per_m2K * face.outside_K) * self.passed(name)

    @property
    def volume_m3(self) -> float:
        """Volume of all cells."""
        return float(np.prod(np.array(self.cells) * self.cell_m))

    def area_m2(self, name: str) -> float:
        """Area of one face."""
        size = np.array(self.cells) * self.cell_m
        return float(np.prod(np.delete(size, "xyz".index(name[0]))))


def ours(case: Case, volumes: tuple[int, int, int], ends: int = 0) -> Block:
    """The same block in bmslint with `volumes` in each cell, its drives as `drives` names them.

    `ends` are the graded volumes in the first and the last cell along x.
    """
    axes = [
        Axis(
            cells=case.cells[n],
            length_m=case.cell_m[n],
            conductivity_W_per_mK=case.conductivity_W_per_mK[n],
            contact_m2K_per_W=case.contact_m2K_per_W[n],
            low_W_per_m2K=case.loss(FACES[2 * n]),
            high_W_per_m2K=case.loss(FACES[2 * n + 1]),
            volumes=volumes[n],
            ends=ends if n == 0 else 0,
        )
        for n in range(3)
    ]
    return Block((axes[0], axes[1], axes[2]), case.heat_J_per_m3K, drives(case))


def drives(case: Case) -> dict[str, dict[str, float]]:
    """What drives the case, by name, at full strength."""
    film, outside = {}, {}
    for name, face in case.faces.items():
        film[name] = face.film_W_per_m2 * case.passed(name)
        outside[name] = face.loss_W_per_m2K * face.outside_K * case.passed(name)
    return {
        "film": film,
        "outside": outside,
        "inside": {"inside": case.inside_W_per_m3},
        "between": {"between": case.between_W_per_m2},
    }


ALL_ON = {"film": 1.0, "outside": 1.0, "inside": 1.0, "between": 1.0}


def centres(case: Case, volumes: tuple[int, int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places of the volumes along each axis, m from the low face."""
    x, y, z = ((np.arange(case.cells[n] * volumes[n]) + 0.5) * case.cell_m[n] / volumes[n] for n in range(3))
    return x, y, z
