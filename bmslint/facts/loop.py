"""The pack under its own settings: heater, release and charge current, switched by what sensors report.

Between two switches nothing changes, so each stretch is exact; the switches are found on the reports.

Validity: a reading within 1 mK of a threshold has reached it; 200 switches at most are followed.
Source: the exact solution in `physics.history` between switches, and their instants on the reports; our own.
"""

from dataclasses import dataclass, field

import numpy as np

from bmslint.facts.pack import Corner
from bmslint.facts.sensors import Deciding, Sensor
from bmslint.physics.conduction import INSIDE, Array, Block
from bmslint.physics.history import Probes, Segment, first_time

# After this many switches of the heater a run is followed no further, and nothing is said of its end.
MOST_SWITCHES = 200
# Times at which a stretch is looked at before a switch is narrowed down: the first of them (s), and how
# they spread from there to the end, fine at first, where everything moves.
FIRST_LOOK_S, SPREAD = 2.0, np.linspace(0.0, 1.0, 40)
# A reading this close to a threshold has reached it (K); far below what any sensor resolves.
REACHED_K = 1e-3


@dataclass(frozen=True)
class Heater:
    """The heater's own settings: on and off (degC of its readings), film power density, limits."""

    deciding: Deciding
    on_below_degC: float
    off_above_degC: float
    film_W_per_m2: float
    most_on_s: float
    cutout_degC: float


@dataclass(frozen=True)
class Release:
    """When charging is inhibited and released (degC of its readings), and how long the release waits."""

    deciding: Deciding
    inhibit_below_degC: float
    release_above_degC: float
    wait_s: float


@dataclass(frozen=True)
class Surroundings:
    """Where the pack stands: soaked start, then air and floor (degC)."""

    start_degC: float
    air_degC: float
    floor_degC: float


@dataclass
class Stretch:
    """One stretch of a run: when it began, how long it lasted, and its exact solution."""

    start_s: float
    length_s: float
    segment: Segment
    heated: bool


