"""The warm-up of a cold pack until charging is released, and what follows: heated, or merely brought in.

Validity: soaked evenly at the start; surroundings constant.
Source: our own arrangement of `facts.loop` and `facts.charging`.
"""

from collections.abc import Callable, Mapping, Sequence
from math import inf
from typing import TYPE_CHECKING

from bmslint.facts.corners import AMBIENT, FAVOURABLE, FOLLOWED, HEATED, Result, gather
from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.pack import Corner
from bmslint.facts.quantity import Group, Missing, rounded_up
from bmslint.facts.scene import Scene, ambient_scene, heated_scene
from bmslint.facts.shelf import Shelf

if TYPE_CHECKING:
    from bmslint.facts.runs import Flags, Runs
    from bmslint.physics.axis import Array

# Steps in which a person sets a release and a hold time; safe values are rounded up to them.
RELEASE_STEP_K, HOLD_STEP_S = 0.5, 60.0


def run(cases: Sequence[tuple[Scene, Corner]], followed: Sequence[bool]) -> list[Result | LackingError]:
    """Run warm-ups, each at a corner, and name what came of them.

    Args:
        cases: what each run needs, and which end of its range each property takes; the packs are cut alike
            and have the same sensors.
        followed: for each whether the current is followed after release.

    Returns:
        For each run each fact's value, or why it has none; in place of all of them why there are none: the
        heater switches so often that the run was not followed to its end.
    """
    import numpy as np

    from bmslint.facts.loop import until_release
    from bmslint.facts.runs import Runs

    runs = Runs(cases)
    released = until_release(runs)
    waits = runs.now_degC(runs.release) >= runs.above_degC
    lost = ~released & runs.chatters & waits
    results: list[Result] = [
        {
            "deciding_sensor": scene.release.deciding.names,
            "starts_degC": scene.around.start_degC,
            "releases": bool(free),
        }
        for (scene, _), free in zip(cases, released, strict=True)
    ]
    _name_never(runs, results)
    _at_release(runs, results)
    follow = np.array(followed) & ~lost
    _until_warm(runs, follow, results)
    _charging(runs, released & follow, results)
    _heating(runs, results)
    alone = LackingError((), "not followed at this corner")
    for result, each in zip(results, follow, strict=True):
        if not each:
            result.update(dict.fromkeys((*UNTIL_WARM, *WHILE_HEATED), alone))
    return [_too_often() if gone else result for gone, result in zip(lost, results, strict=True)]


UNTIL_WARM = ("coldest_warm_after_min", "safe_release_degC", "safe_hold_s")
WHILE_HEATED = (
    "energy_Wh", "energy_share_pct", "film_max_degC", "surface_max_degC", "heater_switches_per_h",
)  # fmt: skip


AT_RELEASE = (
    "time_to_release_min", "reading_at_release_degC", "coldest_at_release_degC", "hottest_at_release_degC",
    "mean_at_release_degC", "spread_at_release_K", "coldest_cell_at_release_degC",
    "hottest_cell_at_release_degC", "current_at_release_A", "below_limit_Ah", "above_allowed_Ah",
    "excess_current_A", "safe_hold_s",
)  # fmt: skip


def _name_never(runs: "Runs", results: "list[Result]") -> None:
    """Name why charging was not released, whether the heater starts, and where the reading would end."""
    readings, ceilings = runs.now_degC(runs.release), _ceilings_degC(runs)
    for number, ((scene, _), result) in enumerate(zip(runs.cases, results, strict=True)):
        ceiling = float(ceilings[number])
        because = "" if result["releases"] else _why_never(runs, number, float(readings[number]), ceiling)
        result["never_releases_because"] = because
        if scene.heater is not None:
            result["heater_starts"] = bool(runs.heated_s[number] > 0.0)
            result["ceiling_reading_degC"] = ceiling


def _at_release(runs: "Runs", results: "list[Result]") -> None:
    """Name the state of the packs at the instant of release, and the current that starts."""
    import numpy as np

    from bmslint.facts.charging import current_now_A
    from bmslint.physics.cells import cell_means

    scene, start = runs.cases[0][0], runs.start_degC
    field = runs.block.field(runs.state).reshape(len(start), -1)
    cells = cell_means(runs.block, runs.state, scene.pack.counts).reshape(len(start), -1)
    coldest, hottest = field.min(axis=1) + start, field.max(axis=1) + start
    if runs.heated:
        filmed = np.array([scene.heater is not None for scene, _ in runs.cases])
        hottest = np.where(filmed, np.maximum(hottest, runs.skin_degC()), hottest)
    named: dict[str, Array | LackingError] = {
        "time_to_release_min": runs.time_s / 60.0,
        "reading_at_release_degC": runs.now_degC(runs.release),
        "coldest_at_release_degC": coldest,
        "hottest_at_release_degC": hottest,
        "mean_at_release_degC": runs.block.mean(runs.state) + start,
        "spread_at_release_K": hottest - coldest,
        "coldest_cell_at_release_degC": cells.min(axis=1) + start,
        "hottest_cell_at_release_degC": cells.max(axis=1) + start,
        "current_at_release_A": scene.current
        if isinstance(scene.current, LackingError)
        else current_now_A(runs, scene.current),
    }
    never = LackingError((), "charging never resumes in this run")
    for number, result in enumerate(results):
        result.update(dict.fromkeys(AT_RELEASE, never))
        if result["releases"]:
            for name, values in named.items():
                result[name] = values if isinstance(values, LackingError) else float(values[number])


