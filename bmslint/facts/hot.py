"""A pack at its hottest site under a lasting current: when its sensors stop it, and how hot it is inside.

Validity: the current never changes but by its steps, and the cells' reversible heat is neglected.
Source: balance of heat made and heat lost; our own arrangement of it.
"""

from dataclasses import dataclass
from math import inf
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
        pack = pack_and(inputs, *wanted, *_trip_needs(inputs, "discharge_hot"))
        current = float(inputs.find("load.continuous_A"))
        scene = _read(inputs, pack, "discharge_hot", current, None)
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["hot_discharge"]}
    corners = CORNERS + FAVOURABLE * whole
    return ranged("hot_discharge", [run(scene, corner, shelf) for corner in corners], WORSE, inputs)


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
        pack = pack_and(inputs, "site.hottest_degC", "pack.cell.resistance_mohm", *needs)
        scene = _read(inputs, pack, "charge_hot", inf, charge_current(inputs))
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["hot_charge"]}
    corners = CORNERS + FAVOURABLE * whole
    return ranged("hot_charge", [run(scene, corner, shelf) for corner in corners], WORSE, inputs)


def _trip_needs(inputs: Inputs, entry: str) -> tuple[str, ...]:
    if inputs.find(f"protection.{entry}") == "none":
        return ()
    return f"protection.{entry}.inhibit_above_degC", f"protection.{entry}.sensors"


def _read(inputs: Inputs, pack: Pack, entry: str, constant_A: float, charge: "ChargeCurrent | None") -> Scene:
    """Read the scene of a run; all that must be described is."""
    from bmslint.facts.joule import joule

    path = f"protection.{entry}"
    trip: Deciding | LackingError = LackingError((), f"{path} is none")
    above, delay = inf, 0.0
    if inputs.find(path) != "none":
        trip = sensors_of(inputs, pack, path)
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


def run(scene: Scene, corner: Corner, shelf: Shelf) -> Result:
    """Run at a corner and name what came of it."""
    from bmslint.facts.hot_run import Run

    this = Run(scene, corner, shelf)
    none = 0.0 * this.gains
    amount = this.current_A(none, 0.0)
    heat = this.settles_at()
    hottest = this.hottest_degC(this.unit * heat, heat)
    result: Result = {"current_A": amount}
    trips = False
    settled_reading: float | LackingError
    if isinstance(scene.trip, LackingError):
        settled_reading = scene.trip
    else:
        settled_reading = this.reading(heat * this.gains)
        trips = max(settled_reading, this.reading(none)) >= scene.trip_degC
    course = this.follow(trips, heat * this.mean_gain)
    trips = trips and (course.trip_s is not None or this.reading(none) >= scene.trip_degC)
    result["trips"] = trips
    result["steady_reading_degC"] = settled_reading
    result["steady_hottest_degC"] = hottest
    _name_trip(scene, course, trips, hottest, settled_reading, result)
    _name_full(scene, course, amount, result)
    return result


def _name_trip(
    scene: Scene,
    course: "Course",
    trips: bool,
    hottest: float,
    settled_reading: float | LackingError,
    result: Result,
) -> None:
    """Name the state at the trip, or the one that nothing stops."""
    if trips:
        at_trip, reading = course.hottest_at_trip_degC, course.reading_at_trip_degC
        if course.trip_s is None:
            at_trip, reading = scene.start_degC, scene.start_degC
        result["time_to_trip_min"] = (course.trip_s or 0.0) / 60.0
        result["hottest_at_trip_degC"] = result["hottest_degC"] = at_trip
        result["hottest_above_reading_K"] = at_trip - reading
        return
    never = LackingError((), "the sensors never stop this current")
    result["time_to_trip_min"] = result["hottest_at_trip_degC"] = never
    result["hottest_degC"] = hottest
    result["hottest_above_reading_K"] = (
        settled_reading if isinstance(settled_reading, LackingError) else hottest - settled_reading
    )


def _name_full(scene: Scene, course: "Course", amount: float, result: Result) -> None:
    """Name what one full charge or discharge at this current does."""
    names = ("full_run_min", "trips_in_full_run", "hottest_in_full_run_degC")
    if isinstance(scene.capacity_Ah, LackingError):
        result.update(dict.fromkeys(names, scene.capacity_Ah))
        return
    if amount <= 0.0:
        result.update(dict.fromkeys(names, LackingError((), "no current flows at the hottest site")))
        return
    result["full_run_min"] = scene.capacity_Ah / amount * 60.0
    result["trips_in_full_run"] = course.trips_in_full or bool(result["trips"] and course.trip_s is None)
    result["hottest_in_full_run_degC"] = course.hottest_in_full_degC
