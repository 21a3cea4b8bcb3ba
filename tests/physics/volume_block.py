"""The same block as a sparse network of heat capacities, assembled node by node with explicit films.

Independent of bmslint's conduction: no axes, no Kronecker sum. The film and the outside are nodes of
the network, and the films, which hold no heat, are eliminated by a Schur complement.
"""

from itertools import product

import numpy as np
from cases import Case
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import coo_matrix, csr_matrix, identity
from scipy.sparse.linalg import spsolve

Array = NDArray[np.float64]


class VolumeBlock:
    """Heat capacities in J/K, conductances in W/K between nodes, heat in W into nodes."""

    def __init__(self, case: Case, volumes: tuple[int, int, int]) -> None:
        self.shape = tuple(c * v for c, v in zip(case.cells, volumes, strict=True))
        self.step = np.array(case.cell_m) / volumes
        self.areas_m2 = [float(np.prod(np.delete(self.step, axis))) for axis in range(3)]
        self.case, self.volumes = case, volumes
        self.number = np.arange(np.prod(self.shape)).reshape(self.shape)
        self.films: list[tuple[int, str, int]] = []  # node, face, volume behind it
        node = self.number.size
        for name, at in product(case.faces, (0, -1)):
            if name.endswith("low") == (at == 0):
                for volume in np.take(self.number, at, axis="xyz".index(name[0])).ravel():
                    self.films.append((node, name, int(volume)))
                    node += 1
        self.planes: list[tuple[int, int, int]] = []  # film node, volumes before and behind it
        for at in range(volumes[0], self.shape[0], volumes[0]):
            for low, high in zip(self.number[at - 1].ravel(), self.number[at].ravel(), strict=True):
                self.planes.append((node, int(low), int(high)))
                node += 1
        self.nodes = node
        self.capacity = float(np.prod(self.step)) * case.heat_J_per_m3K
        self.conductance = self._conductance()
        n = self.number.size
        inner, cross = self.conductance[:n, :n], self.conductance[:n, n:]
        self.films_to_volumes = cross @ diagonal_inverse(self.conductance[n:, n:])
        self.reduced = csr_matrix(inner - self.films_to_volumes @ cross.T)

    def _conductance(self) -> csr_matrix:
        case = self.case
        rows: list[tuple[int, int, float]] = []
        for axis in range(3):
            area = self.areas_m2[axis]
            inside = self.step[axis] / case.conductivity_W_per_mK[axis]
            for at in range(self.shape[axis] - 1):
                crosses = (at + 1) % self.volumes[axis] == 0
                if crosses and axis == 0:
                    continue  # through the film in the plane, below
                resistance = inside + (case.contact_m2K_per_W[axis] if crosses else 0.0)
                low = np.take(self.number, at, axis=axis).ravel()
                high = np.take(self.number, at + 1, axis=axis).ravel()
                rows += [(a, b, area / resistance) for a, b in zip(low, high, strict=True)]
        half = (self.step[0] / case.conductivity_W_per_mK[0] + case.contact_m2K_per_W[0]) / 2
        for node, low, high in self.planes:
            area = float(self.step[1] * self.step[2])
            rows += [(node, low, area / half), (node, high, area / half)]
        for node, name, volume in self.films:
            axis = "xyz".index(name[0])
            area = self.areas_m2[axis]
            resistance = self.step[axis] / (2 * case.conductivity_W_per_mK[axis])
            face = case.faces[name]
            if face.film_contact_W_per_m2K is not None:
                resistance += 1 / face.film_contact_W_per_m2K
            rows.append((node, volume, area / resistance))
        first, second, strength = (np.array(part) for part in zip(*rows, strict=True))
        off = coo_matrix((strength, (first, second)), shape=(self.nodes, self.nodes)).tocsr()
        off = off + off.T
        loss = np.zeros(self.nodes)
        for node, name, _ in self.films:
            loss[node] = case.faces[name].loss_W_per_m2K * self._area(name)
        total = np.asarray(off.sum(axis=1)).ravel() + loss
        return csr_matrix(identity(self.nodes, format="csr").multiply(total) - off)

    def _area(self, name: str) -> float:
        return self.areas_m2["xyz".index(name[0])]

    def heat(self, case: Case) -> Array:
        """Heat into each volume, W, the films' share passed on."""
        films = np.zeros(len(self.films) + len(self.planes))
        films[len(self.films) :] = case.between_W_per_m2 * self.step[1] * self.step[2]
        for place, (_, name, _) in enumerate(self.films):
            face = case.faces[name]
            films[place] = self._area(name) * (face.film_W_per_m2 + face.loss_W_per_m2K * face.outside_K)
        inside = np.full(self.number.size, case.inside_W_per_m3 * float(np.prod(self.step)))
        return inside - self.films_to_volumes @ films

    def film_temperatures(self, case: Case, state: Array, name: str) -> Array:
        """Temperature of the film, or of the bare surface, over each volume behind a face."""
        found = []
        for node, face_name, volume in self.films:
            if face_name != name:
                continue
            face = case.faces[name]
            contact = -self.conductance[node, volume]
            heat = self._area(name) * (face.film_W_per_m2 + face.loss_W_per_m2K * face.outside_K)
            found.append((heat + contact * state[volume]) / self.conductance[node, node])
        return np.array(found)

    def steady(self, case: Case) -> Array:
        """The state that constant drives lead to."""
        return np.asarray(spsolve(self.reduced.tocsc(), self.heat(case)))

    def march(self, case: Case, state: Array, seconds: float, tolerance: float) -> Array:
        """Continue by scipy's stiff integrator (BDF, variable order)."""
        heat = self.heat(case) / self.capacity
        matrix = csr_matrix(self.reduced / -self.capacity)
        found = solve_ivp(
            lambda _, t: matrix @ t + heat, (0.0, seconds), state, method="BDF",
            jac=matrix, rtol=tolerance, atol=tolerance,
        )  # fmt: skip
        return np.asarray(found.y[:, -1])


def diagonal_inverse(matrix: csr_matrix) -> csr_matrix:
    """Inverse of a matrix that has to be diagonal: films do not touch each other."""
    diagonal = matrix.diagonal()
    if matrix.nnz != diagonal.size:
        raise ValueError("films touch each other")
    return csr_matrix(identity(diagonal.size, format="csr").multiply(1 / diagonal))