def _why_never(runs: "Runs", number: int, reading_degC: float, ceiling_degC: float) -> str:
    """Say why charging was not released in a run."""
    from bmslint.facts.runs import ENDS

    scene, _ = runs.cases[number]
    release = scene.release.release_above_degC
    if scene.heater is None:
        if reading_degC < release:
            return f"the air warms the deciding sensor to {reading_degC:.1f} degC and no further"
        return "the reading does not stay above the release for the hold time"
    if runs.ended[number]:
        return f"{ENDS[runs.ended[number]]} first"
    if runs.heated_s[number] == 0.0:
        return "the heater does not start at this temperature"
    if all(sensor.place in ("ambient", "board") for sensor in scene.release.deciding.sensors):
        return "the deciding sensor does not feel the heater"
    if ceiling_degC < release:
        return f"the heater brings the deciding sensor to {ceiling_degC:.1f} degC and no further"
    if runs.switches[number] > 1:
        return "the heater stops before the release is reached"
    return f"not within {scene.horizon_s / 3600:.0f} h"


def _ceilings_degC(runs: "Runs") -> "Array":
    """Give the readings that the deciding sensor would settle at with the heater on for ever."""
    import numpy as np

    from bmslint.physics.history import Left

    twin, far_s = runs.copy(), 1e9
    twin.heating = np.ones_like(runs.heating)
    reports = twin.segment().reports(Left.at(runs.probes, np.full((len(runs.heating), 1), far_s)))
    return twin.decided(twin.release, reports)[:, 0]


def _until_warm(runs: "Runs", follow: "Flags", results: "list[Result]") -> None:
    """Name when the coldest point is warm enough, and what release or hold time would wait for it."""
    import numpy as np

    from bmslint.facts.loop import until_warm, when_warm

    least = runs.cases[0][0].least_degC
    if isinstance(least, LackingError):
        for result in results:
            result.update(dict.fromkeys(UNTIL_WARM, least))
        return
    warm_s, reading = when_warm(runs, least)
    later = np.flatnonzero(follow & np.isnan(warm_s))
    fell = np.zeros(len(warm_s), bool)
    twin = runs.picked(later)
    if len(later):
        warm_s[later], fell[later] = until_warm(twin, least, np.ones(len(later), bool))
        reading[later] = twin.now_degC(twin.release)
    stops = np.zeros(len(warm_s), bool)
    for stretch in runs.stretches:
        stops |= ~stretch.heated & (stretch.length_s > 0.0) & (stretch.start_s < warm_s)
    for stretch in twin.stretches:
        stops[later] |= ~stretch.heated & (stretch.length_s > 0.0) & (stretch.start_s < warm_s[later])
    hold_s = warm_s - runs.time_s
    for number, ((scene, _), result) in enumerate(zip(runs.cases, results, strict=True)):
        if np.isnan(warm_s[number]):
            reason = LackingError((), "the coldest cell never becomes warm enough in this run")
            result.update(dict.fromkeys(UNTIL_WARM, reason))
            continue
        result["coldest_warm_after_min"] = float(warm_s[number]) / 60.0
        result["safe_release_degC"] = rounded_up(float(reading[number]), RELEASE_STEP_K)
        if scene.heater is not None and stops[number]:
            result["safe_release_degC"] = LackingError(
                (), "the heater stops before the coldest cell is warm enough, whatever the release"
            )
        if result["releases"]:
            wait, more = scene.release.wait_s, float(hold_s[number])
            result["safe_hold_s"] = rounded_up(more + wait, HOLD_STEP_S) if more > 0.0 else 0.0
            if fell[number]:
                result["safe_hold_s"] = LackingError(
                    (), "the reading falls below the release again before the coldest cell is warm enough"
                )


