"""Conduction in a block of cells, exact in time.

Cells stand in a block along three axes. Inside a cell conduction is anisotropic, between cells lies a
contact resistance, and each of the six faces exchanges heat with its own outside temperature through a
conductance that is uniform on the face. On a grid of finite volumes the operator is then a Kronecker sum
of three one-dimensional symmetric tridiagonal matrices, so three small eigenproblems give every mode, and
the field after any time is a sum over products of modes: no time stepping, no stability limit.

Source: the fast diagonalisation method, Lynch, Rice and Thomas, Numerische Mathematik 6 (1964) 185-199.

Temperatures are differences from a common start (K), so a soaked block starts from zero and only what
drives it appears.

Blocks may come in stacks, as in `physics.axis`: then every result has the blocks as its first axis, which is
left out of the shapes below.
"""

import math
from collections.abc import Mapping, Sequence
from copy import copy
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bmslint.physics.axis import Array as Array
from bmslint.physics.axis import Axis, Each

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


class Block:
    """A block of cells with what may drive it, reduced to the modes that these drives excite.

    Args:
        axes: the three directions x (through the cells), y and z.
        heat_J_per_m3K: density times specific heat (J/(m3 K)).
        drives: for each named drive the flux that enters each face at unit strength (W/m2, before it
            divides between the cell and the loss outward), under `inside` the heat in every volume
            (W/m3), under `between` the flux of a film in every plane across x (W/m2).

    Validity: coefficients uniform on each face and in time; contact planes cross the whole block. A stack
        keeps the modes that the drives excite in any of its blocks.
    Source: Lynch, Rice and Thomas, Numerische Mathematik 6 (1964) 185-199.
    """

    _whole: "Block"
    _numbers: NDArray[np.int64] | int

    def __init__(
        self,
        axes: tuple[Axis, Axis, Axis],
        heat_J_per_m3K: Each,
        drives: Mapping[str, Mapping[str, Each]],
    ) -> None:
        self.axes = axes
        self.heat_J_per_m3K = heat_J_per_m3K
        self.names = tuple(drives)
        self.alike = tuple(self._alike(number, drives) for number in range(3))
        solved = [axis.modes(heat_J_per_m3K, alike) for axis, alike in zip(axes, self.alike, strict=True)]
        x, y, z = (rates for rates, _ in solved)
        rates = x[..., :, None, None] + y[..., None, :, None] + z[..., None, None, :]
        projected = self._project(drives, [shapes for _, shapes in solved])
        reached = np.abs(projected) / np.maximum(rates, UNREACHED_PER_S)[..., None, :, :, :]
        largest = np.maximum(reached.max(axis=(-3, -2, -1), keepdims=True), 1e-300)
        grid = rates.shape[-3:]
        excited = (reached > NEGLIGIBLE * largest).any(axis=tuple(range(reached.ndim - 3)))
        at = np.flatnonzero(excited)
        self.rates: Array = np.maximum(rates.reshape(*rates.shape[:-3], -1)[..., at], SLOWEST_PER_S)
        # What each drive leads to at unit strength (K), shape (drives, modes).
        self.unit_states: Array = (
            projected.reshape(*projected.shape[:-3], -1)[..., at] / self.rates[..., None, :]
        )
        # Modes of each axis that are part of any kept, and of which three each kept one is the product.
        kept = [np.flatnonzero(excited.any(axis=other)) for other in ((1, 2), (0, 2), (0, 1))]
        x, y, z = (shapes[..., few] for (_, shapes), few in zip(solved, kept, strict=True))
        self.shapes = x, y, z
        number = [
            np.searchsorted(few, every) for few, every in zip(kept, np.unravel_index(at, grid), strict=True)
        ]
        self._parts = number[0], number[1], number[2]

    def _alike(self, number: int, drives: Mapping[str, Mapping[str, Each]]) -> bool:
        """Whether an axis has ends that are alike and are driven alike, in every block of a stack."""
        axis, (low, high) = self.axes[number], FACES[2 * number : 2 * number + 2]
        pairs = [(axis.low_W_per_m2K, axis.high_W_per_m2K)]
        pairs += [(weights.get(low, 0.0), weights.get(high, 0.0)) for weights in drives.values()]
        return all(np.all(np.equal(one, other)) for one, other in pairs)

    def _project(self, drives: Mapping[str, Mapping[str, Each]], solved: Sequence[Array]) -> Array:
        """Project the drives on all modes: heating rates (K/s), shape (drives, modes of x, of y, of z)."""
        even = [axis.steps_m @ shapes for axis, shapes in zip(self.axes, solved, strict=True)]
        stack = even[0].shape[:-1]
        # Along each axis what enters at places on it, evenly over the other two.
        entering = [np.zeros((*stack, len(drives), sums.shape[-1])) for sums in even]
        for drive, weights in enumerate(drives.values()):
            for place, weight in weights.items():
                strength = np.asarray(weight / self.heat_J_per_m3K)
                number, row = 0, even[0]
                if place == BETWEEN:
                    row = self._between(solved[0])
                elif place != INSIDE:
                    number, high = divmod(FACES.index(place), 2)
                    axis = self.axes[number]
                    row = solved[number][..., -1 if high else 0, :]
                    half = axis.half_W_per_m2K
                    strength = strength * half / (half + axis.conductance_W_per_m2K(bool(high)))
                entering[number][..., drive, :] += strength[..., None] * row
        x, y, z = (sums[..., None, :] for sums in even)
        from_x, from_y, from_z = entering
        plane = from_x[..., :, None] * y[..., None, :] + x[..., :, None] * from_y[..., None, :]
        total: Array = plane[..., None] * z[..., None, None, :]
        total += (x[..., :, None] * y[..., None, :])[..., None] * from_z[..., None, None, :]
        return total

    def _between(self, shapes: Array) -> Array:
        """Give what films in the planes across x heat of each mode of x, no unit, shape (modes of x,)."""
        axis, planes = self.axes[0], self.axes[0].planes()
        # The film stands in the middle of the contact, and its heat takes the easier way.
        way = 1.0 / axis.halves_W_per_m2K + np.asarray(axis.contact_m2K_per_W)[..., None] / 2.0
        before = way[..., planes + 1] / (way[..., planes] + way[..., planes + 1])
        sides = (
            before[..., None] * shapes[..., planes, :]
            + (1.0 - before)[..., None] * shapes[..., planes + 1, :]
        )
        total: Array = sides.sum(axis=-2)
        return total

    def varied(self, heat_ratio: Each, sink_per_s: Each) -> "Block":
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
        ratio = np.asarray(heat_ratio)[..., None]
        twin.heat_J_per_m3K = self.heat_J_per_m3K * heat_ratio
        twin.rates = self.rates / ratio + np.asarray(sink_per_s)[..., None]
        twin.unit_states = self.unit_states * (self.rates / (ratio * twin.rates))[..., None, :]
        return twin

    def picked(self, numbers: NDArray[np.int64] | int) -> "Block":
        """Give some blocks of a stack.

        Args:
            numbers: numbers of the blocks wanted, from 0, in any order, each as often as wanted (no unit).

        Returns:
            A stack of these, with the same modes; for one number this block alone.
        """
        twin = copy(self)
        twin.rates, twin.unit_states = self.rates[numbers], self.unit_states[numbers]
        twin.heat_J_per_m3K = np.asarray(self.heat_J_per_m3K)[numbers]
        twin._whole, twin._numbers = self, numbers
        for late in ("axes", "shapes", "_rows", "mean_row"):
            twin.__dict__.pop(late, None)
        return twin

    # Of a picked block these are only worked out where they are asked for.
    @cached_property
    def axes(self) -> tuple[Axis, Axis, Axis]:
        """The three directions x, y and z."""
        x, y, z = self._whole.axes
        return x.picked(self._numbers), y.picked(self._numbers), z.picked(self._numbers)

    @cached_property
    def shapes(self) -> tuple[Array, Array, Array]:
        """Each axis' modes that are part of any mode kept, no unit, each of shape (count, modes)."""
        x, y, z = self._whole.shapes
        return x[self._numbers], y[self._numbers], z[self._numbers]

    @property
    def modes(self) -> int:
        """Number of modes kept."""
        return int(self.rates.shape[-1])

    def rest(self) -> Array:
        """Give the state of a block at the common start temperature.

        Returns:
            Modal amplitudes, all 0 (K), shape (modes,).
        """
        return np.zeros_like(self.rates)

    def driven(self, strengths: Mapping[str, Each]) -> Array:
        """Line up strengths in the order of the block's drives.

        Args:
            strengths: strength of each named drive, as a multiple of its unit strength; one not named is off.

        Returns:
            Strengths, no unit, shape (drives,).
        """
        found: Array = np.zeros((*self.rates.shape[:-1], len(self.names)))
        for number, name in enumerate(self.names):
            found[..., number] = strengths.get(name, 0.0)
        return found

    def steady(self, strengths: Mapping[str, Each]) -> Array:
        """Give the state that constant drives lead to.

        Args:
            strengths: strength of each named drive, as a multiple of its unit strength; one not named is off.

        Returns:
            Modal amplitudes (K), shape (modes,).

        Validity: as the block's; one without any loss is given the slowest rate instead of none.
        Source: each mode by itself, its heating over its rate; Lynch, Rice and Thomas as for the block.
        """
        return self.reached(self.driven(strengths))

    def reached(self, driven: Array) -> Array:
        """Give the state that constant drives lead to, in the order of `names`.

        Args:
            driven: strengths from `driven`, no unit, shape (drives,).

        Returns:
            Modal amplitudes (K), shape (modes,).
        """
        state: Array = (driven[..., None, :] @ self.unit_states)[..., 0, :]
        return state

    def after(self, state: Array, steady: Array, seconds: Each) -> Array:
        """Continue a state under constant drives.

        Args:
            state: modal amplitudes at the start (K), shape (modes,).
            steady: what the drives lead to, from `steady` (K), shape (modes,).
            seconds: time since the start (s): a number, for a stack shape (blocks,), for a single block
                also shape (times,).

        Returns:
            Modal amplitudes (K), shape (modes,) or (times, modes); exact for any time.

        Validity: drives constant since the start.
        Source: the solution of a linear equation with constant coefficients, one exponential for each mode.
        """
        grown = -np.expm1(-np.asarray(seconds)[..., None] * self.rates)
        result: Array = state + (steady - state) * grown
        return result

    def probe(self, weights: Sequence[tuple[Array, Array, Array]]) -> Array:
        """Give the rows that read temperatures off a state.

        Args:
            weights: for each probe the weight of every volume along each axis (no unit), shape (count,) or,
                where they differ, (blocks, count).

        Returns:
            Matrix of shape (probes, modes); its product with a state is the probes' temperature (K).
        """
        rows = [
            self._row(
                *(
                    (each[..., None, :] @ shapes)[..., 0, :]
                    for each, shapes in zip(three, self.shapes, strict=True)
                )
            )
            for three in weights
        ]
        return np.stack(rows, axis=-2)

    def _row(self, x: Array, y: Array, z: Array) -> Array:
        """Join what a probe reads of each axis' modes to a row over the modes kept."""
        row: Array = x[..., self._parts[0]] * y[..., self._parts[1]] * z[..., self._parts[2]]
        return row

    def points(self, volumes: tuple[Sequence[int], Sequence[int], Sequence[int]]) -> Array:
        """Give the rows that read single volumes off a state.

        Args:
            volumes: numbers of the volumes wanted along each axis.

        Returns:
            Matrix of shape (points, modes) for every combination, z running fastest; its product with a
            state is the points' temperature (K).
        """
        x, y, z = (
            shapes[..., list(numbers), :] for shapes, numbers in zip(self.shapes, volumes, strict=True)
        )
        rows = self._row(x[..., :, None, None, :], y[..., None, :, None, :], z[..., None, None, :, :])
        return rows.reshape(*rows.shape[:-4], math.prod(rows.shape[-4:-1]), self.modes)

    def spots(self, volumes: Sequence[NDArray[np.int64]]) -> Array:
        """Give the rows that read one volume off each block of a stack.

        Args:
            volumes: its number along each axis (no unit), each of shape (blocks,).

        Returns:
            Rows of shape (modes,); the product with a state is the volume's temperature (K).
        """
        x, y, z = (
            np.take_along_axis(shapes, numbers[..., None, None], axis=-2)[..., 0, :]
            for shapes, numbers in zip(self.shapes, volumes, strict=True)
        )
        return self._row(x, y, z)

    def _spread(self, states: Array) -> Array:
        """Put amplitudes back on the grid of the axes' modes, zero where a mode is not excited."""
        full = np.zeros((*states.shape[:-1], *(shapes.shape[-1] for shapes in self.shapes)))
        full[..., self._parts[0], self._parts[1], self._parts[2]] = states
        return full

    @cached_property
    def _rows(self) -> tuple[Array, Array, Array]:
        """Each axis' modes on its volumes, of one half only where its two ends are alike."""
        x, y, z = (
            shapes[..., : (shapes.shape[-2] + 1) // 2, :] if alike else shapes
            for shapes, alike in zip(self.shapes, self.alike, strict=True)
        )
        return x, y, z

    def field(self, states: Array) -> Array:
        """Build the temperature of every volume, of one half only along an axis that is symmetric.

        Args:
            states: modal amplitudes (K), shape (modes,), for a single block also (times, modes).

        Returns:
            Temperatures (K), shape (x, y, z) or (times, x, y, z).
        """
        return self.gathered(states, *self._rows)

    @cached_property
    def mean_row(self) -> Array:
        """The row whose product with a state is the mean temperature of all volumes (K), shape (modes,)."""
        x, y, z = (
            axis.steps_m @ shapes / axis.steps_m.sum()
            for axis, shapes in zip(self.axes, self.shapes, strict=True)
        )
        return self._row(x, y, z)

    def mean(self, state: Array) -> Array:
        """Give the mean temperature of all volumes, each by its size.

        Args:
            state: modal amplitudes (K), shape (modes,).

        Returns:
            Temperature (K), a number for each block.
        """
        result: Array = (self.mean_row * state).sum(axis=-1)
        return result

    def full_field(self, state: Array) -> Array:
        """Build the temperature of every volume of the whole block.

        Args:
            state: modal amplitudes (K), shape (modes,).

        Returns:
            Temperatures (K), shape (x, y, z).
        """
        return self.gathered(state, *self.shapes)

    def gathered(self, states: Array, x: Array, y: Array, z: Array) -> Array:
        """Read states at every combination of places along the three axes.

        Args:
            states: modal amplitudes (K), shape (modes,), for a single block also (times, modes).
            x: for each place along x what it reads of each mode in `shapes[0]`, no unit; (places, modes).
            y: the same along y, no unit.
            z: the same along z, no unit.

        Returns:
            Temperatures (K), shape (places along x, y, z).
        """
        spread = self._spread(states)
        lead, (of_x, of_y, of_z) = spread.shape[:-3], spread.shape[-3:]
        across, along, up = (rows.shape[-2] for rows in (x, y, z))
        # One axis after the other, each as one product of two matrices: many small ones would be slow.
        by_z = spread.reshape(*lead, of_x * of_y, of_z) @ z.swapaxes(-1, -2)
        by_x = x @ by_z.reshape(*by_z.shape[:-2], of_x, of_y * up)
        lead = by_x.shape[:-2]
        turned = by_x.reshape(*lead, across, of_y, up).swapaxes(-1, -2).reshape(*lead, across * up, of_y)
        by_y = turned @ y.swapaxes(-1, -2)
        return by_y.reshape(*lead, across, up, along).swapaxes(-1, -2)

    def surface(self, temperature: Each, place: str, flux_W_per_m2: Each) -> Each:
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
