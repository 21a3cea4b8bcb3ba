"""Temperatures over a stretch of time in which nothing is switched, as sensors with a lag report them.

Blocks may come in stacks, as in `physics.axis`: then times, states and reports have the blocks as their first
axis, which is left out of the shapes below.
"""

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bmslint.physics.axis import Array, Each
from bmslint.physics.conduction import Block

# How close a rate may come to the inverse of a sensor's lag before the lag counts as this much different:
# the response of a lag to its own rate is a limit, and 1e-6 of it is far below any reading.
RESONANCE = 1e-6
# Shortest lag where another block of the stack has one (s): no reading tells it from none.
SHORTEST_S = 1e-6
# Exponent below which a mode has died away (2e-35), and what is left then; smaller numbers would slow the
# processor down.
GONE, NOTHING = -80.0, float(np.exp(-80.0))
# First time after its start at which a stretch is looked at (s), and looks in each doubling of the time.
FIRST_LOOK_S, LOOKS = 2.0, 2
# A switch is narrowed to a sixteenth of the step it lies in before a parabola is taken.
PARTS = 16
FRACTIONS = np.linspace(0.0, 1.0, PARTS + 1)


@dataclass(frozen=True)
class Probe:
    """A place whose temperature is linear in the block's state and in what drives it.

    Args:
        row: weights over the block's modes, shape (modes,).
        offsets: rise of the place itself by each named drive at unit strength (K), such as a film's own.
        lag_s: time constant of the first-order lag of the sensor (s); 0 is none.

    Validity: a sensor too small to change the block's temperature.
    Source: first-order lag of a lumped body, lag dR/dt = T - R, any text on heat transfer.
    """

    row: Array
    offsets: Mapping[str, Each]
    lag_s: Each


class Probes:
    """The sensors of one block, with what their lags need worked out once.

    Args:
        probes: the sensors, in the order in which reports are wanted.
        block: the block that they read.

    Validity: as `Probe`; a lag within a millionth of a mode's own is taken as that much different.
    Source: the lag's equation under one exponential, mode by mode; our own arrangement.
    """

    def __init__(self, probes: Sequence[Probe], block: Block) -> None:
        self.count = len(probes)
        self.rows: Array = np.stack([probe.row for probe in probes], axis=-2)
        lead = self.rows.shape[:-1]
        self.offsets: Array = np.zeros((*lead, len(block.names)))
        self.lags_s: Array = np.zeros(lead)
        for number, probe in enumerate(probes):
            self.lags_s[..., number] = probe.lag_s
            for name, rise in probe.offsets.items():
                if name in block.names:
                    self.offsets[..., number, block.names.index(name)] = rise
        self._follow(block)

    def _follow(self, block: Block) -> None:
        """Work out what depends on the rates of a block."""
        block_rates = block.rates
        # What each sensor settles at (K) under each drive at unit strength, shape (probes, drives).
        self.settled: Array = self.rows @ block.unit_states.swapaxes(-1, -2) + self.offsets
        self.lagging = np.flatnonzero((self.lags_s > 0.0).reshape(-1, self.count).any(axis=0))
        lags = np.maximum(self.lags_s[..., self.lagging], SHORTEST_S)
        gap = 1.0 - lags[..., :, None] * block_rates[..., None, :]
        while (close := np.abs(gap) < RESONANCE).any():
            # Off the inverse of every rate, where the closed form would divide by nothing.
            lags[close.any(axis=-1)] *= 1.0 + 3.0 * RESONANCE
            gap = 1.0 - lags[..., :, None] * block_rates[..., None, :]
        # How far a sensor stands behind each mode while that mode dies away.
        self.behind: Array = self.rows[..., self.lagging, :] / gap
        # What dies away, each at its own rate: the modes, then what is each lag's own; and how each sensor
        # sees it. Together they take one exponential and one product.
        self.rates: Array = np.concatenate((block_rates, 1.0 / lags), axis=-1)
        modes = block_rates.shape[-1]
        self.seen: Array = np.zeros((*self.rows.shape[:-1], modes + len(self.lagging)))
        self.seen[..., :modes] = self.rows
        self.seen[..., self.lagging, :modes] = self.behind
        self.seen[..., self.lagging, modes + np.arange(len(self.lagging))] = 1.0

    def rest(self) -> Array:
        """Give what the sensors report at the common start temperature.

        Returns:
            Reports, all 0 (K), shape (probes,).
        """
        return np.zeros_like(self.lags_s)

    def picked(self, numbers: NDArray[np.int64]) -> "Probes":
        """Give the sensors on some blocks of a stack, as `Block.picked` gives these.

        Args:
            numbers: numbers of the blocks wanted (no unit).

        Returns:
            The same sensors on a stack of these.
        """
        twin = copy(self)
        for name in ("rows", "offsets", "lags_s", "settled", "behind", "rates", "seen"):
            setattr(twin, name, getattr(self, name)[numbers])
        return twin

    def on(self, block: Block) -> "Probes":
        """Give the same sensors on the same block with other rates.

        Args:
            block: the block, as `Block.varied` gives it.

        Returns:
            The sensors on it.
        """
        twin = copy(self)
        twin._follow(block)
        return twin


