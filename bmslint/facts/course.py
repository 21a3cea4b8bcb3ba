"""The course of a warm-up over time at nominal properties, for drawing it and for telling it.

The run is the one that the facts of `heated_warmup` and `ambient_warmup` come from, followed on without
charging until the coldest point is warm enough, as `coldest_warm_after_min` is. This module alone knows how a
run is advanced; what it hands on is plain numbers. The heat of the charge current is left out after release.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING, Any, Literal

from bmslint.facts.derive import JUDGED
from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.pack import NOMINAL
from bmslint.facts.quantity import Missing
from bmslint.facts.scene import Scene, ambient_scene, heated_scene
from bmslint.facts.section import Section, sections
from bmslint.facts.sensors import Sensor, sensor
from bmslint.facts.shelf import Shelf
from bmslint.limits import Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bmslint.facts.runs import Runs, Stretch
    from bmslint.physics.axis import Array

Run = Literal["heated_warmup", "ambient_warmup"]

# Times that a course is told at, evenly over it; fewer where a block is cut so finely that more would cost
# seconds, and the product of volumes and times from which that is.
TIMES, FEWEST_TIMES, MOST_LOOKED_AT = 241, 41, 20_000_000
# Switches of the heater up to which each is among the times; more would be a blur in any drawing.
MOST_MARKED = 60
# How far a course goes on beyond the last instant that it tells of; and, where there is none, the share of
# the coldest point's rise that is left when it ends.
BEYOND, SETTLED = 1.15, 0.05


@dataclass(frozen=True)
class Moment:
    """The pack at one instant: time since the start (s), reading, coldest and hottest point (degC)."""

    time_s: float
    reading_degC: float
    coldest_degC: float
    hottest_degC: float


@dataclass(frozen=True)
class Course:
    """A warm-up over time, at nominal properties.

    Args:
        run: the group of facts that it belongs to.
        starts_degC: temperature at which the whole pack is soaked.
        air_degC: temperature of the air during the run.
        sensors: names of the sensors that release charging.
        decided_by: `lowest`, `highest` or `mean` of them.
        inhibit_degC: reading below which charging is inhibited.
        release_degC: reading above which it is released.
        hold_s: how long the reading has to stay there.
        least_degC: lowest charge temperature of the cells, None where it is not known.
        times_s: ascending times since the start.
        reading_degC: what the deciding sensor reads, at each of the times.
        coldest_degC: coldest point inside any cell, at each.
        hottest_degC: hottest point of any cell, at each.
        heating: whether the heater is on, from each of the times until the next.
        released: the instant of release; None if charging is never released.
        warm: the instant at which the coldest point, uncharged, is at `least_degC`; None if it never is,
            or if the pack is warm enough from the start.
        sections: cuts through the block at release, or where the course ends if there is none.
        at_s: time of the sections.
    """

    run: Run
    starts_degC: float
    air_degC: float
    sensors: tuple[str, ...]
    decided_by: str
    inhibit_degC: float
    release_degC: float
    hold_s: float
    least_degC: float | None
    times_s: tuple[float, ...]
    reading_degC: tuple[float, ...]
    coldest_degC: tuple[float, ...]
    hottest_degC: tuple[float, ...]
    heating: tuple[bool, ...]
    released: Moment | None
    warm: Moment | None
    sections: tuple[Section, ...]
    at_s: float


def course(data: Mapping[str, Any], limits: Limits, run: Run) -> Course | Missing:
    """Follow a warm-up.

    Args:
        data: the validated settings.
        limits: what the cells may endure.
        run: which warm-up.

    Returns:
        The course, or why there is none, as the facts of the run say.
    """
    inputs = Inputs(data, limits)
    try:
        # The blocks of all corners, as for the facts: the same modes are kept.
        scene = (heated_scene if run == "heated_warmup" else ambient_scene)(inputs, Shelf(JUDGED))
        return _followed(scene, run, _described(inputs))
    except LackingError as error:
        return Missing(error.paths, error.reason)
    except (ValueError, ArithmeticError) as error:
        return Missing(("pack",), f"these settings cannot be computed: {error}")


def _described(inputs: Inputs) -> tuple[Sensor, ...]:
    """Give every sensor that the settings describe well enough to be placed."""
    found = []
    for name in inputs.find("sensors") or ():
        try:
            found.append(sensor(inputs, name))
        except LackingError:
            continue
    return tuple(found)


def _followed(scene: Scene, run: Run, sensors: tuple[Sensor, ...]) -> Course:
    import numpy as np

    from bmslint.facts.loop import until_release, until_warm, when_warm
    from bmslint.facts.runs import Runs

    runs = Runs([(scene, NOMINAL)])
    released_s = float(runs.time_s[0]) if until_release(runs)[0] else None
    warm_s: float | None = None
    if not isinstance(scene.least_degC, LackingError):
        warm = when_warm(runs, scene.least_degC)[0]
        if np.isnan(warm[0]):
            warm, _ = until_warm(runs, scene.least_degC, np.ones(1, bool))
        warm_s = None if np.isnan(warm[0]) else float(warm[0])
    return _Line(scene, runs, released_s, warm_s).course(run, sensors)


class _Line:
    """The stretches of one run, read at any time."""

    def __init__(
        self,
        scene: Scene,
        runs: "Runs",
        released_s: float | None,
        warm_s: float | None,
    ) -> None:
        import numpy as np

        self.scene, self.runs, self.block = scene, runs, runs.block.picked(0)
        self.released_s, self.warm_s = released_s, warm_s
        if not runs.stretches or max(released_s or 0.0, warm_s or 0.0) * BEYOND > runs.time_s[0]:
            # The drawing goes on a little beyond the last stretch: the instant as it is, then the heater as
            # its thresholds want it.
            beyond = np.maximum(runs.time_s * (BEYOND - 1.0), 600.0)
            alone = np.ones(1, bool)
            runs.go(runs.segment(), np.zeros(1), alone)
            runs.switch_heater(alone)
            runs.go(runs.segment(), beyond, alone)
        self.stretches: list[Stretch] = runs.stretches
        self.starts: Array = np.array([float(each.start_s[0]) for each in self.stretches])
        self.end_s = float(self.starts[-1] + self.stretches[-1].length_s[0])

    def course(self, run: Run, sensors: tuple[Sensor, ...]) -> Course:
        """Read the whole course; `sensors` are those to show in its sections."""
        import numpy as np

        scene = self.scene
        times = self._times()
        read, coldest, hottest = self._at(times)
        if not self.released_s:
            left = np.abs(coldest - coldest[-1]) > SETTLED * max(float(np.ptp(coldest)), 1e-9)
            settled = int(np.flatnonzero(left)[-1]) + 1 if left.any() else 0
            end_s = float(times[min(settled, len(times) - 1)])
            times = self._times(max(end_s, (self.warm_s or 0.0) * BEYOND))
            read, coldest, hottest = self._at(times)
        moments = {
            time: Moment(time, *(float(each[number]) for each in (read, coldest, hottest)))
            for number, time in enumerate(times.tolist())
            if time in (self.released_s, self.warm_s)
        }
        at_s = float(times[-1]) if self.released_s is None else self.released_s
        state = self._state(at_s)
        return Course(
            run=run,
            starts_degC=scene.around.start_degC,
            air_degC=scene.around.air_degC,
            sensors=tuple(sensor.name for sensor in scene.release.deciding.sensors),
            decided_by=scene.release.deciding.by,
            inhibit_degC=scene.release.inhibit_below_degC,
            release_degC=scene.release.release_above_degC,
            hold_s=scene.release.wait_s,
            least_degC=None if isinstance(scene.least_degC, LackingError) else scene.least_degC,
            times_s=tuple(times.tolist()),
            reading_degC=tuple(read.tolist()),
            coldest_degC=tuple(coldest.tolist()),
            hottest_degC=tuple(hottest.tolist()),
            heating=tuple(bool(self.stretches[each].heated[0]) for each in self._numbers(times, begun=True)),
            released=None if self.released_s is None else moments[self.released_s],
            warm=moments[self.warm_s] if self.warm_s else None,
            sections=sections(scene.pack, self.block, state, sensors, scene.around.start_degC),
            at_s=at_s,
        )

    def _times(self, end_s: float | None = None) -> "Array":
        """Give the times to tell: evenly to the end, the instants that matter, and the heater's switches."""
        import numpy as np

        last = max(self.released_s, self.warm_s or 0.0) * BEYOND if self.released_s else self.end_s
        last = min(last if end_s is None else end_s, self.end_s)
        volumes = prod(axis.count for axis in self.block.axes)
        number = min(max(MOST_LOOKED_AT // volumes, FEWEST_TIMES), TIMES)
        marked = [each for each in (self.released_s, self.warm_s) if each is not None and each <= last]
        switches = [
            float(after.start_s[0])
            for before, after in zip(self.stretches, self.stretches[1:], strict=False)
            if before.heated[0] != after.heated[0] and after.start_s[0] <= last
        ]
        marked += switches if len(switches) <= MOST_MARKED else []
        return np.unique(np.concatenate((np.linspace(0.0, last, number), marked)))

    def _numbers(self, times: "Array", begun: bool) -> "NDArray[np.int64]":
        """Give each time's stretch; at a switch the one that has begun there, or the one that ends there."""
        import numpy as np

        found = np.searchsorted(self.starts, times, side="right" if begun else "left")
        return np.maximum(found - 1, 0)

    def _state(self, time_s: float) -> "Array":
        import numpy as np

        number = int(self._numbers(np.array([time_s]), begun=False)[0])
        return self._states(number, time_s - float(self.starts[number]))

    def _states(self, number: int, since_s: "float | Array") -> "Array":
        """Give the block's state at times since the start of a stretch (s), a number or shape (times,)."""
        segment = self.stretches[number].segment
        return self.block.after(segment.state[0], segment.steady[0], since_s)

    def _at(self, times: "Array") -> "tuple[Array, Array, Array]":
        """Give reading, coldest and hottest point at each of the times (degC)."""
        import numpy as np

        from bmslint.physics.history import Left

        runs, start = self.runs, self.scene.around.start_degC
        numbers = self._numbers(times, begun=False)
        read, coldest, hottest = (np.empty(len(times)) for _ in range(3))
        for number in np.unique(numbers).tolist():
            here = np.flatnonzero(numbers == number)
            since = times[here] - self.starts[number]
            reports = self.stretches[number].segment.reports(Left.at(runs.probes, since[None]))
            read[here] = runs.release(reports)[0]
            field = self.block.field(self._states(number, since)).reshape(len(here), -1) + start
            coldest[here], hottest[here] = field.min(axis=1), field.max(axis=1)
            if runs.heated:
                # The skin under the film lies in front of the middle of the outermost volume.
                hottest[here] = np.maximum(hottest[here], runs.skin(reports)[0])
        return read, coldest, hottest
