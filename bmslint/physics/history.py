"""Temperatures over a stretch of time in which nothing is switched, as sensors with a lag report them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bmslint.physics.conduction import Array, Block

# How close a rate may come to the inverse of a sensor's lag before the lag counts as this much different:
# the response of a lag to its own rate is a limit, and 1e-6 of it is far below any reading.
RESONANCE = 1e-6
# A mode that adds less than this to every sensor (K) is not summed.
UNSEEN_K = 1e-6


@dataclass(frozen=True)
class Probe:
    """A place whose temperature is linear in the block's state and in what drives it.

    Args:
        row: weights over the block's modes, shape (modes,).
        offsets: rise of the place itself by each named drive at unit strength (K), such as a film's own.
        lag_s: time constant of the first-order lag of the sensor (s); 0 is none.
    """

    row: Array
    offsets: Mapping[str, float]
    lag_s: float


class Segment:
    """A stretch under constant drives, begun from a state of the block and of the sensors.

    Args:
        block: the block.
        probes: the sensors.
        state: modal amplitudes at the start (K), shape (modes,).
        lagged: what the sensors report at the start (K), shape (probes,).
        strengths: strength of each named drive during the stretch.

    The lag is solved with the modes, so a report is exact for any time.
    """

    def __init__(
        self,
        block: Block,
        probes: Sequence[Probe],
        state: Array,
        lagged: Array,
        strengths: Mapping[str, float],
    ) -> None:
        self.block = block
        self.state = state
        self.strengths = strengths
        self.steady = block.steady(strengths)
        offsets = np.array(
            [
                sum(value * strengths.get(name, 0.0) for name, value in probe.offsets.items())
                for probe in probes
            ]
        )
        rows = np.array([probe.row for probe in probes])
        falling = rows * (state - self.steady)
        lags = np.array([probe.lag_s for probe in probes])
        gap = 1.0 - np.outer(lags, block.rates)
        near = np.abs(gap) < RESONANCE
        gap[near] = np.where(gap[near] < 0.0, -RESONANCE, RESONANCE)
        self._settled = rows @ self.steady + offsets
        self._own = lagged - self._settled - (falling / gap).sum(axis=1)
        self._own[lags <= 0.0] = 0.0
        self._decay = 1.0 / np.maximum(lags, 1e-9)
        seen = np.abs(falling / gap).max(axis=0) > UNSEEN_K / np.sqrt(block.modes)
        self._rates = block.rates[seen]
        self._falling = (falling / gap)[:, seen].T

    def reports(self, seconds: Array) -> Array:
        """Give what each sensor reports.

        Args:
            seconds: times since the start of the stretch (s), shape (times,).

        Returns:
            Reports (K), shape (times, probes).
        """
        bodies = np.exp(-np.multiply.outer(seconds, self._rates)) @ self._falling
        own = self._own * np.exp(-np.multiply.outer(seconds, self._decay))
        result: Array = self._settled + bodies + own
        return result

    def states(self, seconds: Array | float) -> Array:
        """Give the block's state at times since the start (s); shape (modes,) or (times, modes)."""
        return self.block.after(self.state, self.steady, seconds)


def first_time(margin: Callable[[Array], Array], times: Array, within_s: float = 0.01) -> float | None:
    """Find when a margin first becomes zero or positive.

    Args:
        margin: the margin at given times (s), shape (times,) in and out.
        times: ascending times that are fine enough to see the margin change sign (s).
        within_s: width to which the time is narrowed (s).

    Returns:
        The time (s), or None if the margin stays negative at all of them.
    """
    hits = np.flatnonzero(margin(times) >= 0.0)
    if not hits.size:
        return None
    if hits[0] == 0:
        return float(times[0])
    low, high = float(times[hits[0] - 1]), float(times[hits[0]])
    while high - low > within_s:
        inner = np.linspace(low, high, 18)
        reached = margin(inner) >= 0.0
        # The end is known to be reached; only rounding could deny it.
        reached[-1] = True
        first = max(int(np.argmax(reached)), 1)
        low, high = float(inner[first - 1]), float(inner[first])
    return high
