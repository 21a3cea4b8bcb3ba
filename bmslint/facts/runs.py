"""Runs of packs under their own settings, all at once: heater, sensors and surroundings between two switches.

The runs are the first axis of every array. Between two switches of a run nothing changes in it, so each
stretch is exact.

Validity: a reading within 1 mK of a threshold has reached it.
Source: the exact solution in `physics.history` between switches; our own.
"""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from bmslint.facts.inputs import LackingError
from bmslint.facts.pack import Corner
from bmslint.facts.reading import Reading
from bmslint.facts.scene import Heater, Scene
from bmslint.facts.sensors import Deciding
from bmslint.physics.axis import Array
from bmslint.physics.conduction import INSIDE
from bmslint.physics.history import Left, Probes, Segment

Flags = NDArray[np.bool_]

# After this many switches of the heater a run is followed no further, and nothing is said of its end.
MOST_SWITCHES = 200
# A reading this close to a threshold has reached it (K); far below what any sensor resolves.
REACHED_K = 1e-3
# This close to its time limit a heater has reached it (s).
REACHED_S = 0.02
# Why a heater ended for good, by number.
ENDS = ("", "the heater's cut-out opens", "the heater's time limit ends")


@dataclass(frozen=True)
class Stretch:
    """One stretch of the runs: its start and length (s), whether it was heated, its exact solution, and the
    coldest point at its end (degC)."""

    start_s: Array
    length_s: Array
    heated: Flags
    segment: Segment
    coldest_degC: Array


