"""Hot packs under a lasting current, several runs at once: where they would settle, and their course in time.

The runs are the first axis of every array.

Validity: the heat is a straight line over temperature within each stretch of 12 K.
Source: the exact solution in `physics.history`, stretch by stretch; our own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bmslint.facts.inputs import LackingError
from bmslint.facts.joule import axis_rise_K, balance
from bmslint.facts.pack import Corner
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import SETTLED, Watched
from bmslint.physics.axis import Array
from bmslint.physics.history import Left, Margin, Probe, Probes, Segment

if TYPE_CHECKING:
    from bmslint.facts.hot import Scene

Flags = NDArray[np.bool_]

# Rise of the mean (K) after which the heat's line over temperature is drawn anew.
SPAN_K = 12.0
# Rise of a reading (K) after which a current that follows it without steps is taken anew.
SLOPE_K = 2.0
# A reading this close to a threshold has reached it (K); far below what any sensor resolves.
REACHED_K = 0.01
MOST_STRETCHES = 60


@dataclass
class Course:
    """What came of the runs: when they were stopped and how hot they were then, and over one full charge.

    Times are nan where it never came so far; every array has shape (runs,).
    """

    trip_s: Array
    hottest_at_trip_degC: Array
    reading_at_trip_degC: Array
    full_s: Array
    trips_in_full: Flags
    hottest_in_full_degC: Array


class HotRuns:
    """The hot runs of a scene at some corners."""

    def __init__(self, scene: "Scene", corners: Sequence[Corner], shelf: Shelf) -> None:
        cases = [(scene.pack, corner) for corner in corners]
        self.scene, self.corners = scene, corners
        self._sides = [corner.resistance for corner in corners]
        self.watched = Watched(cases, shelf, scene.lag, scene.groups(), scene.start_degC)
        self.block = self.watched.block
        self.unit = self.block.steady({"inside": 1.0})
        self.mean_gain = self.block.mean(self.unit)
        self.gains = self.watched.settled({"inside": 1.0})

    def reading(self, rises_K: Array) -> Array:
        """Give the reading that may stop each run (degC), shape (runs,), for rises (K), (runs, sensors)."""
        trip = self.scene.trip
        assert not isinstance(trip, LackingError)
        return self.watched.decided(trip, rises_K[..., None])[:, 0]

    def currents_A(self, rises_K: Array, ahead_K: float) -> Array:
        """Give the current that flows (A) once the readings rose by a little more (K).

        Args:
            rises_K: of the sensors (K), shape (runs, sensors, times).
            ahead_K: how much more the readings rise (K).

        Returns:
            Current (A), shape (runs, times).
        """
        charge, shape = self.scene.charge, (len(self.corners), rises_K.shape[-1])
        if charge is None:
            return np.full(shape, self.scene.constant_A)
        if charge.deciding is None:
            return np.full(shape, charge.most_A)
        return charge.at(self.watched.decided(charge.deciding, rises_K) + ahead_K)

    def heat_W_per_m3(self, amount_A: Array, mean_K: Array) -> Array:
        """Give the heat (W/m3) of a current (A) at a mean rise (K), each (runs,) or (runs, times)."""
        shape = mean_K.shape
        amounts, means = amount_A.reshape(shape[0], -1), mean_K.reshape(shape[0], -1)
        heats = self.scene.joule.W_per_m3(amounts, self.scene.start_degC + means, self._sides)
        return heats.reshape(shape)

    def settles_at(self) -> Array:
        """Give the heat (W/m3) at which packs that nothing stops would settle, shape (runs,)."""
        charge = self.scene.charge
        most_A = self.scene.constant_A
        if charge is not None:
            stepped_A = max((row["max_A"] for row in charge.steps), default=inf)
            most_A = min(charge.most_A, stepped_A + charge.free_A)
        count = len(self.corners)
        flows = np.minimum(self.currents_A(np.zeros((*self.gains.shape, 1)), 0.0)[:, 0], most_A) > 0.0
        if not flows.any():
            return np.zeros(count)

        def makes(heats: Array) -> Array:
            amounts = self.currents_A(self.gains[..., None] * heats[:, None], 0.0)
            return self.heat_W_per_m3(amounts, heats * self.mean_gain[:, None])

        most = self.heat_W_per_m3(np.full(count, most_A), np.zeros(count))
        return np.where(flows, balance(makes, most), 0.0)

    def hottest_degC(self, states: Array, heats_W_per_m3: Array) -> Array:
        """Give the hottest point inside any cell (degC), shape (runs,).

        Args:
            states: modal amplitudes (K), shape (runs, modes).
            heats_W_per_m3: heat made then (W/m3), shape (runs,).
        """
        pairs = zip(heats_W_per_m3.tolist(), self.corners, strict=True)
        rises = [axis_rise_K(self.scene.pack, heat, corner.through) for heat, corner in pairs]
        warmest = self.block.field(states).reshape(len(rises), -1).max(axis=1)
        result: Array = warmest + self.scene.start_degC + np.array(rises)
        return result

    def follow(self, trips: Flags, settled_K: Array) -> Course:
        """Follow the runs in time to where they are stopped, and over one full charge.

        Args:
            trips: whether the sensors stop it some time, shape (runs,).
            settled_K: mean rise at which it would settle (K), shape (runs,).

        Returns:
            The course; only the full charge where nothing stops a run.
        """
        scene, count = self.scene, len(trips)
        start, never = np.full(count, scene.start_degC), np.full(count, np.nan)
        course = Course(never, start, start, never, np.zeros(count, bool), start)
        capacity = inf if isinstance(scene.capacity_Ah, LackingError) else scene.capacity_Ah
        watched = Probes([*self.watched.probes, Probe(self.block.mean_row, {}, 0.0)], self.block)
        state, lagged = self.block.rest(), watched.rest()
        passed_Ah, time_s, going = np.zeros(count), np.zeros(count), np.ones(count, bool)
        for _ in range(MOST_STRETCHES):
            amount = self.currents_A(lagged[:, :-1, None], REACHED_K)[:, 0]
            going = going & (amount > 0.0) & (np.isnan(course.full_s) | trips)
            if not going.any():
                break
            start_K = lagged[:, -1]
            span = np.minimum(SPAN_K, np.maximum(settled_K - start_K, 0.0) + 1.0)
            low = scene.start_degC + start_K
            heat, fall = scene.joule.line(amount, low, low + span, self._sides)
            block = self.block.varied(1.0, fall / self.block.heat_J_per_m3K)
            probes = watched.on(block)
            segment = Segment(block, probes, state, lagged, {"inside": heat + fall * start_K})
            filling = going & np.isnan(course.full_s)
            left = np.where(filling, (capacity - passed_Ah) / np.where(going, amount, 1.0) * 3600.0, inf)
            until = np.minimum(SETTLED / block.rates.min(axis=-1), np.where(trips, inf, left))
            until = np.where(going, until, 0.0)
            looks = Left.looks(probes, float(until.max())).ending(probes, until)
            found = segment.first(self._margins(lagged, start_K + span, trips), looks)
            length = found.seconds
            fills = going & (left <= length)
            if fills.any():
                there, reports = segment.end(np.where(fills, left, 0.0))
                hottest = self.hottest_degC(there, self.heat_W_per_m3(amount, reports[:, -1]))
                course.full_s = np.where(fills, time_s + left, course.full_s)
                course.hottest_in_full_degC = np.where(
                    fills, np.maximum(course.hottest_in_full_degC, hottest), course.hottest_in_full_degC
                )
            state, lagged = segment.end(length)
            time_s, passed_Ah = time_s + length, passed_Ah + np.where(going, amount * length / 3600.0, 0.0)
            made = self.heat_W_per_m3(amount, lagged[:, -1])
            filling = filling & ~fills
            if filling.any():
                hottest = np.maximum(course.hottest_in_full_degC, self.hottest_degC(state, made))
                course.hottest_in_full_degC = np.where(filling, hottest, course.hottest_in_full_degC)
            stops = going & trips
            if stops.any():
                stops = stops & (self.reading(lagged[:, :-1]) >= scene.trip_degC - REACHED_K)
            if stops.any():
                there, reports = segment.end(np.where(stops, length + scene.delay_s, 0.0))
                self._stop(course, stops, there, reports, time_s, made)
            going = going & ~stops & found.reached
        return course

    def _margins(self, lagged: Array, mean_K: Array, trips: Flags) -> Margin:
        """Give how close reports are to what ends a stretch; zero or more is reached."""
        scene, charge = self.scene, self.scene.charge
        follows = charge.deciding if charge is not None else None
        bound = np.full((len(trips), 1), inf)
        if charge is not None and follows is not None:
            now = self.watched.decided(follows, lagged[:, :-1, None])
            for row in charge.steps:
                ahead = row["from_degC"] > now + REACHED_K
                bound = np.where(ahead, np.minimum(bound, row["from_degC"]), bound)
            bound = np.minimum(bound, now + (SLOPE_K if charge.linear else inf))
        never = np.where(trips, 0.0, -inf)[:, None]

        def margins(reports: Array, _: Array) -> Array:
            true = reports[:, :-1]
            near = reports[:, -1] - mean_K[:, None]
            if trips.any() and not isinstance(scene.trip, LackingError):
                near = np.maximum(near, self.watched.decided(scene.trip, true) - scene.trip_degC + never)
            if follows is not None:
                near = np.maximum(near, self.watched.decided(follows, true) - bound)
            return near

        return margins

    def _stop(
        self, course: Course, stops: Flags, states: Array, reports: Array, time_s: Array, made: Array
    ) -> None:
        """Note the state in which the sensors stop runs, and the delay has passed."""
        hottest = self.hottest_degC(states, made)
        course.trip_s = np.where(stops, time_s + self.scene.delay_s, course.trip_s)
        course.hottest_at_trip_degC = np.where(stops, hottest, course.hottest_at_trip_degC)
        reading = self.reading(reports[:, :-1])
        course.reading_at_trip_degC = np.where(stops, reading, course.reading_at_trip_degC)
        within = stops & np.isnan(course.full_s)
        course.trips_in_full = course.trips_in_full | within
        course.hottest_in_full_degC = np.where(within, hottest, course.hottest_in_full_degC)
