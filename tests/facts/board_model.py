"""A protection board stepped through time: comparators on what it measures, and a timer for each level.

Written for the tests from what a level is, a threshold and a delay; knows nothing of errors that add up, of
orders of levels or of which is lowest.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Level:
    """Trips once the measured amount has been above `above` for `delay_s` on end."""

    above: float
    delay_s: float


def trips_at_s(
    levels: Sequence[Level],
    true: Callable[[float], float],
    measured: Callable[[float], float],
    lasts_s: float,
    step_s: float,
) -> tuple[float, int] | None:
    """Step the board through a course of the true amount.

    Args:
        levels: the levels in any order.
        true: the true amount over time (s).
        measured: what the board makes of it.
        lasts_s: how long to look.
        step_s: the board's own step.

    Returns:
        When it trips (s), and by which level; None if it does not. A timer that runs out together with the
        course has run out.
    """
    waited = np.zeros(len(levels))
    for number in range(round(lasts_s / step_s)):
        amount = measured(true(number * step_s))
        for index, level in enumerate(levels):
            waited[index] = waited[index] + step_s if amount > level.above else 0.0
            if amount > level.above and waited[index] >= level.delay_s - 1e-9:
                return (number + 1) * step_s, index
    return None
