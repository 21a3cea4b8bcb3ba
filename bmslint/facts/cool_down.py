"""A warm pack left at its coldest site: how long until it is too cold, and what would hold it.

Validity: nothing heats the pack but what holds it, and its surroundings stay as they are.
Source: conduction as in `physics.conduction`; the floor's share by linearity, heat that is set free once
    or for ever takes the same ways out, our own use of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.pack import NOMINAL, Corner, Pack
from bmslint.facts.quantity import Group, Missing
from bmslint.facts.sensors import Deciding
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import Result, Watched, Worse, lags, pack_and, ranged, sensors_of

if TYPE_CHECKING:
    from bmslint.physics.axis import Array
    from bmslint.physics.conduction import Block

WARM_DEGC = 20.0
# Much loss, little heat stored and a sensor that reads low; poor conduction lets the outside run ahead.
FAST = Corner(
    "cools fast", through="high", along="high", contact="low", film_contact="low", specific_heat="low",
    loss="high", lag="low", reading="low",
)  # fmt: skip
SLOW = Corner(
    "cools slowly", through="low", along="low", contact="high", film_contact="high", specific_heat="high",
    loss="low", lag="high", reading="high",
)  # fmt: skip
CORNERS, FAVOURABLE = (NOMINAL, FAST), (SLOW,)

WORSE: dict[str, Worse] = {
    "hours_to_inhibit": "low", "hours_to_discharge_inhibit": "low", "time_constant_h": "low",
    "hours_with_air_gap": "low", "air_gap_saves_pct": "low", "holding_W": "high",
    "holding_Wh_per_day": "high",
}  # fmt: skip


@dataclass(frozen=True)
class Inhibit:
    """A cold inhibit: its sensors and the reading below which it acts (degC)."""

    deciding: Deciding
    below_degC: float


@dataclass(frozen=True)
class Scene:
    """Everything that the cool-down needs, read once and used at every corner."""

    pack: Pack
    over_air: Pack | LackingError
    air_degC: float
    floor_degC: float
    charge: Inhibit | LackingError
    discharge: Inhibit | LackingError
    lag: dict[Side, float]


def cool_down(inputs: Inputs, shelf: Shelf, whole: bool) -> Group:
    """Derive how a pack of 20 degC cools at the coldest site, heater off.

    Args:
        inputs: the settings.
        shelf: blocks that other runs of this pack may have built.
        whole: whether the favourable ends of the ranges are wanted too.

    Returns:
        The facts of `cool_down`.
    """
    try:
        pack = pack_and(inputs, shelf, "site.coldest_degC")
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["cool_down"]}
    air = float(inputs.find("site.coldest_degC"))
    floor = inputs.find("site.floor_degC")
    over_air: Pack | LackingError = LackingError((), "the pack does not stand on a floor")
    if pack.floor_contact:
        over_air = replace(pack, underside=inputs.default("air_gap_W_per_m2K"), floor_contact=False)
    if pack.heated_m2 <= 0.0:
        inputs.note("where the holding heat is set free = evenly in the cells")
    scene = Scene(
        pack=pack,
        over_air=over_air,
        air_degC=air,
        floor_degC=air if floor is None or not pack.floor_contact else float(floor),
        charge=_inhibit(inputs, shelf, pack, "protection.charge_cold"),
        discharge=_inhibit(inputs, shelf, pack, "protection.discharge_cold"),
        lag=lags(inputs),
    )
    return ranged("cool_down", run(scene, CORNERS + FAVOURABLE * whole, shelf), WORSE, inputs)


def _inhibit(inputs: Inputs, shelf: Shelf, pack: Pack, path: str) -> Inhibit | LackingError:
    """Read a cold inhibit."""
    if inputs.find(path) == "none":
        return LackingError((), f"{path} is none")
    try:
        (below,) = inputs.need(f"{path}.inhibit_below_degC")
        return Inhibit(sensors_of(inputs, shelf, pack, path), float(below))
    except LackingError as error:
        return error


def run(scene: Scene, corners: Sequence[Corner], shelf: Shelf) -> list[Result]:
    """Let the pack cool at some corners and name what came of it, for each."""
    cases = [(scene.pack, corner) for corner in corners]
    gap = scene.over_air
    if not isinstance(gap, LackingError):
        cases += [(gap, corner) for corner in corners]
    inhibits = [each for each in (scene.charge, scene.discharge) if not isinstance(each, LackingError)]
    watched = Watched(cases, shelf, scene.lag, [inhibit.deciding for inhibit in inhibits], WARM_DEGC)
    charge, discharge = _hours(scene, watched, (scene.charge, scene.discharge))
    holding, shares = _holding_W(scene, corners, watched), floor_share(watched.block)
    slowest = watched.block.rates.min(axis=-1)
    results: list[Result] = []
    for number, corner in enumerate(corners):
        result: Result = {
            "hours_to_inhibit": charge[number],
            "hours_to_discharge_inhibit": discharge[number],
            "time_constant_h": 1.0 / float(slowest[number]) / 3600.0,
            "floor_share_pct": 100.0 * float(shares[number]),
        }
        if isinstance(gap, LackingError):
            result["hours_with_air_gap"] = result["air_gap_saves_pct"] = gap
        else:
            result["hours_with_air_gap"] = charge[len(corners) + number]
            result["air_gap_saves_pct"] = _saved_pct(scene.pack, gap, corner)
        watts = holding[number]
        result["holding_W"] = watts
        result["holding_Wh_per_day"] = watts if isinstance(watts, LackingError) else 24.0 * watts
        results.append(result)
    return results


def _saved_pct(on_floor: Pack, over_air: Pack, corner: Corner) -> float:
    """Give what an air gap takes away of what the floor contact conducts (%), the floor at its other end."""
    other: dict[Side, Side] = {"low": "high", "value": "value", "high": "low"}
    gap = over_air.loss_W_per_m2K("z_low", corner.loss)
    return 100.0 * (1.0 - gap / on_floor.loss_W_per_m2K("z_low", other[corner.loss]))


def _hours(
    scene: Scene, watched: Watched, inhibits: Sequence[Inhibit | LackingError]
) -> list[list[float | LackingError]]:
    """Give for each inhibit when the deciding reading falls to it (h), in each run."""
    from bmslint.physics.history import Left, Probes, Segment

    block, until_s = watched.block, watched.settles_s()
    given = [inhibit for inhibit in inhibits if not isinstance(inhibit, LackingError)]
    if given:
        probes = Probes(watched.probes, block)
        drop = {"air": scene.air_degC - WARM_DEGC, "floor": scene.floor_degC - WARM_DEGC}
        segment = Segment(block, probes, block.rest(), probes.rest(), drop)
        looks = Left.looks(probes, float(until_s.max())).ending(probes, until_s)
    hours: list[list[float | LackingError]] = []
    for inhibit in inhibits:
        if isinstance(inhibit, LackingError):
            hours.append([inhibit] * len(until_s))
            continue

        def margin(reports: "Array", _: "Array", inhibit: Inhibit = inhibit) -> "Array":
            return inhibit.below_degC - watched.decided(inhibit.deciding, reports)

        found = segment.first(margin, looks)
        never = LackingError((), "the deciding sensor never reads so low at this site")
        hours.append(
            [
                seconds / 3600.0 if reached else never
                for seconds, reached in zip(found.seconds.tolist(), found.reached.tolist(), strict=True)
            ]
        )
    return hours


def floor_share(block: "Block") -> "Array":
    """Give the share of evenly stored heat that leaves a cooling block through its underside.

    Args:
        block: the block, with a drive `inside`.

    Returns:
        Share for each block of a stack, 0 to 1, where all its surroundings are equally cold. It is the share
        of heat made evenly inside that leaves there in the steady state: heat set free at one place once or
        for ever takes the same ways out.
    """
    x, y, z = block.axes
    lowest = (z.middles_m < z.steps_m[0]).astype(float)
    bottom = block.probe([(x.steps_m / x.steps_m.sum(), y.steps_m / y.steps_m.sum(), lowest)])[..., 0, :]
    outward = z.low_W_per_m2K * z.half_W_per_m2K / (z.low_W_per_m2K + z.half_W_per_m2K)
    warmth = (bottom * block.steady({"inside": 1.0})).sum(axis=-1)
    share: Array = (outward * warmth / float(z.steps_m.sum())).clip(max=1.0)
    return share


def _holding_W(scene: Scene, corners: Sequence[Corner], watched: Watched) -> list[float | LackingError]:
    """Give the power that holds the deciding reading at the charge inhibit (W), at each corner."""
    import numpy as np

    if isinstance(scene.charge, LackingError):
        return [scene.charge] * len(corners)
    group, pack, below = scene.charge.deciding, scene.pack, scene.charge.below_degC
    columns = [watched.columns[sensor.name] for sensor in group.sensors]
    base = scene.air_degC + watched.settled({"floor": scene.floor_degC - scene.air_degC})
    if pack.heated_m2 > 0.0:
        gain = watched.settled({"heater": 1.0}) / pack.heated_m2
    else:
        gain = watched.settled({"inside": 1.0}) / float(np.prod(pack.size_m))
    found: list[float | LackingError] = []
    for number, corner in enumerate(corners):
        if float(gain[number, columns].min()) <= 1e-9:
            found.append(LackingError((), "the deciding sensor does not feel the heat"))
            continue
        wanted = [sensor.true_degC(below, corner.reading) for sensor in group.sensors]
        powers = (np.array(wanted) - base[number, columns]) / gain[number, columns]
        low, high = float(powers.min()), float(powers.max())
        if group.by == "mean" and high > low:
            tried = np.linspace(low, high, 33)
            rises = (base - WARM_DEGC)[..., None] + gain[..., None] * tried
            power = float(np.interp(below, watched.decided(group, rises)[number], tried))
        else:
            power = low if group.by == "highest" else high
        found.append(max(power, 0.0))
    return found
