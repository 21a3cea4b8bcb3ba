"""The run of a hot pack under a lasting current: where it would settle, and its course in time.

Validity: the heat is a straight line over temperature within each stretch of 12 K.
Source: the exact solution in `physics.history`, stretch by stretch; our own.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from bmslint.facts.inputs import LackingError
from bmslint.facts.joule import axis_rise_K, balance
from bmslint.facts.loop import looks
from bmslint.facts.pack import Corner
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import SETTLED, Watched
from bmslint.physics.conduction import Array
from bmslint.physics.history import Probe, Probes, Segment, first_time

if TYPE_CHECKING:
    from bmslint.facts.hot import Scene

Margins = Callable[[Array], Array]

# Rise of the mean (K) after which the heat's line over temperature is drawn anew.
SPAN_K = 12.0
# Rise of a reading (K) after which a current that follows it without steps is taken anew.
SLOPE_K = 2.0
# A reading this close to a threshold has reached it (K); far below what any sensor resolves.
REACHED_K = 0.01
MOST_STRETCHES = 60


@dataclass
class Course:
    """What came of a run: when it was stopped and how hot it was then, and over one full charge."""

    trip_s: float | None = None
    hottest_at_trip_degC: float = 0.0
    reading_at_trip_degC: float = 0.0
    full_s: float | None = None
    trips_in_full: bool = False
    hottest_in_full_degC: float = 0.0


class Run:
    """One hot run at a corner."""

    def __init__(self, scene: "Scene", corner: Corner, shelf: Shelf) -> None:
        self.scene, self.corner = scene, corner
        self.watched = Watched(scene.pack, shelf, corner, scene.lag, scene.groups())
        self.block = self.watched.block
        self.unit = self.block.steady({"inside": 1.0})
        self.mean_gain = self.block.mean(self.unit)
        self.gains = self.watched.settled({"inside": 1.0})

    def reading(self, rises_K: Array) -> float:
        """Give the reading that may stop the run (degC) for the sensors' rises (K), shape (sensors,)."""
        trip = self.scene.trip
        assert not isinstance(trip, LackingError)
        return float(self.watched.decided(trip, rises_K[None] + self.scene.start_degC)[0])

    def current_A(self, rises_K: Array, ahead_K: float) -> float:
        """Give the current that flows (A) once the readings rose by a little more (K)."""
        return float(self._currents_A(rises_K[None], ahead_K)[0])

    def _currents_A(self, rises_K: Array, ahead_K: float) -> Array:
        """Give the current (A), shape (times,), for rises (K), shape (times, sensors)."""
        charge = self.scene.charge
        if charge is None:
            return np.full(len(rises_K), self.scene.constant_A)
        if charge.deciding is None:
            return np.full(len(rises_K), charge.most_A)
        return charge.at(self.watched.decided(charge.deciding, rises_K + self.scene.start_degC) + ahead_K)

    def heat_W_per_m3(self, amount_A: float, mean_K: float) -> float:
        """Give the heat of a current at a mean rise (K)."""
        return self.scene.joule.W_per_m3(amount_A, self.scene.start_degC + mean_K, self.corner.resistance)

    def settles_at(self) -> float:
        """Give the heat (W/m3) at which a pack that nothing stops would settle."""
        charge = self.scene.charge
        most_A = self.scene.constant_A
        if charge is not None:
            stepped_A = max((row["max_A"] for row in charge.steps), default=inf)
            most_A = min(charge.most_A, stepped_A + charge.free_A)
        if min(most_A, self.current_A(0.0 * self.gains, 0.0)) <= 0.0:
            return 0.0

        def makes(heats: Array) -> Array:
            amounts = self._currents_A(np.multiply.outer(heats, self.gains), 0.0)
            means = heats * self.mean_gain
            pairs = zip(amounts.tolist(), means.tolist(), strict=True)
            return np.array([self.heat_W_per_m3(amount, mean) for amount, mean in pairs])

        return balance(makes, self.heat_W_per_m3(most_A, 0.0))

    def hottest_degC(self, state: Array, heat_W_per_m3: float) -> float:
        """Give the hottest point inside any cell (degC) in a state under a heat (W/m3)."""
        rise = axis_rise_K(self.scene.pack, heat_W_per_m3, self.corner.through)
        return float(self.block.field(state).max()) + self.scene.start_degC + rise

    def follow(self, trips: bool, settled_K: float) -> Course:
        """Follow the run in time to where it is stopped, and over one full charge.

        Args:
            trips: whether the sensors stop it some time.
            settled_K: mean rise at which it would settle (K).

        Returns:
            The course; only the full charge where nothing stops the run.
        """
        scene, course = self.scene, Course(hottest_in_full_degC=self.scene.start_degC)
        capacity = inf if isinstance(scene.capacity_Ah, LackingError) else scene.capacity_Ah
        mean = Probe(self.block.mean_row, {}, 0.0)
        state, lagged = self.block.rest(), np.zeros(len(self.watched.probes) + 1)
        passed_Ah, time_s = 0.0, 0.0
        for _ in range(MOST_STRETCHES):
            amount = self.current_A(lagged[:-1], REACHED_K)
            if amount <= 0.0 or (course.full_s is not None and not trips):
                break
            start_K = float(lagged[-1])
            span = min(SPAN_K, max(settled_K - start_K, 0.0) + 1.0)
            low = scene.start_degC + start_K
            heat, fall = scene.joule.line(amount, low, low + span, self.corner.resistance)
            block = self.block.varied(1.0, fall / self.block.heat_J_per_m3K)
            probes = Probes([*self.watched.probes, mean], block)
            segment = Segment(block, probes, state, lagged, {"inside": heat + fall * start_K})
            ends = self._margins(lagged, start_K + span, trips)
            left = (capacity - passed_Ah) / amount * 3600.0 if course.full_s is None else inf
            times = looks(min(SETTLED / float(block.rates.min()), inf if trips else left))

            def margin(at: Array, segment: Segment = segment, ends: Margins = ends) -> Array:
                return ends(segment.reports(at))

            seconds = first_time(margin, times)
            length = float(times[-1]) if seconds is None else seconds
            if left <= length:
                state, lagged = segment.end(left)
                made = self.heat_W_per_m3(amount, float(lagged[-1]))
                course.full_s = time_s + left
                course.hottest_in_full_degC = max(course.hottest_in_full_degC, self.hottest_degC(state, made))
            state, lagged = segment.end(length)
            time_s, passed_Ah = time_s + length, passed_Ah + amount * length / 3600.0
            made = self.heat_W_per_m3(amount, float(lagged[-1]))
            if course.full_s is None:
                hottest = self.hottest_degC(state, made)
                course.hottest_in_full_degC = max(course.hottest_in_full_degC, hottest)
            if trips and self.reading(lagged[:-1]) >= scene.trip_degC - REACHED_K:
                state, lagged = segment.end(length + scene.delay_s)
                self._stop(course, state, lagged, time_s, made)
                break
            if seconds is None:
                break
        return course

    def _margins(self, lagged: Array, mean_K: float, trips: bool) -> Margins:
        """Give how close reports are to what ends a stretch; zero or more is reached."""
        scene, charge = self.scene, self.scene.charge
        follows = charge.deciding if charge is not None else None
        bound = inf
        if charge is not None and follows is not None:
            now = float(self.watched.decided(follows, lagged[None, :-1] + scene.start_degC)[0])
            starts = [row["from_degC"] for row in charge.steps if row["from_degC"] > now + REACHED_K]
            bound = min(*starts, now + (SLOPE_K if charge.linear else inf), inf, inf)

        def margins(reports: Array) -> Array:
            true = reports[:, :-1] + scene.start_degC
            near = reports[:, -1] - mean_K
            if trips and not isinstance(scene.trip, LackingError):
                near = np.maximum(near, self.watched.decided(scene.trip, true) - scene.trip_degC)
            if follows is not None and bound < inf:
                near = np.maximum(near, self.watched.decided(follows, true) - bound)
            return near

        return margins

    def _stop(self, course: Course, state: Array, lagged: Array, time_s: float, made: float) -> None:
        """Note the state in which the sensors stop the run."""
        course.trip_s = time_s + self.scene.delay_s
        course.hottest_at_trip_degC = self.hottest_degC(state, made)
        course.reading_at_trip_degC = self.reading(lagged[:-1])
        if course.full_s is None:
            course.trips_in_full = True
            course.hottest_in_full_degC = course.hottest_at_trip_degC
