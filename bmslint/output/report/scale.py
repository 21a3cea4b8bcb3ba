"""What every drawing needs: a scale from values to places, round steps along it, labels kept apart."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, log10
from typing import NamedTuple


class Scale(NamedTuple):
    """A straight scale: values from `low` to `high` lie between the places `start` and `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Give the place of a value, no further than the ends of the scale.

        Args:
            value: in the scale's unit.

        Returns:
            Its place in the drawing.
        """
        share = (value - self.low) / (self.high - self.low)
        return self.start + (self.end - self.start) * min(max(share, 0.0), 1.0)


def round_steps(low: float, high: float, most: int) -> list[float]:
    """Give round values to mark along a scale.

    Args:
        low: least value, below `high`.
        high: largest value.
        most: how many steps there may be, at least 1.

    Returns:
        Multiples of 1, 2 or 5 times a power of ten between both, ascending.
    """
    rough = (high - low) / most
    size = 10.0 ** floor(log10(rough))
    step = next(size * part for part in (1.0, 2.0, 5.0, 10.0) if size * part >= rough * (1 - 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(each * step, 10) + 0.0 for each in range(first, last + 1)]


def widened(low: float, high: float, most: int) -> tuple[float, float]:
    """Widen a span to round ends.

    Args:
        low: least value.
        high: largest value, at or above `low`.
        most: how many round steps there may be.

    Returns:
        The ends, apart by at least a step.
    """
    if high - low < 1e-9:
        low, high = low - 0.5, high + 0.5
    steps = round_steps(low, high, most)
    step = steps[1] - steps[0] if len(steps) > 1 else high - low
    return round(floor(low / step + 1e-9) * step, 10) + 0.0, round(ceil(high / step - 1e-9) * step, 10) + 0.0


def spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Move labels so that none covers another.

    Args:
        places: where each label belongs, ascending.
        apart: least distance between two labels.
        low: least place.
        high: largest place; there is room for all labels between both.

    Returns:
        A place for each, ascending, as near to its own as the others let it be.
    """
    # Neighbours that are too close move as one group around the middle of where they belong.
    groups: list[list[float]] = []
    for place in places:
        groups.append([place])
        while len(groups) > 1 and _first(groups[-1], apart, low, high) < (
            _first(groups[-2], apart, low, high) + apart * len(groups[-2])
        ):
            last = groups.pop()
            groups[-1] += last
    return [_first(group, apart, low, high) + apart * i for group in groups for i in range(len(group))]


def _first(group: Sequence[float], apart: float, low: float, high: float) -> float:
    length = apart * (len(group) - 1)
    middle = sum(group) / len(group)
    return min(max(middle - length / 2, low), high - length)
