"""What another release, hold time or sensor place would give: the warm-up followed without a release.

What heats the pack before charging is released goes by the heater's own sensors and thresholds, so one run
that is never released holds every release: its instant is where the reading of a sensor has been at the
release setting for as long as the hold time asks. A page can look that up by itself; `Response.at` is the
same look-up.

The tried sensor is one more, with the accuracy, resolution, lag and curve of the first sensor that releases
charging now; the heater keeps its own.

Validity: as the warm-up's; straight lines between the instants that are kept, which the coldest point at a
    release is wrong by 0.05 K at most for (tests/facts/test_response.py).
Source: the closed loop, followed without a release; keeping the instants where straight lines err most, as
    Douglas and Peucker, Cartographica 10 (1973) 112-122 (from memory); the look-up is our own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.pack import NOMINAL, Corner
from bmslint.facts.quantity import Missing
from bmslint.facts.scene import Release, Scene, ambient_scene, heated_scene
from bmslint.facts.sensors import Deciding, Sensor
from bmslint.limits import Limits

if TYPE_CHECKING:
    from bmslint.facts.runs import Runs
    from bmslint.physics.axis import Array

Run = Literal["heated_warmup", "ambient_warmup"]

# A reading that is never reached (degC).
NEVER_DEGC = 1e9
# A reading this close to a threshold has reached it (K), as in the closed loop.
REACHED_K = 1e-3
# Instants that a run is looked at: about so many in all, and in one stretch between two switches.
LOOKED_AT, FEWEST, MOST = 4000, 10, 160
# The first of them after a switch (s).
FIRST_S = 2.0
# By how much the coldest point at a release may be wrong through straight lines between instants that are
# kept (K), and differences of a reading below which nothing is gained (K).
TOLERANCE_K, UNSEEN_K = 0.02, 5e-4

OUTER_FACES = ("ends", "sides", "top", "bottom")


class Place(NamedTuple):
    """A place of a sensor in the format's words; `position` and `face` are empty where they do not matter."""

    place: str
    position: str = ""
    face: str = ""


@dataclass(frozen=True)
class Released:
    """An instant of release: time since the start (s), and the coldest point then (degC)."""

    time_s: float
    coldest_degC: float


@dataclass(frozen=True)
class Response:
    """A run without a release, as straight lines between instants.

    Args:
        run: the group of facts that it belongs to.
        inhibit_degC: reading below which charging is inhibited.
        release_degC: the file's own release.
        hold_s: the file's own hold time.
        least_degC: lowest charge temperature of the cells, None where it is not known.
        sensors: names of the sensors that release charging now.
        decided_by: `lowest`, `highest` or `mean` of them.
        places: places that a sensor could have instead.
        times_s: ascending instants.
        coldest_degC: coldest point inside any cell at each.
        readings_degC: first what the sensors of the file read together at each instant, then what one at
            each of `places` would.
        chatters: whether the run ends early because the heater switches too often to be followed.
    """

    run: Run
    inhibit_degC: float
    release_degC: float
    hold_s: float
    least_degC: float | None
    sensors: tuple[str, ...]
    decided_by: str
    places: tuple[Place, ...]
    times_s: tuple[float, ...]
    coldest_degC: tuple[float, ...]
    readings_degC: tuple[tuple[float, ...], ...]
    chatters: bool

    def at(self, sensor: int, release_degC: float, hold_s: float) -> Released | None:
        """Look up a release.

        Args:
            sensor: number of the reading, 0 for the sensors of the file.
            release_degC: the release.
            hold_s: how long the reading has to stay there.

        Returns:
            The instant; None if there is none in this run.
        """
        reading, times = self.readings_degC[sensor], self.times_s
        if reading[0] >= self.inhibit_degC:
            return Released(times[0], self.coldest_degC[0])
        since: float | None = None
        needed = release_degC - REACHED_K
        for i in range(len(times) - 1):
            before, after = reading[i] - needed, reading[i + 1] - needed
            if since is None and after >= 0.0:
                since = _between(times[i], times[i + 1], before, after)
            if since is None:
                continue
            end = times[i + 1] if after >= 0.0 else _between(times[i], times[i + 1], before, after)
            if end - since >= hold_s:
                return Released(since + hold_s, self._coldest(since + hold_s))
            if after < 0.0:
                since = None
        return None

    def _coldest(self, time_s: float) -> float:
        from bisect import bisect_left

        i = max(bisect_left(self.times_s, time_s) - 1, 0)
        start, end = self.times_s[i], self.times_s[i + 1]
        share = (time_s - start) / (end - start)
        return self.coldest_degC[i] + share * (self.coldest_degC[i + 1] - self.coldest_degC[i])


def _between(start_s: float, end_s: float, before_K: float, after_K: float) -> float:
    """Where a straight line crosses zero (s)."""
    return start_s + (end_s - start_s) * before_K / (before_K - after_K) if before_K != after_K else start_s


def response(
    data: Mapping[str, Any], limits: Limits, run: Run, corner: Corner = NOMINAL
) -> Response | Missing:
    """Follow a warm-up without a release.

    Args:
        data: the validated settings.
        limits: what the cells may endure.
        run: which warm-up.
        corner: which end of its range each property takes.

    Returns:
        The run, or why there is none, as the facts of the run say.
    """
    try:
        scene = (heated_scene if run == "heated_warmup" else ambient_scene)(Inputs(data, limits))
        return _followed(scene, run, corner)
    except LackingError as error:
        return Missing(error.paths, error.reason)
    except (ValueError, ArithmeticError) as error:
        return Missing(("pack",), f"these settings cannot be computed: {error}")


