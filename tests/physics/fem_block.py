"""The heated block by finite elements (scikit-fem), independent of bmslint's conduction.

Each cell along x has its own mesh, so the temperature may jump at a contact plane; the planes are
joined by a conductance. Triquadratic elements, and in time TR-BDF2 (Bank and others, IEEE
Transactions on Electron Devices 32 (1985) 1992-2007, from memory): second order and without the
ringing of the trapezoidal rule after a switch.
"""

import numpy as np
from cases import Case
from numpy.typing import NDArray
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementHex2, FacetBasis, LinearForm, MeshHex
from skfem.helpers import grad

Array = NDArray[np.float64]

APART_M = 1.0  # cells stand this much further apart in the mesh, so that no nodes coincide


class FemBlock:
    """A block with contact planes across x only; one cell along y and z."""

    def __init__(self, case: Case, elements: tuple[int, int, int]) -> None:
        if case.cells[1:] != (1, 1):
            raise ValueError("contact planes across x only")
        self.case = case
        size = case.cell_m
        starts = np.arange(case.cells[0]) * (size[0] + APART_M)
        meshes = [
            MeshHex.init_tensor(
                start + np.linspace(0, size[0], elements[0] + 1),
                np.linspace(0, size[1], elements[1] + 1),
                np.linspace(0, size[2], elements[2] + 1),
            )
            for start in starts
        ]
        mesh = meshes[0]
        for other in meshes[1:]:
            mesh = mesh + other
        self.mesh = mesh
        self.basis = Basis(mesh, ElementHex2(), intorder=4)
        self.starts = starts
        self.mass = mass_form.assemble(self.basis) * case.heat_J_per_m3K
        self.stiffness = self._stiffness()
        self.state = np.zeros(self.basis.N)

    def _facets(self, axis: int, at: float) -> FacetBasis:
        facets = self.mesh.facets_satisfying(lambda x: np.abs(x[axis] - at) < 1e-9, True)
        return FacetBasis(self.mesh, ElementHex2(), facets=facets, intorder=4)

    def _face(self, name: str) -> FacetBasis:
        axis = "xyz".index(name[0])
        high = self.case.cell_m[axis] + (self.starts[-1] if axis == 0 else 0.0)
        return self._facets(axis, high if name.endswith("high") else 0.0)

    def _stiffness(self) -> csc_matrix:
        case = self.case
        kx, ky, kz = case.conductivity_W_per_mK

        @BilinearForm
        def conduction(u, v, w):
            du, dv = grad(u), grad(v)
            return kx * du[0] * dv[0] + ky * du[1] * dv[1] + kz * du[2] * dv[2]

        matrix = conduction.assemble(self.basis)
        for name in case.faces:
            matrix = matrix + case.loss(name) * mass_form.assemble(self._face(name))
        places = self.basis.doflocs
        for start, following in zip(self.starts[:-1], self.starts[1:], strict=True):
            left = np.flatnonzero(np.abs(places[0] - start - case.cell_m[0]) < 1e-9)
            right = np.flatnonzero(np.abs(places[0] - following) < 1e-9)
            left = left[np.lexsort(places[1:, left].round(9))]
            right = right[np.lexsort(places[1:, right].round(9))]
            plane = mass_form.assemble(self._facets(0, start + case.cell_m[0]))
            share = plane[left][:, left] / case.contact_m2K_per_W[0]
            pair = csc_matrix(
                (np.r_[np.ones(left.size), -np.ones(left.size)],
                 (np.r_[0 : left.size, 0 : left.size], np.r_[left, right])),
                shape=(left.size, self.basis.N),
            )  # fmt: skip
            matrix = matrix + pair.T @ share @ pair
        return matrix.tocsc()

    def load(self, case: Case) -> Array:
        """What drives the block in `case`, which may differ from the first in its drives only."""
        total = load_form.assemble(self.basis) * case.inside_W_per_m3
        for name in case.faces:
            total = total + case.flux(name) * load_form.assemble(self._face(name))
        return np.asarray(total)

    def march(self, case: Case, seconds: float, steps: int) -> None:
        """Continue under the drives of `case`; the first step is halved six times over."""
        step = seconds / steps
        sizes = [step / 64, step / 64, *(step / 2**n for n in range(5, 0, -1))]
        load = self.load(case)
        for size in sizes:
            self._run(load, size, 1)
        self._run(load, step, steps - 1)

    def _run(self, load: Array, step: float, count: int) -> None:
        part = 2 - np.sqrt(2)
        solve = splu((self.mass + 0.5 * part * step * self.stiffness).tocsc()).solve
        for _ in range(count):
            rest = self.mass @ self.state
            half = solve(rest + 0.5 * part * step * (2 * load - self.stiffness @ self.state))
            mixed = (half - (1 - part) ** 2 * self.state) / (part * (2 - part))
            self.state = solve(self.mass @ mixed + (1 - part) / (2 - part) * step * load)

    def at(self, x: Array, y: Array, z: Array) -> Array:
        """Temperatures on a grid of places, m from the low faces of the block; shape of the grid."""
        cell = np.minimum((x / self.case.cell_m[0]).astype(int), self.case.cells[0] - 1)
        grid = np.meshgrid(x + cell * APART_M, y, z, indexing="ij")
        points = np.array([part.ravel() for part in grid])
        return (self.basis.probes(points) @ self.state).reshape(grid[0].shape)


@BilinearForm
def mass_form(u, v, w):
    """Integral of u v."""
    return u * v


@LinearForm
def load_form(v, w):
    """Integral of v."""
    return 1.0 * v