@dataclass
class Loop:
    """One run of the pack, continued from switch to switch.

    Args:
        block: the conduction model.
        probes: one for each sensor, in the order of `sensors`; then, with a heater, the film and the
            skin under it; then the places where the coldest point may be.
        sensors: every sensor that decides something in this run.
        corner: which end of its range a reading takes.
        heater: the heater's settings, or None.
        release: the settings of the charge inhibit.
        around: where the pack stands.
    """

    block: Block
    probes: Probes
    sensors: tuple[Sensor, ...]
    corner: Corner
    heater: Heater | None
    release: Release
    around: Surroundings
    time_s: float = 0.0
    state: Array = field(init=False)
    lagged: Array = field(init=False)
    inside_W_per_m3: float = 0.0
    heating: bool = False
    heated_s: float = 0.0
    switches: int = 0
    ended: str = ""
    film_max_degC: float = field(init=False)
    skin_max_degC: float = field(init=False)
    stretches: list[Stretch] = field(default_factory=list)
    _columns: dict[str, list[int]] = field(default_factory=dict)
    # The same reports are asked by heater, release and current steps, often for the same sensors.
    _asked: Array | None = None
    _answers: dict[tuple[str, str], Array] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.state = self.block.rest()
        self.lagged = np.zeros(self.probes.count)
        self.film_max_degC = self.skin_max_degC = self.around.start_degC

    def copy(self) -> "Loop":
        """Branch the run at this instant."""
        twin = Loop(
            self.block, self.probes, self.sensors, self.corner, self.heater, self.release, self.around
        )
        for name in (
            "time_s", "state", "lagged", "inside_W_per_m3", "heating", "heated_s", "switches", "ended",
        ):  # fmt: skip
            setattr(twin, name, getattr(self, name))
        return twin

    @property
    def chatters(self) -> bool:
        """Whether the heater switched more often than a run is followed."""
        return self.switches > MOST_SWITCHES

    def strengths(self) -> dict[str, float]:
        """Give what drives the block now."""
        return {
            "heater": self.heater.film_W_per_m2 if self.heater and self.heating else 0.0,
            "air": self.around.air_degC - self.around.start_degC,
            "floor": self.around.floor_degC - self.around.start_degC,
            INSIDE: self.inside_W_per_m3,
        }

    def segment(self) -> Segment:
        """Begin a stretch from here."""
        return Segment(self.block, self.probes, self.state, self.lagged, self.strengths())

    def decided(self, deciding: Deciding, reports: Array) -> Array:
        """Give the reading that decides (degC), shape (times,), from reports (K above the start)."""
        if reports is not self._asked:
            self._asked, self._answers = reports, {}
        key = deciding.names, deciding.by
        answer = self._answers.get(key)
        if answer is None:
            columns = self._columns.get(deciding.names)
            if columns is None:
                columns = [self.sensors.index(sensor) for sensor in deciding.sensors]
                self._columns[deciding.names] = columns
            true = reports[:, columns] + self.around.start_degC
            answer = self._answers[key] = deciding.read(true, self.corner.reading)
        return answer

    def reading(self, deciding: Deciding) -> float:
        """Give the reading that decides now (degC)."""
        return float(self.decided(deciding, self.lagged[None])[0])

    def film_degC(self) -> float:
        """Give the film's temperature now (degC)."""
        return float(self.lagged[len(self.sensors)]) + self.around.start_degC

    def skin_degC(self) -> float:
        """Give the temperature of the cell's surface under the film now (degC)."""
        return float(self.lagged[len(self.sensors) + 1]) + self.around.start_degC

    def coldest(self, reports: Array) -> Array:
        """Give the coldest place in any cell (degC), shape (times,), from reports (K above the start)."""
        first = len(self.sensors) + (2 if self.heater else 0)
        result: Array = reports[:, first:].min(axis=1) + self.around.start_degC
        return result

    def switch_heater(self) -> None:
        """Let the heater's own thresholds act on the reading now."""
        if self.heater is None or self.ended:
            return
        heater, reading = self.heater, self.reading(self.heater.deciding)
        if self.heating:
            wanted = reading < heater.off_above_degC - REACHED_K
        else:
            wanted = reading <= heater.on_below_degC + REACHED_K
        if wanted != self.heating:
            self.heating = wanted
            self.switches += 1

    def heater_margin(self, reports: Array, times: Array) -> Array:
        """Give how close the heater is to its next switch; zero or more is reached. Shape (times,)."""
        heater = self.heater
        if heater is None or self.ended:
            return np.full(len(times), -1.0)
        reading = self.decided(heater.deciding, reports)
        if not self.heating:
            return heater.on_below_degC - reading
        film = reports[:, len(self.sensors)] + self.around.start_degC
        ends = np.maximum(film - heater.cutout_degC, times + self.heated_s - heater.most_on_s)
        return np.maximum(reading - heater.off_above_degC, ends)

    def go(self, segment: Segment, seconds: float) -> None:
        """Advance along a stretch, and note it."""
        self.stretches.append(Stretch(self.time_s, seconds, segment, self.heating))
        self.state, self.lagged = segment.end(seconds)
        self.time_s += seconds
        if self.heating:
            # Under a film everything rises until it is switched off, so its end is its hottest.
            self.film_max_degC = max(self.film_max_degC, self.film_degC())
            self.skin_max_degC = max(self.skin_max_degC, self.skin_degC())
            self.heated_s += seconds
            self._end_heating()

    def _end_heating(self) -> None:
        """End the heating for good at its time limit or at the cut-out."""
        heater = self.heater
        if heater is None:
            return
        if self.film_degC() >= heater.cutout_degC - REACHED_K:
            self.ended = "the heater's cut-out opens"
        elif self.heated_s >= heater.most_on_s - 0.02:
            self.ended = "the heater's time limit ends"
        if self.ended:
            self.heating = False
            self.switches += 1


def looks(horizon_s: float) -> Array:
    """Give the times at which a stretch is looked at (s)."""
    first = min(FIRST_LOOK_S, horizon_s / 2)
    result: Array = np.concatenate(([0.0], first * (horizon_s / first) ** SPREAD))
    return result