def _places(scene: Scene) -> tuple[Place, ...]:
    """Give the places that a sensor can have in this pack."""
    pack = scene.pack
    found = []
    if prod(pack.counts) > 1:
        found.append(Place("between_cells", "middle"))
        if pack.counts[0] > 2:
            found.append(Place("between_cells", "outer"))
    found += [Place("cell_face", face=face) for face in OUTER_FACES]
    if scene.heater is not None:
        found += [Place("heated_face", face=face) for face in pack.heated]
    return (*found, *(Place(each) for each in ("case", "terminal", "busbar", "board", "ambient")))


def _moved(pattern: Sensor, place: Place) -> Sensor:
    """Give a sensor like another at a place, under a name of its own, as the heater may go by that one."""
    return replace(
        pattern,
        name=" ".join(("tried", *place)),
        place=place.place,
        position=place.position or "middle",
        face=place.face or OUTER_FACES[0],
        cell=0,
    )


def _followed(scene: Scene, run: Run, corner: Corner) -> Response:
    from bmslint.facts.loop import until_release
    from bmslint.facts.runs import Runs

    release = scene.release
    places = _places(scene)
    tried = [_moved(release.deciding.sensors[0], place) for place in places]
    every = Deciding(release.deciding.path, (*release.deciding.sensors, *tried), "lowest")
    endless = replace(scene, release=Release(every, NEVER_DEGC, NEVER_DEGC, 0.0))
    runs = Runs([(endless, corner)])
    until_release(runs)
    deciding = [release.deciding, *(Deciding(each.name, (each,), "lowest") for each in tried)]
    times, coldest, readings = _read(runs, deciding)
    kept = _kept(times, coldest, readings)
    return Response(
        run=run,
        inhibit_degC=release.inhibit_below_degC,
        release_degC=release.release_above_degC,
        hold_s=release.wait_s,
        least_degC=None if isinstance(scene.least_degC, LackingError) else scene.least_degC,
        sensors=tuple(sensor.name for sensor in release.deciding.sensors),
        decided_by=release.deciding.by,
        places=places,
        times_s=tuple(times[kept].tolist()),
        coldest_degC=tuple(coldest[kept].tolist()),
        readings_degC=tuple(tuple(each) for each in readings[:, kept].tolist()),
        chatters=bool(runs.chatters[0]),
    )


def _read(runs: "Runs", deciding: Sequence[Deciding]) -> "tuple[Array, Array, Array]":
    """Read a run at many instants: times (s), coldest point and every reading (degC), readings by row."""
    import numpy as np

    from bmslint.physics.history import Left

    number = min(max(LOOKED_AT // len(runs.stretches), FEWEST), MOST)
    times, coldest, readings = [], [], []
    combined = [runs.reading([each]) for each in deciding]
    for stretch in runs.stretches:
        start, length = float(stretch.start_s[0]), float(stretch.length_s[0])
        if length <= 0.0:
            continue
        # Fine at first, where everything moves, and everywhere fine enough for a slow rise.
        early, late = np.geomspace(min(FIRST_S, length / 2), length, 40), np.linspace(0.0, length, number)
        since = np.unique(np.concatenate((early[:: max(80 // number, 1)], late)))
        reports = stretch.segment.reports(Left.at(runs.probes, since[None]))
        times.append(start + since)
        coldest.append(runs.coldest(reports)[0])
        readings.append(np.array([each(reports)[0] for each in combined]))
    joined, first = np.unique(np.concatenate(times), return_index=True)
    return joined, np.concatenate(coldest)[first], np.concatenate(readings, axis=1)[:, first]


def _kept(times: "Array", coldest: "Array", readings: "Array") -> "Array":
    """Choose the instants between which straight lines are good enough.

    A reading that is wrong by some kelvin moves the release by the time in which it changes by so much, and
    the coldest point by what that changes meanwhile.
    """
    import numpy as np

    slopes = np.abs(np.gradient(readings, times, axis=1))
    weight = np.abs(np.gradient(coldest, times)) / np.maximum(slopes, 1e-12)
    kept = {0, len(times) - 1}
    waiting = [(0, len(times) - 1)]
    while waiting:
        low, high = waiting.pop()
        if high - low < 2:
            continue
        inside = slice(low + 1, high)
        share = (times[inside] - times[low]) / (times[high] - times[low])
        off = np.abs(
            readings[:, inside] - readings[:, [low]] - share * (readings[:, [high]] - readings[:, [low]])
        )
        wrong = np.where(off > UNSEEN_K, off * weight[:, inside], 0.0).max(axis=0)
        wrong = np.maximum(
            wrong, np.abs(coldest[inside] - coldest[low] - share * (coldest[high] - coldest[low]))
        )
        worst = int(wrong.argmax())
        if wrong[worst] > TOLERANCE_K:
            middle = low + 1 + worst
            kept.add(middle)
            waiting += [(low, middle), (middle, high)]
    return np.array(sorted(kept))