@dataclass(frozen=True)
class Left:
    """What is left at some times of all that dies away: the modes of a block, and the lags of its sensors.

    Args:
        seconds: times since the start of a stretch (s), ascending, shape (times,).
        parts: what is left of each, no unit, shape (rates, times).

    Validity: what is below 2e-35 is not told from that.
    Source: exponential decay, any text on differential equations; by squares and products, our own.
    """

    seconds: Array
    parts: Array

    @classmethod
    def at(cls, probes: Probes, seconds: Array) -> "Left":
        """Give what is left at any times.

        Args:
            probes: the sensors, whose lags die away with the block's modes.
            seconds: the times (s), ascending, shape (times,).

        Returns:
            What is left then.
        """
        parts = -probes.rates[..., :, None] * seconds[..., None, :]
        np.maximum(parts, GONE, out=parts)
        return cls(seconds, np.exp(parts, out=parts))

    @classmethod
    def looks(cls, probes: Probes, horizon_s: float) -> "Left":
        """Give what is left at times that are fine enough to see whatever is switched.

        Args:
            probes: the sensors, whose lags die away with the block's modes.
            horizon_s: time up to which they are wanted (s).

        Returns:
            What is left at the start and, from 2 s on, at three times in each doubling of the time.
        """
        doublings = 1 + max(int(np.ceil(np.log2(max(horizon_s, FIRST_LOOK_S) / FIRST_LOOK_S))), 0)
        seconds = np.zeros(1 + LOOKS * doublings)
        seconds[1:] = FIRST_LOOK_S * 2.0 ** (np.arange(LOOKS * doublings) / LOOKS)
        parts = np.empty((len(seconds), *probes.rates.shape))
        parts[0] = 1.0
        falls = np.multiply.outer(-seconds[1 : LOOKS + 1], probes.rates)
        np.exp(np.maximum(falls, GONE, out=falls), out=parts[1 : LOOKS + 1])
        for number in range(LOOKS + 1, len(seconds), LOOKS):
            # In twice the time the square is left.
            there = parts[number : number + LOOKS]
            np.square(parts[number - LOOKS : number], out=there)
            np.maximum(there, NOTHING, out=there)
        return cls(seconds, _times_last(parts))

    @classmethod
    def evenly(cls, probes: Probes, low_s: Each, high_s: Each, low_parts: Array | float = 1.0) -> "Left":
        """Give what is left at 17 evenly spaced times.

        Args:
            probes: the sensors.
            low_s: first of the times (s), a number for each block.
            high_s: last of them (s).
            low_parts: what is left at the first, no unit, shape (rates,).

        Returns:
            What is left at these times.
        """
        step = (np.asarray(high_s) - low_s) / PARTS
        seconds = np.asarray(low_s)[..., None] + step[..., None] * np.arange(PARTS + 1)
        falls = -probes.rates * step[..., None]
        factor = np.exp(np.maximum(falls, GONE, out=falls), out=falls)
        parts = np.empty((PARTS + 1, *probes.rates.shape))
        parts[0], done = low_parts, 1
        while done <= PARTS:
            more = min(done, PARTS + 1 - done)
            np.multiply(parts[:more], factor, out=parts[done : done + more])
            np.maximum(np.square(factor, out=factor), NOTHING, out=factor)
            done += more
        return cls(seconds, _times_last(parts))

    def ending(self, probes: Probes, end_s: Array) -> "Left":
        """Put an end to the times.

        Args:
            probes: the sensors.
            end_s: the end (s), a number for each block.

        Returns:
            The times before the latest end, each no later than its block's end, and then that end.
        """
        count = max(int(self.seconds.searchsorted(end_s.max())), 1)
        end = end_s[..., None]
        last = Left.at(probes, end)
        return Left(
            np.concatenate((np.minimum(self.seconds[:count], end), end), axis=-1),
            np.concatenate((self.parts[..., :count], last.parts), axis=-1),
        )

    def picked(self, numbers: NDArray[np.int64]) -> "Left":
        """Give what is left in some blocks of a stack, all at the same times.

        Args:
            numbers: numbers of the blocks wanted (no unit).

        Returns:
            What is left in these.
        """
        return Left(self.seconds, self.parts[numbers])