def until_release(loop: Loop, horizon_s: float) -> bool:
    """Run until charging is released.

    Args:
        loop: the run, advanced in place.
        horizon_s: longest time to wait (s).

    Returns:
        Whether it was released; the run then stands at that instant.
    """
    release = loop.release
    above_since: float | None = None
    if loop.reading(release.deciding) >= release.inhibit_below_degC:
        # A pack that never was inhibited charges from the start.
        return True
    loop.switch_heater()
    while loop.time_s < horizon_s and not loop.chatters:
        segment = loop.segment()
        times = looks(horizon_s - loop.time_s)
        waiting = above_since is not None

        def margin(at: Array, segment: Segment = segment, waiting: bool = waiting) -> Array:
            reports = segment.reports(at)
            reading = loop.decided(release.deciding, reports) - release.release_above_degC
            crossing = -reading - 2 * REACHED_K if waiting else reading
            return np.maximum(crossing, loop.heater_margin(reports, at))

        if above_since is not None:
            left = above_since + release.wait_s - loop.time_s
            times = np.append(times[times < left], left)
        seconds = first_time(margin, times)
        if seconds is None:
            loop.go(segment, float(times[-1]))
            if above_since is not None:
                return True
            break
        loop.go(segment, seconds)
        above = loop.reading(release.deciding) >= release.release_above_degC - REACHED_K
        if above and above_since is None:
            above_since = loop.time_s
        elif not above:
            above_since = None
        if above_since is not None and loop.time_s - above_since >= release.wait_s - 1e-9:
            return True
        loop.switch_heater()
    return False


def until_warm(loop: Loop, least_degC: float, horizon_s: float) -> tuple[float | None, bool]:
    """Run on without charging until the coldest point is warm enough.

    Args:
        loop: the run, advanced in place; best a copy.
        least_degC: temperature that every point must reach (degC).
        horizon_s: time since the start at which to give up (s).

    Returns:
        Time since the start (s), or None if it never is; and whether the deciding reading fell below
        the release again on the way.
    """
    release = loop.release
    fell = False
    while loop.time_s < horizon_s and not loop.chatters:
        segment = loop.segment()
        times = looks(horizon_s - loop.time_s)
        seen = segment.reports(times)

        def margin(at: Array, segment: Segment = segment, times: Array = times, seen: Array = seen) -> Array:
            reports = seen if at is times else segment.reports(at)
            return np.maximum(loop.coldest(reports) - least_degC, loop.heater_margin(reports, at))

        seconds = first_time(margin, times)
        length = float(times[-1]) if seconds is None else seconds
        loop.go(segment, length)
        readings = loop.decided(release.deciding, seen[times < length])
        lowest = min(readings.min(initial=np.inf), loop.reading(release.deciding))
        fell = fell or bool(lowest < release.release_above_degC - 2 * REACHED_K)
        if seconds is None:
            return None, fell
        if loop.coldest(loop.lagged[None])[0] >= least_degC - REACHED_K:
            return loop.time_s, fell
        loop.switch_heater()
    return None, fell


def when_warm(loop: Loop, least_degC: float) -> tuple[float, float] | None:
    """Look back over a run for the instant at which the coldest point became warm enough.

    Args:
        loop: a run that was advanced.
        least_degC: temperature that every point must reach (degC).

    Returns:
        Time since the start (s) and the deciding reading then (degC); None if it never was.
    """
    if loop.around.start_degC >= least_degC:
        return 0.0, loop.around.start_degC
    for stretch in loop.stretches:

        def margin(at: Array, segment: Segment = stretch.segment) -> Array:
            return loop.coldest(segment.reports(at)) - least_degC

        end = np.array([stretch.length_s])
        if stretch.length_s > 0.0 and margin(end)[0] >= 0.0:
            at = first_time(margin, looks(stretch.length_s))
            reports = stretch.segment.reports(end if at is None else np.array([at]))
            reading = float(loop.decided(loop.release.deciding, reports)[0])
            return stretch.start_s + (stretch.length_s if at is None else at), reading
    return None