class Runs:
    """Runs of packs that are cut alike and have the same sensors, continued from switch to switch.

    Args:
        cases: for each run what it needs, and the corner of the ranges that it is run at.
    """

    def __init__(self, cases: Sequence[tuple[Scene, Corner]]) -> None:
        self.cases = cases
        self._read_settings()
        self._place_sensors(self._take_heaters())
        count = len(cases)
        self.time_s = np.zeros(count)
        self.state = self.block.rest()
        self.lagged = self.probes.rest()
        self.inside_W_per_m3 = np.zeros(count)
        self.heating = np.zeros(count, bool)
        self.heated_s = np.zeros(count)
        self.switches = np.zeros(count, np.int64)
        self.ended = np.zeros(count, np.int64)
        self.film_max_degC = self.skin_max_degC = self.start_degC
        self.stretches: list[Stretch] = []

    def _read_settings(self) -> None:
        """Line up the thresholds and surroundings of the runs."""
        scenes = [scene for scene, _ in self.cases]
        self.horizon_s = np.array([scene.horizon_s for scene in scenes])
        self.start_degC = np.array([scene.around.start_degC for scene in scenes])
        self._air_K = np.array([scene.around.air_degC for scene in scenes]) - self.start_degC
        self._floor_K = np.array([scene.around.floor_degC for scene in scenes]) - self.start_degC
        self.inhibit_degC = np.array([scene.release.inhibit_below_degC for scene in scenes])
        self.above_degC = np.array([scene.release.release_above_degC for scene in scenes])
        self.wait_s = np.array([scene.release.wait_s for scene in scenes])

    def _take_heaters(self) -> list[Deciding]:
        """Line up the heaters' settings, and give the sensors that each goes by; none if no run has one."""
        found = [None if scene.heater is None else scene.heater(corner) for scene, corner in self.cases]
        given = next((heater for heater in found if heater is not None), None)
        # Nothing ever switches on the heater of a run that has none.
        sensors = Deciding("", (), "lowest") if given is None else given.deciding
        idle = Heater(sensors, -inf, inf, 0.0, inf, inf)
        heaters = [idle if heater is None else heater for heater in found]
        self.heated = given is not None
        self._film_W_per_m2 = np.array([heater.film_W_per_m2 for heater in heaters])
        self._on_degC = np.array([heater.on_below_degC for heater in heaters])
        self._off_degC = np.array([heater.off_above_degC for heater in heaters])
        self._most_s = np.array([heater.most_on_s for heater in heaters])
        self._cutout_degC = np.array([heater.cutout_degC for heater in heaters])
        return [heater.deciding for heater in heaters] if self.heated else []

    def _place_sensors(self, heaters: list[Deciding]) -> None:
        """Place every sensor that decides something, and what else is watched, on the blocks."""
        scenes = [scene for scene, _ in self.cases]
        releases = [scene.release.deciding for scene in scenes]
        currents = [
            scene.current.deciding
            for scene in scenes
            if not isinstance(scene.current, LackingError) and scene.current.deciding is not None
        ]
        groups = [releases, *(found for found in (heaters, currents) if found)]
        sensors = {sensor.name: sensor for group in groups for sensor in group[0].sensors}
        shelf, places = scenes[0].shelf, [(scene.pack, corner) for scene, corner in self.cases]
        self.block = shelf.block(places)
        probes = shelf.probes(places, [scene.lag for scene in scenes], list(sensors.values()))
        probes += shelf.places(places, self.heated)
        self.probes = Probes(probes, self.block)
        self.looks = Left.looks(self.probes, float(self.horizon_s.max()))
        # The sensors stand first, then with a heater the film and the skin under it, then the coldest places.
        self._film = len(sensors)
        self.watched = self._film + 2 * self.heated
        self._columns = {name: number for number, name in enumerate(sensors)}
        readings = {(group[0].names, group[0].by): self.reading(group) for group in groups}
        self.release, *others = (readings[group[0].names, group[0].by] for group in groups)
        self.heater = others[0] if heaters else self.release
        self.current = others[-1] if currents else self.release
        # The same reports are asked by heater, release and current steps, often for the same sensors.
        self._asked: Array | None = None
        self._answers: dict[Reading, Array] = {}

    def reading(self, groups: Sequence[Deciding]) -> Reading:
        """Give what sensors of the runs read together, by their groups in each run."""
        sides = [corner.reading for _, corner in self.cases]
        return Reading(groups, sides, self._columns, self.start_degC)

    def copy(self) -> "Runs":
        """Branch the runs at this instant."""
        twin = copy(self)
        twin.stretches = list(self.stretches)
        twin._asked, twin._answers = None, {}
        return twin

    def picked(self, numbers: NDArray[np.int64]) -> "Runs":
        """Branch some of the runs at this instant, without what they came through."""
        twin = self.copy()
        twin.stretches = []
        twin.cases = [self.cases[number] for number in numbers]
        for name in self._arrays():
            setattr(twin, name, getattr(self, name)[numbers])
        twin.block, twin.probes = self.block.picked(numbers), self.probes.picked(numbers)
        twin.looks = self.looks.picked(numbers)
        readings = {each: each.picked(numbers) for each in {self.release, self.heater, self.current}}
        twin.release, twin.heater = readings[self.release], readings[self.heater]
        twin.current = readings[self.current]
        return twin

    def put(self, numbers: NDArray[np.int64], part: "Runs") -> None:
        """Bring runs that were picked to where they have come since, without what they came through."""
        for name in self._arrays():
            values = getattr(self, name).copy()
            values[numbers] = getattr(part, name)
            setattr(self, name, values)

    def _arrays(self) -> list[str]:
        """Name whatever has the runs as its first axis."""
        return [
            name for name, value in vars(self).items() if isinstance(value, np.ndarray) and name != "_asked"
        ]

    @property
    def chatters(self) -> Flags:
        """Whether the heater switched more often than a run is followed."""
        return self.switches > MOST_SWITCHES

    def segment(self) -> Segment:
        """Begin a stretch from here."""
        strengths = {"air": self._air_K, "floor": self._floor_K, INSIDE: self.inside_W_per_m3}
        if self.heated:
            strengths["heater"] = np.where(self.heating, self._film_W_per_m2, 0.0)
        return Segment(self.block, self.probes, self.state, self.lagged, strengths)

    def decided(self, reading: Reading, reports: Array) -> Array:
        """Give a reading (degC), shape (runs, times), from reports (K above the start)."""
        if reports is not self._asked:
            self._asked, self._answers = reports, {}
        answer = self._answers.get(reading)
        if answer is None:
            answer = self._answers[reading] = reading(reports)
        return answer

    def now_degC(self, reading: Reading) -> Array:
        """Give a reading now (degC), shape (runs,)."""
        return reading(self.lagged[..., None])[:, 0]

    def film_degC(self) -> Array:
        """Give the film's temperature now (degC), shape (runs,)."""
        result: Array = self.lagged[:, self._film] + self.start_degC
        return result

    def skin(self, reports: Array) -> Array:
        """Give the cell's surface under the film (degC), (runs, times), from reports (K above the start)."""
        result: Array = reports[:, self._film + 1] + self.start_degC[:, None]
        return result

    def skin_degC(self) -> Array:
        """Give the cell's surface under the film now (degC), shape (runs,)."""
        return self.skin(self.lagged[..., None])[:, 0]

    def coldest(self, reports: Array) -> Array:
        """Give the coldest place in any cell (degC), (runs, times), from reports (K above the start)."""
        result: Array = reports[:, self.watched :].min(axis=1) + self.start_degC[:, None]
        return result

    def coldest_degC(self) -> Array:
        """Give the coldest place in any cell now (degC), shape (runs,)."""
        return self.coldest(self.lagged[..., None])[:, 0]

    def switch_heater(self, which: Flags) -> None:
        """Let the heater's own thresholds act on the reading now, in some of the runs."""
        if not self.heated:
            return
        reading = self.now_degC(self.heater)
        below = np.where(self.heating, self._off_degC - REACHED_K, self._on_degC + REACHED_K)
        # At its threshold a heater goes on, and goes off.
        wanted = np.where(self.heating, reading < below, reading <= below)
        changed = which & (wanted != self.heating)
        self.heating = self.heating ^ changed
        self.switches = self.switches + changed

    def heater_margin(self, other: Array, reports: Array, seconds: Array) -> Array:
        """Give how close a run is to its heater's next switch or to something else; zero or more is reached.

        Args:
            other: how close the other is, shape (runs, times).
            reports: what is reported (K above the start), shape (runs, probes, times).
            seconds: times since the start of the stretch (s), shape (runs, times).

        Returns:
            The nearer of both, in K or s, shape (runs, times).
        """
        if not self.heated:
            return other
        reading = self.decided(self.heater, reports)
        film = reports[:, self._film] + self.start_degC[:, None]
        limit = seconds + (self.heated_s - self._most_s)[:, None]
        ends = np.maximum(film - self._cutout_degC[:, None], limit)
        off = np.maximum(reading - self._off_degC[:, None], ends)
        on = self._on_degC[:, None] - reading
        return np.maximum(other, np.where(self.heating[:, None], off, on))

    def go(self, segment: Segment, seconds: Array, going: Flags) -> None:
        """Advance along a stretch, and note it; a run that does not go on advances by 0 s."""
        started, heated = self.time_s, self.heating & going
        self.state, lagged = segment.end(seconds)
        segment.forget()
        # Of a run that does not go on nothing is reported anew, whatever would drive it on.
        self.lagged = np.where(going[:, None], lagged, self.lagged)
        self.time_s = self.time_s + seconds
        self.stretches.append(Stretch(started, seconds, self.heating, segment, self.coldest_degC()))
        if not heated.any():
            return
        # Under a film everything rises until it is switched off, so its end is its hottest.
        film = self.film_degC()
        self.film_max_degC = np.where(heated, np.maximum(self.film_max_degC, film), self.film_max_degC)
        skin = np.maximum(self.skin_max_degC, self.skin_degC())
        self.skin_max_degC = np.where(heated, skin, self.skin_max_degC)
        self.heated_s = self.heated_s + np.where(heated, seconds, 0.0)
        # Its cut-out or its time limit end the heating for good.
        opens = heated & (film >= self._cutout_degC - REACHED_K)
        ends = opens | (heated & (self.heated_s >= self._most_s - REACHED_S))
        if ends.any():
            self.ended = np.where(opens, 1, np.where(ends, 2, self.ended))
            self._on_degC = np.where(ends, -inf, self._on_degC)
            self.heating = self.heating & ~ends
            self.switches = self.switches + ends