@dataclass(frozen=True)
class Found:
    """Where a margin was first reached.

    Args:
        seconds: the time (s); where it was not, the end of the time searched.
        reached: whether it was, no unit.
        looked_s: times at which was looked before the switch was narrowed down (s), shape (times,); where
            they are the end's, but for the last, they are of no meaning.
        looked: reports then (K), shape (probes, times).

    Validity: as the search's.
    Source: `Segment.first`.
    """

    seconds: Array
    reached: NDArray[np.bool_]
    looked_s: Array
    looked: Array


Margin = Callable[[Array, Array], Array]


class Segment:
    """A stretch under constant drives, begun from a state of the block and of the sensors.

    Args:
        block: the block.
        probes: its sensors.
        state: modal amplitudes at the start (K), shape (modes,).
        lagged: what the sensors report at the start (K), shape (probes,).
        strengths: strength of each named drive during the stretch, as a multiple of its unit strength.

    Validity: drives constant during the stretch; then exact for any time, the lag included.
    Source: the solution of a linear equation with constant coefficients, one exponential for each mode and
        one for each lag; our own arrangement.
    """

    def __init__(
        self,
        block: Block,
        probes: Probes,
        state: Array,
        lagged: Array,
        strengths: Mapping[str, Each],
    ) -> None:
        self.block = block
        self.probes = probes
        self.state = state
        driven = block.driven(strengths)
        self.steady = block.reached(driven)
        falling = state - self.steady
        self._settled: Array = (probes.settled @ driven[..., None])[..., 0]
        at = probes.lagging
        own = lagged[..., at] - self._settled[..., at] - (probes.behind @ falling[..., None])[..., 0]
        self._dying: Array = np.concatenate((falling, own), axis=-1)

    @cached_property
    def _seen(self) -> Array:
        """What each sensor sees of all that dies away, at the start of the stretch (K)."""
        seen: Array = self.probes.seen * self._dying[..., None, :]
        return seen

    def forget(self) -> None:
        """Give up what can be worked out anew: of hundreds of stretches it would fill the memory."""
        self.__dict__.pop("_seen", None)

    def reports(self, left: Left, count: int | None = None) -> Array:
        """Give what the sensors report.

        Args:
            left: the times, and what is left then.
            count: how many of the sensors are wanted, from the first; None for all.

        Returns:
            Reports (K), shape (probes, times).
        """
        result: Array = self._seen[..., :count, :] @ left.parts
        result += self._settled[..., :count, None]
        return result

    def states(self, seconds: Each) -> Array:
        """Give the block's state.

        Args:
            seconds: time since the start of the stretch (s): a number, for a stack shape (blocks,), for a
                single block also shape (times,).

        Returns:
            Modal amplitudes (K), shape (modes,) or (times, modes).
        """
        return self.block.after(self.state, self.steady, seconds)

    def end(self, seconds: Each) -> tuple[Array, Array]:
        """Give the block's state and the sensors' reports at one time.

        Args:
            seconds: time since the start of the stretch (s).

        Returns:
            Modal amplitudes (K), shape (modes,), and reports (K), shape (probes,).
        """
        falls = -np.asarray(seconds)[..., None] * self.probes.rates
        gone = np.expm1(np.maximum(falls, GONE, out=falls), out=falls)
        modes = self.block.modes
        state = self.state + self._dying[..., :modes] * gone[..., :modes]
        reports = (self._seen @ (gone + 1.0)[..., None])[..., 0] + self._settled
        return state, reports

    def first(self, margin: Margin, looks: Left, count: int | None = None) -> Found:
        """Find when a margin first becomes zero or positive.

        Args:
            margin: the margin for reports (K), shape (probes, times), at times (s), shape (times,).
            looks: what is left at times that are fine enough to see the margin change sign, the last of them
                the end of the time searched; times at or beyond the end are passed over.
            count: how many of the sensors the margin needs, from the first; None for all.

        Returns:
            The time. Between two of the looks it is narrowed to 1/16 of the step and then taken on a
            parabola through three of the times.

        Validity: a margin that changes sign at most once between two neighbours of the looks.
        Source: bracketing, then interpolation and Newton's method, any text on numerical methods; our own
            steps.
        """
        times, looked = looks.seconds, self.reports(looks, count)
        values = margin(looked, times)
        end = times[..., -1]
        within = times < end[..., None]
        within[..., -1] = True
        hit = (values >= 0.0) & within
        first, reached = hit.argmax(axis=-1), np.asarray(hit.any(axis=-1))
        if not (reached & (first > 0)).any():
            return Found(np.where(reached, 0.0, end), reached, times, looked)
        # The look before it; before the end, the last one within the time searched.
        before = np.maximum(np.minimum(first, within.sum(axis=-1) - 1) - 1, 0)
        low, high = _taken(times, before), _taken(times, first)
        ends = _taken(values, before), _taken(values, first)
        low_parts = looks.parts[(*np.indices(before.shape), slice(None), before)]
        finer = Left.evenly(self.probes, low, np.maximum(high, low), low_parts)
        values = margin(self.reports(finer, count), finer.seconds)
        # Both ends are known; only rounding could deny them.
        values[..., 0], values[..., -1] = ends
        seconds = low + _crossed(values) * (finer.seconds[..., 1] - low)
        seconds = np.where(first == 0, 0.0, seconds)
        return Found(np.where(reached, seconds, end), reached, times, looked)