def _charging(runs: "Runs", released: "Flags", results: "list[Result]") -> None:
    """Name what the current does to the coldest cell after release."""
    from bmslint.facts.charging import charge_on

    names = ("below_limit_Ah", "above_allowed_Ah", "excess_current_A")
    scene = runs.cases[0][0]
    current, cells = scene.current, scene.cells
    for needed in (current, cells):
        if isinstance(needed, LackingError):
            for result in results:
                result.update(dict.fromkeys(names, needed))
            return
    if isinstance(current, LackingError) or isinstance(cells, LackingError):
        return
    if current.most_A == inf and not current.steps:
        return
    passed = charge_on(runs, current, cells, released)
    for number in released.nonzero()[0].tolist():
        found = passed.below_limit_Ah, passed.above_allowed_Ah, passed.excess_A
        results[number].update(
            dict.fromkeys(names, _too_often())
            if runs.chatters[number]
            else {name: float(values[number]) for name, values in zip(names, found, strict=True)}
        )


def _too_often() -> LackingError:
    """Say that the heater's thresholds are too close for the run to be followed to its end."""
    paths = ("heater.on_below_degC", "heater.off_above_degC")
    return LackingError(paths, "the heater switches too often to be followed")


def _heating(runs: "Runs", results: "list[Result]") -> None:
    """Name what the heater used and how hot it became, up to two hours after release."""
    for number, ((scene, corner), result) in enumerate(zip(runs.cases, results, strict=True)):
        if scene.heater is None or scene.heater_W is None:
            continue
        energy = float(runs.heated_s[number]) / 3600.0 * scene.heater_W.at(corner.power)
        result["energy_Wh"] = energy
        share = scene.pack_Wh
        result["energy_share_pct"] = share if isinstance(share, LackingError) else 100.0 * energy / share
        result["film_max_degC"] = float(runs.film_max_degC[number])
        result["surface_max_degC"] = float(runs.skin_max_degC[number])
        hours = max(float(runs.time_s[number]) / 3600.0, 1e-9)
        switches = int(runs.switches[number])
        result["heater_switches_per_h"] = switches / hours if switches > 1 else 0.0


def missing_group(group: str, error: LackingError) -> Group:
    """Give a group whose every fact is missing for the same cause."""
    return {name: Missing(error.paths, error.reason) for name in FACT_NAMES[group]}


def cannot(error: Exception) -> LackingError:
    """Say that settings are beyond physics; as lacking the pack, so that they are never taken as passed."""
    return LackingError(("pack",), f"these settings cannot be computed: {error}")


READ = {
    "heated_warmup": (heated_scene, HEATED),
    "ambient_warmup": (ambient_scene, AMBIENT),
}
"""By group how its scene is read, and the corners that a judgement rests on."""


def warm_ups(make: Callable[[], Inputs], whole: bool, shelf: Shelf) -> dict[str, Group]:
    """Derive both warm-ups, in one go since the runs are alike.

    Args:
        make: gives fresh inputs for each group, so that each notes its own basis.
        whole: whether the favourable ends of the ranges are wanted too.
        shelf: keeps the blocks that runs share.

    Returns:
        The facts of `heated_warmup` and `ambient_warmup`.
    """
    groups: dict[str, Group] = {}
    scenes: dict[str, tuple[Scene, Inputs]] = {}
    for group, (read, _) in READ.items():
        inputs = make()
        try:
            scenes[group] = read(inputs, shelf), inputs
        except LackingError as error:
            groups[group] = missing_group(group, error)
        except (ValueError, ArithmeticError) as error:
            groups[group] = missing_group(group, cannot(error))
    try:
        groups |= _ranged(scenes, whole)
    except (ValueError, ArithmeticError):
        # What one of them cannot be computed for is no reason to lose the other.
        for group, read_one in scenes.items():
            try:
                groups |= _ranged({group: read_one}, whole)
            except (ValueError, ArithmeticError) as error:
                groups[group] = missing_group(group, cannot(error))
    return groups


def _ranged(scenes: Mapping[str, tuple[Scene, Inputs]], whole: bool) -> dict[str, Group]:
    """Run scenes at their corners; at all of them only where the whole range is wanted."""
    cases: list[tuple[Scene, Corner]] = []
    followed: list[bool] = []
    for group, (scene, _) in scenes.items():
        corners = (*READ[group][1], *FAVOURABLE * whole)
        cases += [(scene, corner) for corner in corners]
        followed += [corner in FOLLOWED or corner in FAVOURABLE for corner in corners]
    results = run(cases, followed) if cases else []
    groups: dict[str, Group] = {}
    for group, (_, inputs) in scenes.items():
        count = len(READ[group][1])
        mine = results[: count + len(FAVOURABLE) * whole]
        results = results[len(mine) :]
        named = [result for result in mine if not isinstance(result, LackingError)]
        lost = next((result for result in mine if isinstance(result, LackingError)), None)
        groups[group] = (
            gather(group, named[:count], named[count:], inputs)
            if lost is None
            else missing_group(group, lost)
        )
    return groups
