"""The warm-up of a cold pack until charging is released, and what follows: heated, or merely brought in.

Validity: soaked evenly at the start; surroundings constant.
Source: our own arrangement of `facts.loop` and `facts.charging`.
"""

from collections.abc import Sequence
from dataclasses import replace
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
    from bmslint.facts.loop import Loop
    from bmslint.physics.conduction import Array

# Steps in which a person sets a release and a hold time; safe values are rounded up to them.
RELEASE_STEP_K, HOLD_STEP_S = 0.5, 60.0


def begin(scene: Scene, corner: Corner) -> "Loop":
    """Set a run up at a corner."""
    from bmslint.facts.loop import Loop
    from bmslint.physics.history import Probes

    heater = scene.heater(corner) if scene.heater else None
    pack, shelf = scene.pack, scene.shelf
    block = shelf.block(pack, corner)
    sensors = tuple(
        {sensor.name: sensor for group in scene.sensors(heater) for sensor in group.sensors}.values()
    )
    probes = [shelf.probe(pack, corner, scene.lag, sensor) for sensor in sensors]
    probes += shelf.places(pack, corner, scene.lag, heater is not None)
    return Loop(block, Probes(probes, block), sensors, corner, heater, scene.release, scene.around)


def run(scene: Scene, corner: Corner, followed: bool) -> Result:
    """Run one warm-up at a corner and name what came of it.

    Args:
        scene: what the run needs.
        corner: which end of its range each property takes.
        followed: whether the current is followed after release.

    Returns:
        Each fact's value, or why it has none.

    Raises:
        LackingError: the heater switches so often that the run was not followed to its end.
    """
    from bmslint.facts.loop import until_release

    loop = begin(scene, corner)
    result: Result = {
        "deciding_sensor": scene.release.deciding.names,
        "starts_degC": scene.around.start_degC,
    }
    released = until_release(loop, scene.horizon_s)
    if not released and loop.chatters and _waits(loop):
        raise _too_often()
    result["releases"] = released
    result["never_releases_because"] = "" if released else _why_never(scene, loop)
    if loop.heater is not None:
        result["heater_starts"] = loop.heated_s > 0.0
        result["ceiling_reading_degC"] = _ceiling(loop)
    never = LackingError((), "charging never resumes in this run")
    for name in AT_RELEASE:
        result[name] = never
    if released:
        _at_release(scene, loop, result)
    if followed:
        _until_warm(scene, loop, released, result)
        _charging(scene, loop, released, result)
        if loop.heater is not None:
            _heating(scene, loop, corner, result)
    else:
        later = UNTIL_WARM + (WHILE_HEATED if loop.heater is not None else ())
        result.update(dict.fromkeys(later, LackingError((), "not followed at this corner")))
    return result


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


def _at_release(scene: Scene, loop: "Loop", result: Result) -> None:
    """Name the state of the pack at the instant of release, and the current that starts."""
    from bmslint.facts.charging import current_now_A
    from bmslint.physics.cells import cell_means

    field = loop.block.field(loop.state) + loop.around.start_degC
    hottest = float(field.max())
    if loop.heater is not None:
        hottest = max(hottest, loop.skin_degC())
    result["time_to_release_min"] = loop.time_s / 60.0
    result["reading_at_release_degC"] = loop.reading(loop.release.deciding)
    result["coldest_at_release_degC"] = float(field.min())
    result["hottest_at_release_degC"] = hottest
    result["mean_at_release_degC"] = float(loop.block.mean(loop.state)) + loop.around.start_degC
    result["spread_at_release_K"] = hottest - float(field.min())
    cells = cell_means(loop.block, loop.state, scene.pack.counts) + loop.around.start_degC
    result["coldest_cell_at_release_degC"] = float(cells.min())
    result["hottest_cell_at_release_degC"] = float(cells.max())
    current = scene.current
    result["current_at_release_A"] = (
        current if isinstance(current, LackingError) else current_now_A(loop, current)
    )


def _why_never(scene: Scene, loop: "Loop") -> str:
    """Say why charging was not released."""
    release = loop.release.release_above_degC
    if loop.heater is None:
        best = float(loop.reading(loop.release.deciding))
        if best < release:
            return f"the air warms the deciding sensor to {best:.1f} degC and no further"
        return "the reading does not stay above the release for the hold time"
    if loop.ended:
        return f"{loop.ended} first"
    if loop.heated_s == 0.0:
        return "the heater does not start at this temperature"
    if all(sensor.place in ("ambient", "board") for sensor in loop.release.deciding.sensors):
        return "the deciding sensor does not feel the heater"
    if _ceiling(loop) < release:
        return f"the heater brings the deciding sensor to {_ceiling(loop):.1f} degC and no further"
    if loop.switches > 1:
        return "the heater stops before the release is reached"
    return f"not within {scene.horizon_s / 3600:.0f} h"


def _ceiling(loop: "Loop") -> float:
    """Give the reading that the deciding sensor would settle at with the heater on for ever (degC)."""
    twin = loop.copy()
    twin.heating = True
    far = 1e9
    return float(twin.decided(loop.release.deciding, twin.segment().reports(_times(far)))[0])


def _times(*seconds: float) -> "Array":
    import numpy as np

    return np.array(seconds)