def _crossed(values: Array) -> Array:
    """Give where values at even steps first become zero or positive, in steps from the first of them."""
    number = np.maximum((values >= 0.0).argmax(axis=-1), 1)
    origin = np.maximum(number - 2, 0)
    one, two, three = (_taken(values, origin + step) for step in range(3))
    slope, bend = (4.0 * two - 3.0 * one - three) / 2.0, (one - 2.0 * two + three) / 2.0
    low = (number - 1 - origin).astype(float)
    below, above = np.where(low > 0.0, two, one), np.where(low > 0.0, three, two)
    rises = above > below
    place = low + np.where(rises, -below / np.where(rises, above - below, 1.0), 1.0)
    for _ in range(2):
        # From the straight line to the parabola, within the step.
        steep = slope + 2.0 * bend * place
        off = one + (slope + bend * place) * place
        place = np.where(steep > 0.0, place - off / np.where(steep > 0.0, steep, 1.0), place)
        place = np.minimum(np.maximum(place, low), low + 1.0)
    crossed: Array = origin + place
    return crossed


def _taken(values: Array, number: NDArray[np.int64]) -> Array:
    """Take one of the values along the last axis, its number given for each block."""
    flat = values.reshape(-1, values.shape[-1])
    result: Array = flat[np.arange(len(flat)), number.reshape(-1)].reshape(number.shape)
    return result


def _times_last(parts: Array) -> Array:
    """Make the first axis the last."""
    return parts.transpose((*range(1, parts.ndim), 0))
