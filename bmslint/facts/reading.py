"""What sensors read in several runs at once; all runs have the same sensors, each with its own errors."""

from collections.abc import Mapping, Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray

from bmslint.facts.inputs import Side
from bmslint.facts.sensors import ZERO_K, Deciding
from bmslint.physics.axis import Array


class Reading:
    """The reading that decides an entry of the settings, in several runs at once.

    Args:
        groups: for each run the sensors that decide and how they are combined; they differ in their
            errors alone.
        sides: for each run the end of its range that a reading takes.
        columns: which of the reports is of which sensor, by name.
        start_degC: temperature that the reports count from (degC), shape (runs,).
    """

    def __init__(
        self, groups: Sequence[Deciding], sides: Sequence[Side], columns: Mapping[str, int], start_degC: Array
    ) -> None:
        sensors = groups[0].sensors
        self._by = groups[0].by
        numbers = [columns[sensor.name] for sensor in sensors]
        first, count = numbers[0], len(numbers)
        # A view of neighbours is quicker than a copy of any.
        together = numbers == list(range(first, first + count))
        self._columns = slice(first, first + count) if together else np.array(numbers)
        self._start = start_degC[:, None]
        self._off = np.array(
            [
                [each.offset_K(side) for each in group.sensors]
                for group, side in zip(groups, sides, strict=True)
            ]
        )[..., None]
        self._shift = self._off + start_degC[:, None, None]
        self._curved = [
            (number, sensor.name, *sensor.line) for number, sensor in enumerate(sensors) if sensor.line
        ]
        self._alone = count == 1

    def __call__(self, reports: Array) -> Array:
        """Read.

        Args:
            reports: what the sensors report (K above the start), shape (runs, sensors or more, times).

        Returns:
            The reading that decides (degC), shape (runs, times).

        Raises:
            ValueError: the curve that a sensor is read with has no such temperature.
        """
        seen = reports[:, self._columns]
        readings: Array = seen + self._shift
        for number, name, intercept, slope in self._curved:
            true = seen[:, number] + self._start
            inverse = intercept + slope / (true + ZERO_K)
            if inverse.min() <= 0.0:
                raise ValueError(f"the curve that sensor {name} is read with has no such temperature")
            readings[:, number] = 1.0 / inverse - ZERO_K + self._off[:, number]
        if self._alone:
            return readings[:, 0]
        if self._by == "mean":
            result: Array = readings.mean(axis=1)
        else:
            result = readings.min(axis=1) if self._by == "lowest" else readings.max(axis=1)
        return result

    def picked(self, numbers: NDArray[np.int64]) -> "Reading":
        """Give the reading of some of the runs."""
        twin = copy(self)
        twin._start, twin._off, twin._shift = self._start[numbers], self._off[numbers], self._shift[numbers]
        return twin
