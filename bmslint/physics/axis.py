"""One direction of a block of cells: how it is cut into finite volumes, and its eigenproblem.

Blocks that are cut alike and differ in their properties alone make a stack: a property is then an array of
shape (blocks,) instead of a number, and every result has the blocks as its first axis. In the shapes below
that axis is left out.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Each = float | Array
"""A number, or one for each block of a stack, shape (blocks,)."""

# Each volume of an outermost cell over the one outside it.
GRADING = 1.2


@dataclass(frozen=True)
class Axis:
    """One direction of the block: its cells, and what lies at its two ends.

    Args:
        cells: number of cells along the axis.
        length_m: length of one cell along the axis (m).
        conductivity_W_per_mK: conductivity inside a cell along the axis (W/(m K)), of one block or a stack,
            as the next three.
        contact_m2K_per_W: resistance between two neighbours (m2 K/W).
        low_W_per_m2K: conductance from the first cell's surface to the outside (W/(m2 K)); 0 is adiabatic.
        high_W_per_m2K: the same at the last cell.
        volumes: finite volumes in each cell.
        ends: finite volumes in the first and in the last cell, or in each half of a cell that is alone,
            thinner towards the outside, where the field bends most; 0 cuts every cell alike.

    Validity: properties uniform along the axis and constant; second order in the length of a volume.
    Source: finite volumes with resistances between their middles, S. V. Patankar, Numerical Heat Transfer
        and Fluid Flow, 1980, chapter 4 (number from memory); the graded cut is our own.
    """

    cells: int
    length_m: float
    conductivity_W_per_mK: Each
    contact_m2K_per_W: Each
    low_W_per_m2K: Each
    high_W_per_m2K: Each
    volumes: int
    ends: int = 0

    @cached_property
    def steps_m(self) -> Array:
        """Length of each volume (m), shape (count,)."""
        if not self.ends:
            return np.full(self.cells * self.volumes, self.length_m / self.volumes)
        outer = GRADING ** np.arange(self.ends)
        outer *= self.length_m / outer.sum() / (2.0 if self.cells == 1 else 1.0)
        inner = np.full(max(self.cells - 2, 0) * self.volumes, self.length_m / self.volumes)
        return np.concatenate((outer, inner, outer[::-1]))

    @property
    def count(self) -> int:
        """Number of finite volumes along the axis."""
        return len(self.steps_m)

    @cached_property
    def middles_m(self) -> Array:
        """Middle of each volume (m from the low end), shape (count,)."""
        return np.cumsum(self.steps_m) - 0.5 * self.steps_m

    @cached_property
    def halves_W_per_m2K(self) -> Array:
        """Conductance from the middle of each volume to its surfaces (W/(m2 K)), shape (count,)."""
        halves: Array = 2.0 * np.asarray(self.conductivity_W_per_mK)[..., None] / self.steps_m
        return halves

    @property
    def half_W_per_m2K(self) -> Array:
        """Conductance from the middle of an outermost volume to the outer surface (W/(m2 K))."""
        outermost: Array = self.halves_W_per_m2K[..., 0]
        return outermost

    def conductance_W_per_m2K(self, high: bool) -> Each:
        """Give the conductance of an end from its surface outward.

        Args:
            high: whether the high end is asked for, instead of the low one.

        Returns:
            Conductance (W/(m2 K)).
        """
        return self.high_W_per_m2K if high else self.low_W_per_m2K

    def picked(self, numbers: NDArray[np.int64] | int) -> "Axis":
        """Give the axis of some blocks of a stack.

        Args:
            numbers: numbers of the blocks wanted, from 0, in any order, each as often as wanted (no unit).

        Returns:
            The axis of a stack of these; for one number that of this block alone.
        """
        return replace(
            self,
            conductivity_W_per_mK=_picked(self.conductivity_W_per_mK, numbers),
            contact_m2K_per_W=_picked(self.contact_m2K_per_W, numbers),
            low_W_per_m2K=_picked(self.low_W_per_m2K, numbers),
            high_W_per_m2K=_picked(self.high_W_per_m2K, numbers),
        )

    def planes(self) -> NDArray[np.int64]:
        """Give where the planes between two cells are.

        Returns:
            Index of the volume before each plane, no unit, shape (cells - 1,).
        """
        return (self.ends or self.volumes) - 1 + self.volumes * np.arange(self.cells - 1)

    def weights(self, position_m: float) -> Array:
        """Weigh the volumes so that they read a position, linearly between their middles.

        Args:
            position_m: distance from the low end (m); in the outer half of a volume the volume itself counts.

        Returns:
            Weights that sum to 1, shape (count,). On a plane between cells both neighbours count, equally
            where they are cut alike.

        Validity: second order inside a cell; on a plane the mean of its two sides, not either surface.
        Source: linear interpolation.
        """
        numbers = np.arange(self.count)
        place = np.interp(position_m, self.middles_m, numbers)
        return np.maximum(1.0 - np.abs(numbers - place), 0.0)

    def modes(self, heat_J_per_m3K: Each, alike: bool) -> tuple[Array, Array]:
        """Solve the axis' eigenproblem.

        Args:
            heat_J_per_m3K: density times specific heat (J/(m3 K)).
            alike: whether both ends are alike and driven alike; then only the modes that are alike on
                both sides are solved for, which is half of them for an eighth of the work.

        Returns:
            Decay rates (1/s), shape (modes,), ascending; modes in columns, shape (count, modes),
            orthonormal when each volume counts by its length.

        Validity: as the axis'; modes that are not alike on both sides are absent where `alike` is set.
        Source: separation of variables on the finite volumes, a symmetric tridiagonal matrix; LAPACK's
            symmetric eigensolver through numpy.linalg.eigh. Halving by symmetry is our own.
        """
        half = self.half_W_per_m2K
        resistance = 1.0 / self.halves_W_per_m2K
        touching = np.zeros(self.count - 1, bool)
        touching[self.planes()] = True
        contact = np.where(touching, np.asarray(self.contact_m2K_per_W)[..., None], 0.0)
        between = 1.0 / (resistance[..., :-1] + resistance[..., 1:] + contact)
        ends = [outward * half / (outward + half) for outward in (self.low_W_per_m2K, self.high_W_per_m2K)]
        stack = np.broadcast_shapes(between.shape[:-1], *(end.shape for end in ends))
        matrix = np.zeros((*stack, self.count, self.count))
        place = np.arange(self.count)
        matrix[..., place[:-1], place[:-1]] += between
        matrix[..., place[1:], place[1:]] += between
        matrix[..., 0, 0] += ends[0]
        matrix[..., -1, -1] += ends[1]
        matrix[..., place[:-1], place[1:]] = matrix[..., place[1:], place[:-1]] = -between
        # Each volume by the root of its length keeps the matrix symmetric where lengths differ.
        root = np.sqrt(self.steps_m)
        matrix = matrix / (np.asarray(heat_J_per_m3K)[..., None, None] * (root[:, None] * root))
        rates, shapes = _alike(matrix) if alike else np.linalg.eigh(matrix)
        return np.maximum(rates, 0.0), shapes / root[:, None]


def _picked(value: Each, numbers: NDArray[np.int64] | int) -> Each:
    """Give a property of some blocks; a number is that of all."""
    return value[numbers] if isinstance(value, np.ndarray) else value


def _alike(matrix: Array) -> tuple[Array, Array]:
    """Solve a tridiagonal matrix that reads the same from both ends for its modes that do so too."""
    half, odd = divmod(matrix.shape[-1], 2)
    folded = matrix[..., : half + odd, : half + odd].copy()
    if odd:
        folded[..., half - 1 : half, half] *= np.sqrt(2.0)
        folded[..., half, half - 1 : half] *= np.sqrt(2.0)
    else:
        folded[..., -1, -1] += matrix[..., half - 1, half]
    rates, shapes = np.linalg.eigh(folded)
    side = shapes[..., :half, :] / np.sqrt(2.0)
    return rates, np.concatenate((side, shapes[..., half:, :], side[..., ::-1, :]), axis=-2)


def homogenised(axis: Axis, most: int) -> Axis:
    """Replace a long row of cells by one body with the same resistance, so that the eigenproblem stays small.

    Args:
        axis: the row of cells.
        most: largest number of volumes wanted along the axis.

    Returns:
        The axis itself, or one continuous body of `most` volumes with the contacts spread into its
        conductivity.

    Validity: where a cell is small against the row: the fall inside one cell is lost.
    Source: resistances in series, any text on heat conduction.
    """
    if axis.count <= most:
        return axis
    resistance = axis.length_m / axis.conductivity_W_per_mK + axis.contact_m2K_per_W
    return Axis(
        cells=1,
        length_m=axis.cells * axis.length_m,
        conductivity_W_per_mK=axis.length_m / resistance,
        contact_m2K_per_W=0.0,
        low_W_per_m2K=axis.low_W_per_m2K,
        high_W_per_m2K=axis.high_W_per_m2K,
        volumes=most,
    )
