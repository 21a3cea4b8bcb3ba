"""Ways out of a cold release, found on the model of the warm-up itself.

These cost many runs, so they are derived only where they are asked for: shown with the facts, or tried as
a suggestion.

Validity: the release is safe below one power and unsafe above it; steps as a person sets them.
Source: bisection, any text on numerical methods, on the forward run itself; our own.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import floor

from bmslint.facts.corners import AHEAD
from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import unit_of
from bmslint.facts.pack import NOMINAL, Corner
from bmslint.facts.quantity import Missing, Quantity, Value
from bmslint.facts.scene import Heater, Scene, ambient_scene, heated_scene
from bmslint.facts.sensors import Deciding, Sensor
from bmslint.limits import allowed_current_A

# Powers tried, as parts of the rated one: no heater is built outside a fiftieth to four times of its power.
WEAKEST, STRONGEST, STEP = 0.02, 4.0, 1.25
# Bisections between a power that does and one that does not: to 1 % of the power.
BISECTIONS = 5
PLACES = (
    ("between_cells", "middle", "ends"),
    ("between_cells", "outer", "ends"),
    ("cell_face", "middle", "ends"),
    ("cell_face", "middle", "sides"),
    ("cell_face", "middle", "top"),
    ("cell_face", "middle", "bottom"),
    ("terminal", "middle", "top"),
)
"""Places of a sensor that are tried: place, position, face."""


def inverse(inputs: Inputs, name: str) -> Quantity | Missing:
    """Derive one way out.

    Args:
        inputs: the settings.
        name: the fact of the group `inverse`.

    Returns:
        The fact.
    """
    try:
        nominal, unfavourable = DERIVED[name](inputs)
    except LackingError as error:
        return Missing(error.paths, error.reason)
    except (ValueError, ArithmeticError) as error:
        return Missing(("pack",), f"these settings cannot be computed: {error}")
    low, high = nominal, nominal
    if not isinstance(nominal, str) and not isinstance(unfavourable, str):
        low, high = min(nominal, unfavourable), max(nominal, unfavourable)
    return Quantity(
        nominal, low, high, unit_of("inverse", name), inputs.basis,
        None if isinstance(nominal, str) else "low", tuple(sorted(inputs.assumed)),
    )  # fmt: skip


def coldest_at_release(scene: Scene, corners: Sequence[Corner]) -> list[float | None]:
    """Run a warm-up up to the release.

    Args:
        scene: what the runs need.
        corners: which end of its range each property takes in each run.

    Returns:
        For each run the coldest point then (degC); None if charging is never released.
    """
    from bmslint.facts.loop import until_release
    from bmslint.facts.runs import Runs

    runs = Runs([(scene, corner) for corner in corners])
    released = until_release(runs)
    field = runs.block.field(runs.state).reshape(len(corners), -1)
    coldest = field.min(axis=1) + runs.start_degC
    return [degC if there else None for degC, there in zip(coldest.tolist(), released.tolist(), strict=True)]


def _safe(scene: Scene, corners: Sequence[Corner], least_degC: float) -> bool:
    """Whether at all corners charging is released, and every cell is then warm enough."""
    return all(cold is not None and cold >= least_degC for cold in coldest_at_release(scene, corners))


def _least(scene: Scene) -> float:
    if isinstance(scene.least_degC, LackingError):
        raise scene.least_degC
    return scene.least_degC


def _with_power(scene: Scene, part: float) -> Scene:
    """Give a scene with the heater at a part of its power."""
    build = scene.heater
    if build is None:
        raise LackingError((), "the pack has no heater")

    def weaker(corner: Corner) -> Heater:
        heater = build(corner)
        return replace(heater, film_W_per_m2=heater.film_W_per_m2 * part)

    return replace(scene, heater=weaker)


def _largest_part(scene: Scene, corner: Corner) -> float:
    """Find the largest part of the power at which the release is safe."""
    least = _least(scene)

    def safe(part: float) -> bool:
        return _safe(_with_power(scene, part), [corner], least)

    low = high = 1.0
    if safe(1.0):
        while high < STRONGEST and safe(high * STEP):
            high *= STEP
        low, high = high, high * STEP
        if low >= STRONGEST:
            return STRONGEST
    else:
        while not safe(low / STEP):
            low /= STEP
            if low < WEAKEST:
                raise LackingError((), "no power of this heater makes the release safe on this sensor")
        low, high = low / STEP, low
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if safe(middle) else (low, middle)
    return low


def _largest_heater(inputs: Inputs) -> tuple[float, float]:
    scene = heated_scene(inputs)
    rated = float(inputs.find("heater.power_W"))
    if rated <= 0.0:
        raise LackingError((), "the heater has no power")
    found = [rated * _largest_part(scene, corner) for corner in (NOMINAL, AHEAD)]
    return float(floor(found[0])), float(floor(found[1]))


def _bearable(scene: Scene) -> tuple[float, float]:
    """Find what the whole pack bears at its coldest point when charging is released."""
    cells = scene.cells
    if isinstance(cells, LackingError):
        raise cells
    found = []
    for cold in coldest_at_release(scene, (NOMINAL, AHEAD)):
        if cold is None:
            raise LackingError((), "charging never resumes in this run")
        found.append(allowed_current_A(cells.allowed, cold) * cells.parallel)
    return found[0], found[1]


def _places(scene: Scene) -> tuple[str, str]:
    """Name the places at which one sensor, with the release as it is, would be safe."""
    least = _least(scene)
    pattern = scene.release.deciding.sensors[0]
    fitting = []
    for place, position, face in PLACES:
        if (
            place == "between_cells"
            and scene.pack.counts[0] * scene.pack.counts[1] * scene.pack.counts[2] == 1
        ):
            continue
        # Under a name of its own, for the heater may go by the sensor that is moved here.
        moved: Sensor = replace(
            pattern,
            name=f"tried {place} {position} {face}",
            place=place,
            position=position,
            face=face,
            cell=0,
        )
        release = replace(scene.release, deciding=Deciding(scene.release.deciding.path, (moved,), "lowest"))
        if _safe(replace(scene, release=release), (NOMINAL, AHEAD), least):
            where = {"between_cells": position, "cell_face": face}.get(place, "")
            fitting.append(f"{place} ({where})" if where else place)
    told = ", ".join(fitting) or "none of them"
    return told, told


DERIVED: dict[str, Callable[[Inputs], tuple[Value, Value]]] = {
    "largest_heater_W": _largest_heater,
    "bearable_at_heated_release_A": lambda inputs: _bearable(heated_scene(inputs)),
    "bearable_when_brought_in_A": lambda inputs: _bearable(ambient_scene(inputs)),
    "places_when_heated": lambda inputs: _places(heated_scene(inputs)),
    "places_when_brought_in": lambda inputs: _places(ambient_scene(inputs)),
}
