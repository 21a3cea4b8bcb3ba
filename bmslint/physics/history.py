"""Temperatures over a stretch of time in which nothing is switched, as sensors with a lag report them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bmslint.physics.conduction import Array, Block

# How close a rate may come to the inverse of a sensor's lag before the lag counts as this much different:
# the response of a lag to its own rate is a limit, and 1e-6 of it is far below any reading.
RESONANCE = 1e-6
# Exponent below which a mode has died away (2e-35); smaller numbers would slow the processor down.
GONE = -80.0
# A switch is narrowed to a sixteenth of the step it lies in before a straight line is taken.
FRACTIONS = np.linspace(0.0, 1.0, 17)


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
    offsets: Mapping[str, float]
    lag_s: float


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
        self.rows: Array = np.array([probe.row for probe in probes])
        self.offsets: Array = np.array(
            [[probe.offsets.get(name, 0.0) for name in block.names] for probe in probes]
        )
        lags = np.array([_apart(probe.lag_s, block.rates) for probe in probes])
        self.lagging = np.flatnonzero(lags > 0.0)
        gap = 1.0 - np.outer(lags[self.lagging], block.rates)
        # How far a sensor stands behind each mode while that mode dies away.
        self.behind: Array = self.rows[self.lagging] / gap
        # What dies away, each at its own rate: the modes, then what is each lag's own; and how each sensor
        # sees it. Together they take one exponential and one product.
        self.rates: Array = np.concatenate((block.rates, 1.0 / lags[self.lagging]))
        seen = self.rows.copy()
        seen[self.lagging] = self.behind
        own = np.arange(self.count)[:, None] == self.lagging
        self.seen: Array = np.concatenate((seen, own), axis=1).T.copy()


def _apart(lag_s: float, rates: Array) -> float:
    """Move a lag (s) off the inverse of every rate (1/s), where the closed form would divide by nothing."""
    while (np.abs(1.0 - lag_s * rates) < RESONANCE).any():
        lag_s *= 1.0 + 3.0 * RESONANCE
    return lag_s


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
        strengths: Mapping[str, float],
    ) -> None:
        self.block = block
        self.probes = probes
        self.state = state
        self.steady = block.steady(strengths)
        falling = state - self.steady
        driven = np.array([strengths.get(name, 0.0) for name in block.names])
        self._settled = probes.rows @ self.steady + probes.offsets @ driven
        at = probes.lagging
        own = lagged[at] - self._settled[at] - probes.behind @ falling
        self._dying = np.concatenate((falling, own))

    def reports(self, seconds: Array) -> Array:
        """Give what each sensor reports.

        Args:
            seconds: times since the start of the stretch (s), shape (times,).

        Returns:
            Reports (K), shape (times, probes).
        """
        left = np.multiply.outer(-seconds, self.probes.rates)
        np.maximum(left, GONE, out=left)
        np.exp(left, out=left)
        left *= self._dying
        result: Array = left @ self.probes.seen
        result += self._settled
        return result

    def states(self, seconds: Array | float) -> Array:
        """Give the block's state.

        Args:
            seconds: times since the start of the stretch (s), a number or shape (times,).

        Returns:
            Modal amplitudes (K), shape (modes,) or (times, modes).
        """
        return self.block.after(self.state, self.steady, seconds)

    def end(self, seconds: float) -> tuple[Array, Array]:
        """Give the block's state and the sensors' reports at one time.

        Args:
            seconds: time since the start of the stretch (s).

        Returns:
            Modal amplitudes (K), shape (modes,), and reports (K), shape (probes,).
        """
        state = self.block.after(self.state, self.steady, seconds)
        return state, self.reports(np.array([seconds]))[0]


def first_time(margin: Callable[[Array], Array], times: Array) -> float | None:
    """Find when a margin first becomes zero or positive.

    Args:
        margin: the margin at given times (s), shape (times,) in and out.
        times: ascending times that are fine enough to see the margin change sign (s).

    Returns:
        The time (s), or None if the margin stays negative at all of them. Between two of the given
        times it is narrowed to 1/16 of the step and then taken on a straight line.

    Validity: a margin that changes sign at most once between two neighbours of the given times.
    Source: bracketing and the rule of false position, any text on numerical methods; our own steps.
    """
    values = margin(times)
    reached = values >= 0.0
    first = int(reached.argmax())
    if not reached[first]:
        return None
    if first == 0:
        return float(times[0])
    low, high = float(times[first - 1]), float(times[first])
    ends = values[first - 1], values[first]
    times = low + (high - low) * FRACTIONS
    values = margin(times)
    # Both ends are known; only rounding could deny them.
    values[0], values[-1] = ends
    first = int((values >= 0.0).argmax())
    below, above = -float(values[first - 1]), float(values[first])
    low, high = float(times[first - 1]), float(times[first])
    return low + (high - low) * (below / (below + above) if below + above > 0.0 else 1.0)
