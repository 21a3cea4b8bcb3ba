"""A pack at its hottest site under a lasting current: when its sensors stop it, and how hot it is inside.

Validity: the current never changes but by its steps, and the cells' reversible heat is neglected.
Source: balance of heat made and heat lost; our own arrangement of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isnan
from typing import TYPE_CHECKING

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.pack import NOMINAL, Corner, Pack
from bmslint.facts.quantity import Group, Missing
from bmslint.facts.sensors import Deciding
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import Result, Worse, lags, pack_and, ranged, sensors_of

if TYPE_CHECKING:
    from bmslint.facts.charging import ChargeCurrent
    from bmslint.facts.hot_run import Course
    from bmslint.facts.joule import Joule

# Poor conduction, little loss and high resistance make the inside hot; a sensor that reads low stops it
# late, one that reads high early. The other way round nothing becomes hot.
STOPPED_LATE = Corner(
    "hot, read low", through="low", along="low", contact="high", film_contact="high", specific_heat="low",
    loss="low", lag="high", reading="low", resistance="high",
)  # fmt: skip
STOPPED_EARLY = Corner(
    "hot, read high", through="low", along="low", contact="high", film_contact="high", specific_heat="low",
    loss="low", lag="low", reading="high", resistance="high",
)  # fmt: skip
COOL = Corner(
    "cool, read low", through="high", along="high", contact="low", film_contact="low", specific_heat="high",
    loss="high", lag="high", reading="low", resistance="low",
)  # fmt: skip
CORNERS, FAVOURABLE = (NOMINAL, STOPPED_LATE, STOPPED_EARLY), (COOL,)

WORSE: dict[str, Worse] = {
    "current_A": "high", "trips": "high", "time_to_trip_min": "low", "hottest_at_trip_degC": "high",
    "steady_hottest_degC": "high", "steady_reading_degC": "high", "hottest_above_reading_K": "high",
    "hottest_degC": "high", "full_run_min": "high", "trips_in_full_run": "high",
    "hottest_in_full_run_degC": "high",
}  # fmt: skip


@dataclass(frozen=True)
class Scene:
    """Everything that a hot run needs, read once and used at every corner."""

    pack: Pack
    joule: "Joule"
    start_degC: float
    trip: Deciding | LackingError
    trip_degC: float
    delay_s: float
    constant_A: float
    charge: "ChargeCurrent | None"
    capacity_Ah: float | LackingError
    lag: dict[Side, float]

    def groups(self) -> list[Deciding]:
        """Give every group of sensors that decides something in the run."""
        found = [] if isinstance(self.trip, LackingError) else [self.trip]
        if self.charge is not None and self.charge.deciding is not None:
            found.append(self.charge.deciding)
        return found


def hot_discharge(inputs: Inputs, shelf: Shelf, whole: bool) -> Group:
    """Derive the lasting discharge at the hottest site: `load.continuous_A` from a soaked pack.

    Args:
        inputs: the settings.
        shelf: blocks that other runs of this pack may have built.
        whole: whether the favourable ends of the ranges are wanted too.

    Returns:
        The facts of `hot_discharge`.
    """
    try:
        wanted = ("site.hottest_degC", "load.continuous_A", "pack.cell.resistance_mohm")
        pack = pack_and(inputs, shelf, *wanted, *_trip_needs(inputs, "discharge_hot"))
        current = float(inputs.find("load.continuous_A"))
        scene = _read(inputs, shelf, pack, "discharge_hot", current, None)
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["hot_discharge"]}
    return ranged("hot_discharge", run(scene, CORNERS + FAVOURABLE * whole, shelf), WORSE, inputs)


def hot_charge(inputs: Inputs, shelf: Shelf, whole: bool) -> Group:
    """Derive the lasting charge at the hottest site: what chargers and paths push in within the steps.

    Args:
        inputs: the settings.
        shelf: blocks that other runs of this pack may have built.
        whole: whether the favourable ends of the ranges are wanted too.

    Returns:
        The facts of `hot_charge`.
    """
    from bmslint.facts.charging import charge_current

    try:
        needs = _trip_needs(inputs, "charge_hot")
        pack = pack_and(inputs, shelf, "site.hottest_degC", "pack.cell.resistance_mohm", *needs)
        current = shelf.read(inputs, charge_current)
        scene = _read(inputs, shelf, pack, "charge_hot", inf, current)
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["hot_charge"]}
    return ranged("hot_charge", run(scene, CORNERS + FAVOURABLE * whole, shelf), WORSE, inputs)


def _trip_needs(inputs: Inputs, entry: str) -> tuple[str, ...]:
    if inputs.find(f"protection.{entry}") == "none":
        return ()
    return f"protection.{entry}.inhibit_above_degC", f"protection.{entry}.sensors"


def _read(
    inputs: Inputs, shelf: Shelf, pack: Pack, entry: str, constant_A: float, charge: "ChargeCurrent | None"
) -> Scene:
    """Read the scene of a run; all that must be described is."""
    from bmslint.facts.joule import joule

    path = f"protection.{entry}"
    trip: Deciding | LackingError = LackingError((), f"{path} is none")
    above, delay = inf, 0.0
    if inputs.find(path) != "none":
        trip = sensors_of(inputs, shelf, pack, path)
        above, delay = float(inputs.find(f"{path}.inhibit_above_degC")), inputs.find(f"{path}.delay_s") or 0.0
    capacity = inputs.find("pack.capacity_Ah")
    if capacity is None and (cell := inputs.find("pack.cell.capacity_Ah")) is not None:
        capacity = cell * (inputs.find("pack.parallel") or 1.0)
    return Scene(
        pack=pack,
        joule=joule(inputs, pack),
        start_degC=float(inputs.find("site.hottest_degC")),
        trip=trip,
        trip_degC=above,
        delay_s=delay,
        constant_A=constant_A,
        charge=charge,
        capacity_Ah=LackingError(("pack.cell.capacity_Ah",), "not described: pack.cell.capacity_Ah")
        if capacity is None
        else float(capacity),
        lag=lags(inputs),
    )


def run(scene: Scene, corners: Sequence[Corner], shelf: Shelf) -> list[Result]:
    """Run at some corners and name what came of it, for each."""
    import numpy as np

    from bmslint.facts.hot_run import HotRuns

    runs = HotRuns(scene, corners, shelf)
    none = np.zeros_like(runs.gains)
    amounts = runs.currents_A(none[..., None], 0.0)[:, 0]
    heat = runs.settles_at()
    hottest = runs.hottest_degC(runs.unit * heat[:, None], heat)
    at_once = trips = np.zeros(len(corners), bool)
    settled: list[float | LackingError] = []
    if isinstance(scene.trip, LackingError):
        settled += [scene.trip] * len(corners)
    else:
        readings = runs.reading(heat[:, None] * runs.gains)
        settled += readings.tolist()
        at_once = runs.reading(none) >= scene.trip_degC
        trips = at_once | (readings >= scene.trip_degC)
    course = runs.follow(trips, heat * runs.mean_gain)
    trips = trips & (~np.isnan(course.trip_s) | at_once)
    results: list[Result] = []
    for number in range(len(corners)):
        result: Result = {
            "current_A": float(amounts[number]),
            "trips": bool(trips[number]),
            "steady_reading_degC": settled[number],
            "steady_hottest_degC": float(hottest[number]),
        }
        _name_trip(scene, course, number, result)
        _name_full(scene, course, number, result)
        results.append(result)
    return results


def _name_trip(scene: Scene, course: "Course", number: int, result: Result) -> None:
    """Name the state at the trip, or the one that nothing stops."""
    hottest, settled = result["steady_hottest_degC"], result["steady_reading_degC"]
    trip_s = float(course.trip_s[number])
    if result["trips"]:
        at_trip, reading = scene.start_degC, scene.start_degC
        if not isnan(trip_s):
            at_trip = float(course.hottest_at_trip_degC[number])
            reading = float(course.reading_at_trip_degC[number])
        result["time_to_trip_min"] = 0.0 if isnan(trip_s) else trip_s / 60.0
        result["hottest_at_trip_degC"] = result["hottest_degC"] = at_trip
        result["hottest_above_reading_K"] = at_trip - reading
        return
    never = LackingError((), "the sensors never stop this current")
    result["time_to_trip_min"] = result["hottest_at_trip_degC"] = never
    result["hottest_degC"] = hottest
    above = settled if isinstance(settled, LackingError) else float(hottest) - float(settled)  # type: ignore[arg-type]
    result["hottest_above_reading_K"] = above


def _name_full(scene: Scene, course: "Course", number: int, result: Result) -> None:
    """Name what one full charge or discharge at this current does."""
    names = ("full_run_min", "trips_in_full_run", "hottest_in_full_run_degC")
    if isinstance(scene.capacity_Ah, LackingError):
        result.update(dict.fromkeys(names, scene.capacity_Ah))
        return
    amount = float(result["current_A"])  # type: ignore[arg-type]
    if amount <= 0.0:
        result.update(dict.fromkeys(names, LackingError((), "no current flows at the hottest site")))
        return
    result["full_run_min"] = scene.capacity_Ah / amount * 60.0
    at_once = bool(result["trips"]) and isnan(float(course.trip_s[number]))
    result["trips_in_full_run"] = bool(course.trips_in_full[number]) or at_once
    result["hottest_in_full_run_degC"] = float(course.hottest_in_full_degC[number])
