"""Conduction in a block of cells, exact in time.

Cells stand in a block along three axes. Inside a cell conduction is anisotropic, between cells lies a
contact resistance, and each of the six faces exchanges heat with its own outside temperature through a
conductance that is uniform on the face. On a grid of finite volumes the operator is then a Kronecker sum
of three one-dimensional symmetric tridiagonal matrices, so three small eigenproblems give every mode, and
the field after any time is a sum over products of modes: no time stepping, no stability limit.

Source: the fast diagonalisation method, Lynch, Rice and Thomas, Numerische Mathematik 6 (1964) 185-199.

Temperatures are differences from a common start (K), so a soaked block starts from zero and only what
drives it appears.
"""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FACES = ("x_low", "x_high", "y_low", "y_high", "z_low", "z_high")
INSIDE = "inside"
BETWEEN = "between"

# A mode whose share of every drive is below this part of the largest is left out. In the steady state that
# is below 5 mK on rises of 70 K and more (tests/physics/test_conduction_modes.py).
NEGLIGIBLE = 1e-7
# Rate (1/s) below which a mode's share is no longer weighed by its steady state, which a run never reaches.
UNREACHED_PER_S = 1e-5
# Slowest rate taken for a block without any loss (1/s), so that its steady state stays a number. Over a
# month the heat that a truly closed block would keep is wrong by 3 parts in 100,000.
SLOWEST_PER_S = 1e-11
# Each volume of an outermost cell over the one outside it.
GRADING = 1.2