def _until_warm(scene: Scene, loop: "Loop", released: bool, result: Result) -> None:
    """Name when the coldest point is warm enough, and what release or hold time would wait for it."""
    from bmslint.facts.loop import until_warm, when_warm

    if isinstance(scene.least_degC, LackingError):
        result.update(dict.fromkeys(UNTIL_WARM, scene.least_degC))
        return
    released_s = loop.time_s
    met = when_warm(loop, scene.least_degC)
    fell = False
    if met is None:
        twin = loop.copy()
        twin.stretches = list(loop.stretches)
        warm_s, fell = until_warm(twin, scene.least_degC, scene.horizon_s)
        if warm_s is None:
            reason = LackingError((), "the coldest cell never becomes warm enough in this run")
            result.update(dict.fromkeys(UNTIL_WARM, reason))
            return
        met = warm_s, twin.reading(loop.release.deciding)
        stops = [s for s in twin.stretches if not s.heated and s.start_s < warm_s]
    else:
        warm_s = met[0]
        stops = [s for s in loop.stretches if not s.heated and s.start_s < warm_s]
    result["coldest_warm_after_min"] = warm_s / 60.0
    result["safe_release_degC"] = rounded_up(met[1], RELEASE_STEP_K)
    if loop.heater is not None and stops:
        result["safe_release_degC"] = LackingError(
            (), "the heater stops before the coldest cell is warm enough, whatever the release"
        )
    if released:
        wait = warm_s - released_s + loop.release.wait_s
        result["safe_hold_s"] = rounded_up(wait, HOLD_STEP_S) if warm_s > released_s else 0.0
        if fell:
            result["safe_hold_s"] = LackingError(
                (), "the reading falls below the release again before the coldest cell is warm enough"
            )


def _charging(scene: Scene, loop: "Loop", released: bool, result: Result) -> None:
    """Name what the current does to the coldest cell after release."""
    from bmslint.facts.charging import charge_on

    names = ("below_limit_Ah", "above_allowed_Ah", "excess_current_A")
    for needed in (scene.current, scene.cells):
        if isinstance(needed, LackingError):
            result.update(dict.fromkeys(names, needed))
            return
    if not released or isinstance(scene.current, LackingError) or isinstance(scene.cells, LackingError):
        return
    if scene.current.most_A == inf and not scene.current.steps:
        return
    passed = charge_on(loop, scene.current, scene.cells)
    if loop.chatters:
        result.update(dict.fromkeys(names, _too_often()))
        return
    result["below_limit_Ah"] = passed.below_limit_Ah
    result["above_allowed_Ah"] = passed.above_allowed_Ah
    result["excess_current_A"] = passed.excess_A


def _waits(loop: "Loop") -> bool:
    """Whether a run was given up while the release was only waited for."""
    return loop.reading(loop.release.deciding) >= loop.release.release_above_degC


def _too_often() -> LackingError:
    """Say that the heater's thresholds are too close for the run to be followed to its end."""
    paths = ("heater.on_below_degC", "heater.off_above_degC")
    return LackingError(paths, "the heater switches too often to be followed")


def _heating(scene: Scene, loop: "Loop", corner: Corner, result: Result) -> None:
    """Name what the heater used and how hot it became, up to two hours after release."""
    assert scene.heater_W is not None
    energy = loop.heated_s / 3600.0 * scene.heater_W.at(corner.power)
    result["energy_Wh"] = energy
    share = scene.pack_Wh
    result["energy_share_pct"] = share if isinstance(share, LackingError) else 100.0 * energy / share
    result["film_max_degC"] = loop.film_max_degC
    result["surface_max_degC"] = loop.skin_max_degC
    hours = max(loop.time_s / 3600.0, 1e-9)
    result["heater_switches_per_h"] = loop.switches / hours if loop.switches > 1 else 0.0


def missing_group(group: str, error: LackingError) -> Group:
    """Give a group whose every fact is missing for the same cause."""
    return {name: Missing(error.paths, error.reason) for name in FACT_NAMES[group]}


def heated(inputs: Inputs, whole: bool, shelf: Shelf) -> Group:
    """Derive the heated warm-up: soaked at the coldest site temperature, charger present.

    Args:
        inputs: the settings.
        whole: whether the favourable ends of the ranges are wanted too.
        shelf: keeps the blocks that runs share.

    Returns:
        The facts of `heated_warmup`.
    """
    try:
        scene = replace(heated_scene(inputs), shelf=shelf)
    except LackingError as error:
        return missing_group("heated_warmup", error)
    return _ranged("heated_warmup", scene, HEATED, inputs, whole)


def ambient(inputs: Inputs, whole: bool, shelf: Shelf) -> Group:
    """Derive the warm-up without a heater: soaked cold, then brought into warmer air.

    Args:
        inputs: the settings.
        whole: whether the favourable ends of the ranges are wanted too.
        shelf: keeps the blocks that runs share.

    Returns:
        The facts of `ambient_warmup`.
    """
    try:
        scene = replace(ambient_scene(inputs), shelf=shelf)
    except LackingError as error:
        return missing_group("ambient_warmup", error)
    return _ranged("ambient_warmup", scene, AMBIENT, inputs, whole)


def _ranged(group: str, scene: Scene, corners: Sequence[Corner], inputs: Inputs, whole: bool) -> Group:
    """Run a scene at its corners; at all of them only where the whole range is wanted."""
    try:
        results = [run(scene, corner, corner in FOLLOWED) for corner in corners]
        favourable = [run(scene, corner, True) for corner in FAVOURABLE] if whole else []
    except LackingError as error:
        return missing_group(group, error)
    return gather(group, results, favourable, inputs)
