"""Everything that a warm-up needs, read from the settings once."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf, prod
from typing import TYPE_CHECKING, TypeVar

from bmslint.facts.block import energy_Wh
from bmslint.facts.inputs import Inputs, LackingError, Property, Side
from bmslint.facts.pack import Corner, Pack, describe
from bmslint.facts.sensors import Deciding, deciding
from bmslint.facts.shelf import Shelf

if TYPE_CHECKING:
    from bmslint.facts.charging import Cells, ChargeCurrent

Kind = TypeVar("Kind")


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


@dataclass(frozen=True)
class Scene:
    """Everything that one warm-up needs, read once and used at every corner."""

    pack: Pack
    around: Surroundings
    release: Release
    heater: Callable[[Corner], Heater] | None
    heater_W: Property | None
    lag: dict[Side, float]
    least_degC: float | LackingError
    current: "ChargeCurrent | LackingError"
    cells: "Cells | LackingError"
    pack_Wh: float | LackingError
    horizon_s: float
    shelf: Shelf = field(default_factory=Shelf, compare=False, repr=False)


RELEASE_NEEDS = (
    "protection.charge_cold.inhibit_below_degC",
    "protection.charge_cold.release_above_degC",
    "protection.charge_cold.sensors",
)
AMBIENT_NEEDS = ("site.coldest_degC", "site.warms_to_degC", *RELEASE_NEEDS)
HEATED_NEEDS = (
    "site.coldest_degC",
    *RELEASE_NEEDS,
    "heater.power_W",
    "heater.faces",
    "heater.on_below_degC",
    "heater.off_above_degC",
    "heater.sensors",
)


# Time after which a run is given up: two days with a heater, two weeks without.
HEATED_HORIZON_S, AMBIENT_HORIZON_S = 48 * 3600.0, 14 * 86400.0


def heated_scene(inputs: Inputs, shelf: Shelf | None = None) -> Scene:
    """Read the heated warm-up: soaked at the coldest site temperature, charger present.

    Args:
        inputs: the settings.
        shelf: keeps what runs of this file share.

    Returns:
        The scene.

    Raises:
        LackingError: there is no heater, or something needed is not described.
    """
    if inputs.find("heater") == "none":
        raise LackingError((), "the pack has no heater")
    shelf = shelf or Shelf()
    coldest = start_of(inputs, HEATED_NEEDS, shelf)
    floor = inputs.find("site.floor_degC")
    floor = coldest if floor is None else floor
    return read_scene(inputs, coldest, coldest, floor, HEATED_HORIZON_S, shelf)


def ambient_scene(inputs: Inputs, shelf: Shelf | None = None) -> Scene:
    """Read the warm-up without a heater: soaked cold, then brought into warmer air.

    Args:
        inputs: the settings.
        shelf: keeps what runs of this file share.

    Returns:
        The scene.

    Raises:
        LackingError: the pack is never brought into warmer air, or something needed is not described.
    """
    shelf = shelf or Shelf()
    coldest = start_of(inputs, AMBIENT_NEEDS, shelf)
    (air,) = inputs.need("site.warms_to_degC")
    if air == "none":
        raise LackingError((), "the pack is never brought into warmer air")
    if air <= coldest:
        told = "the air it is brought into is no warmer than the site at its coldest"
        raise LackingError(("site.warms_to_degC",), told)
    return read_scene(inputs, coldest, air, air, AMBIENT_HORIZON_S, shelf)


def start_of(inputs: Inputs, paths: tuple[str, ...], shelf: Shelf) -> float:
    """Hold that everything needed is described.

    Args:
        inputs: the settings.
        paths: what the run needs.
        shelf: keeps what runs of this file share.

    Returns:
        The coldest site temperature, at which the pack is soaked (degC).

    Raises:
        LackingError: something is not described; it names all of it at once.
    """
    if inputs.find("protection.charge_cold") == "none":
        raise LackingError((), "charging is never inhibited in the cold")
    cold = inputs.find("protection.charge_cold")
    if isinstance(cold, dict) and cold.get("release_above_degC", inf) < cold.get("inhibit_below_degC", -inf):
        raise LackingError((), "charging is released below the reading that inhibits it")
    lacking: list[str] = []
    for attempt in (lambda: inputs.need(*paths), lambda: shelf.read(inputs, describe)):
        try:
            attempt()
        except LackingError as error:
            lacking += error.paths
    if lacking:
        raise LackingError(tuple(lacking), "not described: " + ", ".join(lacking))
    return float(inputs.find("site.coldest_degC"))


def _attempt(shelf: Shelf, inputs: Inputs, read: Callable[[Inputs], Kind]) -> "Kind | LackingError":
    try:
        return shelf.read(inputs, read)
    except LackingError as error:
        return error


def read_scene(
    inputs: Inputs,
    start_degC: float,
    air_degC: float,
    floor_degC: float,
    horizon_s: float,
    shelf: Shelf | None = None,
) -> Scene:
    """Read everything that a warm-up needs.

    Args:
        inputs: the settings.
        start_degC: temperature at which the whole pack is soaked (degC).
        air_degC: temperature of the air during the run (degC); with air warmer than the start the heater
            is left out.
        floor_degC: temperature of the floor during the run (degC).
        horizon_s: time after which a run is given up (s).
        shelf: keeps what runs of this file share.

    Returns:
        The scene.

    Raises:
        LackingError: something needed is not described.
    """
    from bmslint.facts.charging import charge_current, meeting

    shelf = shelf or Shelf()
    cold = inputs.find("protection.charge_cold")
    lag = inputs.default("sensor_lag_s")
    pack = shelf.read(inputs, describe)
    least = inputs.limits.data.get("charge_degC", {}).get("min")
    needed = inputs.limits.missing.get("charge_degC.min", ())
    group = shelf.read(inputs, deciding, "protection.charge_cold")
    if prod(pack.counts) == 1:
        alone = tuple(f"sensors.{each.name}.place" for each in group.sensors if each.place == "between_cells")
        if alone:
            raise LackingError(alone, "a pack of one cell has no place between cells")
    heater, power = (None, None) if air_degC > start_degC else _heater(inputs, pack, shelf)
    return Scene(
        pack=pack,
        around=Surroundings(start_degC, air_degC, floor_degC),
        release=Release(
            deciding=group,
            inhibit_below_degC=cold["inhibit_below_degC"],
            release_above_degC=cold["release_above_degC"],
            wait_s=cold.get("hold_s", 0.0),  # its delay is before it blocks, and lets no cell warm
        ),
        heater=heater,
        heater_W=power,
        lag={"low": lag.low, "value": lag.value, "high": lag.high},
        least_degC=LackingError(needed, "not known: the lowest charge temperature")
        if least is None
        else least,
        current=_attempt(shelf, inputs, charge_current),
        cells=_attempt(shelf, inputs, meeting),
        pack_Wh=_attempt(shelf, inputs, energy_Wh),
        horizon_s=horizon_s,
        shelf=shelf,
    )


def heater_power(inputs: Inputs) -> Property:
    """Read the power of the whole heater with its range.

    Args:
        inputs: the settings, with `heater.power_W` described.

    Returns:
        The power (W).
    """
    declared = inputs.find("heater.tolerance_pct")
    if declared is None:
        part = inputs.default("heater_tolerance_pct")
        low, high = part.low, part.high
    else:
        low, high = -declared, declared
    rated = float(inputs.find("heater.power_W"))
    return Property(rated * max(1 + low / 100, 0.0), rated, rated * (1 + high / 100), "declared")


def _heater(inputs: Inputs, pack: Pack, shelf: Shelf) -> tuple[Callable[[Corner], Heater], Property]:
    """Read the heater, and how to build it at a corner."""
    entry = inputs.find("heater")
    if pack.heated_m2 <= 0.0:
        raise LackingError(("heater.faces",), "the heater lies on no face that this layout has")
    power = heater_power(inputs)
    decides = shelf.read(inputs, deciding, "heater")
    most_min = entry.get("max_on_min")
    cutout = entry.get("cutout_degC")

    def build(corner: Corner) -> Heater:
        return Heater(
            deciding=decides,
            on_below_degC=entry["on_below_degC"],
            off_above_degC=entry["off_above_degC"],
            film_W_per_m2=power.at(corner.power) / pack.heated_m2,
            most_on_s=inf if most_min in (None, "none") else most_min * 60.0,
            cutout_degC=inf if cutout in (None, "none") else cutout,
        )

    return build, power