@dataclass(frozen=True)
class Axis:
    """One direction of the block: its cells, and what lies at its two ends.

    Args:
        cells: number of cells along the axis.
        length_m: length of one cell along the axis (m).
        conductivity_W_per_mK: conductivity inside a cell along the axis (W/(m K)).
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
    conductivity_W_per_mK: float
    contact_m2K_per_W: float
    low_W_per_m2K: float
    high_W_per_m2K: float
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
        return 2.0 * self.conductivity_W_per_mK / self.steps_m

    @property
    def half_W_per_m2K(self) -> float:
        """Conductance from the middle of an outermost volume to the outer surface (W/(m2 K))."""
        return float(self.halves_W_per_m2K[0])

    def conductance_W_per_m2K(self, high: bool) -> float:
        """Give the conductance of an end from its surface outward.

        Args:
            high: whether the high end is asked for, instead of the low one.

        Returns:
            Conductance (W/(m2 K)).
        """
        return self.high_W_per_m2K if high else self.low_W_per_m2K

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

    def modes(self, heat_J_per_m3K: float, alike: bool) -> tuple[Array, Array]:
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
        n, half = self.count, self.half_W_per_m2K
        resistance = 1.0 / self.halves_W_per_m2K
        resistance = resistance[:-1] + resistance[1:]
        resistance[self.planes()] += self.contact_m2K_per_W
        between = 1.0 / resistance
        diagonal = np.zeros(n)
        diagonal[:-1] += between
        diagonal[1:] += between
        diagonal[0] += self.low_W_per_m2K * half / (self.low_W_per_m2K + half)
        diagonal[-1] += self.high_W_per_m2K * half / (self.high_W_per_m2K + half)
        matrix = np.zeros((n, n))
        matrix.flat[:: n + 1] = diagonal
        matrix.flat[1 :: n + 1] = -between
        matrix.flat[n :: n + 1] = -between
        # Each volume by the root of its length keeps the matrix symmetric where lengths differ.
        root = np.sqrt(self.steps_m)
        matrix /= heat_J_per_m3K * root[:, None] * root
        rates, shapes = _alike(matrix) if alike else np.linalg.eigh(matrix)
        return np.maximum(rates, 0.0), shapes / root[:, None]


def _alike(matrix: Array) -> tuple[Array, Array]:
    """Solve a tridiagonal matrix that reads the same from both ends for its modes that do so too."""
    half, odd = divmod(len(matrix), 2)
    folded = matrix[: half + odd, : half + odd].copy()
    if odd:
        folded[half - 1 : half, half] *= np.sqrt(2.0)
        folded[half, half - 1 : half] *= np.sqrt(2.0)
    else:
        folded[-1, -1] += matrix[half - 1, half]
    rates, shapes = np.linalg.eigh(folded)
    side = shapes[:half] / np.sqrt(2.0)
    return rates, np.concatenate((side, shapes[half:], side[::-1]))


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


class Block:
    """A block of cells with what may drive it, reduced to the modes that these drives excite.

    Args:
        axes: the three directions x (through the cells), y and z.
        heat_J_per_m3K: density times specific heat (J/(m3 K)).
        drives: for each named drive the flux that enters each face at unit strength (W/m2, before it
            divides between the cell and the loss outward), under `inside` the heat in every volume
            (W/m3), under `between` the flux of a film in every plane across x (W/m2).

    Validity: coefficients uniform on each face and in time; contact planes cross the whole block.
    Source: Lynch, Rice and Thomas, Numerische Mathematik 6 (1964) 185-199.
    """

    def __init__(
        self,
        axes: tuple[Axis, Axis, Axis],
        heat_J_per_m3K: float,
        drives: Mapping[str, Mapping[str, float]],
    ) -> None:
        self.axes = axes
        self.heat_J_per_m3K = heat_J_per_m3K
        self.names = tuple(drives)
        self.alike = tuple(self._alike(number, drives) for number in range(3))
        solved = [axis.modes(heat_J_per_m3K, alike) for axis, alike in zip(axes, self.alike, strict=True)]
        rates = solved[0][0][:, None, None] + solved[1][0][:, None] + solved[2][0]
        projected = np.array([self._project(weights, solved) for weights in drives.values()])
        reached = np.abs(projected) / np.maximum(rates, UNREACHED_PER_S)
        share = (reached / np.maximum(reached.max(axis=(1, 2, 3), keepdims=True), 1e-300)).max(axis=0)
        excited = share > NEGLIGIBLE
        kept = [excited.any(axis=other) for other in ((1, 2), (0, 2), (0, 1))]
        grid = np.ix_(*kept)
        self.shapes: tuple[Array, Array, Array] = (
            solved[0][1][:, kept[0]],
            solved[1][1][:, kept[1]],
            solved[2][1][:, kept[2]],
        )
        self._excited = excited[grid]
        self.rates: Array = np.maximum(rates[grid][self._excited], SLOWEST_PER_S)
        self._steady: Array = projected[(slice(None), *grid)][:, self._excited] / self.rates

    def _alike(self, number: int, drives: Mapping[str, Mapping[str, float]]) -> bool:
        """Whether an axis has ends that are alike and are driven alike."""
        axis, (low, high) = self.axes[number], FACES[2 * number : 2 * number + 2]
        return axis.low_W_per_m2K == axis.high_W_per_m2K and all(
            weights.get(low, 0.0) == weights.get(high, 0.0) for weights in drives.values()
        )

    def _project(self, weights: Mapping[str, float], solved: Sequence[tuple[Array, Array]]) -> Array:
        """Project one drive on all modes: heating rates (K/s), shape of the three axes."""
        sums = [axis.steps_m @ shapes for axis, (_, shapes) in zip(self.axes, solved, strict=True)]
        total = np.zeros([len(each) for each in sums])
        for place, weight in weights.items():
            rows = list(sums)
            strength = weight / self.heat_J_per_m3K
            if place == BETWEEN:
                axis, planes = self.axes[0], self.axes[0].planes()
                shapes = solved[0][1]
                # The film stands in the middle of the contact, and its heat takes the easier way.
                way = 1.0 / axis.halves_W_per_m2K + axis.contact_m2K_per_W / 2.0
                before = way[planes + 1] / (way[planes] + way[planes + 1])
                rows[0] = before @ shapes[planes] + (1.0 - before) @ shapes[planes + 1]
            elif place != INSIDE:
                number, high = divmod(FACES.index(place), 2)
                axis = self.axes[number]
                rows[number] = solved[number][1][-1 if high else 0]
                half = axis.half_W_per_m2K
                strength *= half / (half + axis.conductance_W_per_m2K(bool(high)))
            total += strength * rows[0][:, None, None] * rows[1][:, None] * rows[2]
        return total

    def varied(self, heat_ratio: float, sink_per_s: float) -> "Block":
        """Give the same block with another heat capacity, and with heat that falls where it becomes warmer.

        Args:
            heat_ratio: its new heat capacity over this one's, no unit, above 0.
            sink_per_s: rate by which the heating falls for each kelvin above the start (K/s for 1 K), 0 or
                more, alike everywhere.

        Returns:
            The block; its modes stay, since both act alike everywhere, and only their rates differ.

        Validity: both alike everywhere; a fall that is a straight line over temperature.
        Source: a multiple of the identity shifts every eigenvalue and leaves the eigenvectors; its use
            here is our own.
        """
        twin = copy(self)
        twin.heat_J_per_m3K = self.heat_J_per_m3K * heat_ratio
        twin.rates = self.rates / heat_ratio + sink_per_s
        twin._steady = self._steady * (self.rates / (heat_ratio * twin.rates))
        return twin

    @property
    def modes(self) -> int:
        """Number of modes kept."""
        return int(self.rates.size)

    def rest(self) -> Array:
        """Give the state of a block at the common start temperature.

        Returns:
            Modal amplitudes, all 0 (K), shape (modes,).
        """
        return np.zeros(self.modes)

    def steady(self, strengths: Mapping[str, float]) -> Array:
        """Give the state that constant drives lead to.

        Args:
            strengths: strength of each named drive, as a multiple of its unit strength; one not named is off.

        Returns:
            Modal amplitudes (K), shape (modes,).

        Validity: as the block's; one without any loss is given the slowest rate instead of none.
        Source: each mode by itself, its heating over its rate; Lynch, Rice and Thomas as for the block.
        """
        return np.array([strengths.get(name, 0.0) for name in self.names]) @ self._steady

    def after(self, state: Array, steady: Array, seconds: Array | float) -> Array:
        """Continue a state under constant drives.

        Args:
            state: modal amplitudes at the start (K), shape (modes,).
            steady: what the drives lead to, from `steady` (K), shape (modes,).
            seconds: time since the start (s), scalar or shape (times,).

        Returns:
            Modal amplitudes (K), shape (modes,) or (times, modes); exact for any time.

        Validity: drives constant since the start.
        Source: the solution of a linear equation with constant coefficients, one exponential for each mode.
        """
        grown = -np.expm1(-np.multiply.outer(seconds, self.rates))
        result: Array = state + (steady - state) * grown
        return result

    def probe(self, weights: Sequence[tuple[Array, Array, Array]]) -> Array:
        """Give the rows that read temperatures off a state.

        Args:
            weights: for each probe the weight of every volume along each axis (no unit).

        Returns:
            Matrix of shape (probes, modes); its product with a state is the probes' temperature (K).
        """
        return np.array(
            [self._row(x @ self.shapes[0], y @ self.shapes[1], z @ self.shapes[2]) for x, y, z in weights]
        )

    def _row(self, x: Array, y: Array, z: Array) -> Array:
        """Join what a probe reads of each axis' modes to a row over the modes kept."""
        row: Array = (x[:, None, None] * y[:, None] * z)[self._excited]
        return row

    def points(self, volumes: tuple[Sequence[int], Sequence[int], Sequence[int]]) -> Array:
        """Give the rows that read single volumes off a state.

        Args:
            volumes: numbers of the volumes wanted along each axis.

        Returns:
            Matrix of shape (points, modes) for every combination, z running fastest; its product with a
            state is the points' temperature (K).
        """
        x, y, z = (shapes[list(numbers)] for shapes, numbers in zip(self.shapes, volumes, strict=True))
        rows = x[:, None, None, :, None, None] * y[:, None, None, :, None] * z[:, None, None, :]
        return rows[..., self._excited].reshape(-1, self.modes)

    def _spread(self, states: Array) -> Array:
        """Put amplitudes back on the grid of the axes' modes, zero where a mode is not excited."""
        inner = np.zeros((*states.shape[:-1], *self._excited.shape))
        inner[..., self._excited] = states
        return inner

    @cached_property
    def _rows(self) -> tuple[Array, Array, Array]:
        """The modes' rows that a field needs: one half of an axis that is alike on both sides."""
        x, y, z = (
            shapes[: (len(shapes) + 1) // 2] if alike else shapes
            for shapes, alike in zip(self.shapes, self.alike, strict=True)
        )
        return x, y, z

    def field(self, states: Array) -> Array:
        """Build the temperature of every volume, of one half only along an axis that is symmetric.

        Args:
            states: modal amplitudes (K), shape (modes,) or (times, modes).

        Returns:
            Temperatures (K), shape (x, y, z) or (times, x, y, z).
        """
        x, y, z = self._rows
        inner = self._spread(states)
        along_z = inner @ z.T
        along_y = np.swapaxes(np.swapaxes(along_z, -1, -2) @ y.T, -1, -2)
        flat = along_y.reshape(*along_y.shape[:-2], -1)
        result: Array = (x @ flat).reshape(*flat.shape[:-2], len(x), len(y), len(z))
        return result

    @cached_property
    def mean_row(self) -> Array:
        """The row whose product with a state is the mean temperature of all volumes (K), shape (modes,)."""
        x, y, z = (
            axis.steps_m @ shapes / axis.steps_m.sum()
            for axis, shapes in zip(self.axes, self.shapes, strict=True)
        )
        return self._row(x, y, z)

    def mean(self, state: Array) -> float:
        """Give the mean temperature of all volumes, each by its size.

        Args:
            state: modal amplitudes (K), shape (modes,).

        Returns:
            Temperature (K).
        """
        return float(self.mean_row @ state)

    def full_field(self, state: Array) -> Array:
        """Build the temperature of every volume of the whole block.

        Args:
            state: modal amplitudes (K), shape (modes,).

        Returns:
            Temperatures (K), shape (x, y, z).
        """
        return self.gathered(state, *self.shapes)

    def gathered(self, state: Array, x: Array, y: Array, z: Array) -> Array:
        """Read a state at every combination of places along the three axes.

        Args:
            state: modal amplitudes (K), shape (modes,).
            x: for each place along x what it reads of each mode in `shapes[0]`, no unit; (places, modes).
            y: the same along y, no unit.
            z: the same along z, no unit.

        Returns:
            Temperatures (K), shape (places along x, y, z).
        """
        result: Array = np.tensordot(x, y @ (self._spread(state) @ z.T), axes=1)
        return result

    def surface(self, temperature: Array | float, place: str, flux_W_per_m2: float) -> Array | float:
        """Give the surface temperature at a face from that of the volume behind it.

        Args:
            temperature: of the volumes behind the face (K), any shape.
            place: the face, one of `FACES`.
            flux_W_per_m2: flux that drives the face, loss to a warmer outside included (W/m2).

        Returns:
            Surface temperature (K), same shape.

        Validity: a straight line over the outer half of a volume, so steady there.
        Source: balance of the fluxes at the surface, any text on heat conduction.
        """
        number, high = divmod(FACES.index(place), 2)
        axis = self.axes[number]
        outward = axis.conductance_W_per_m2K(bool(high))
        half = axis.half_W_per_m2K
        return (half * temperature + flux_W_per_m2) / (half + outward)
