"""A heater that stays on for ever: how hot film and cells become, and whether a cut-out ends it.

Validity: the heater never ends, and nothing but the surroundings cools.
Source: the steady state of `physics.conduction`, and a balance at the film; our own arrangement.
"""

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from bmslint.facts.inputs import Inputs, LackingError, Property, Side
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.pack import NOMINAL, OUTER, Corner, Pack
from bmslint.facts.quantity import Group, Missing
from bmslint.facts.scene import heater_power
from bmslint.facts.sensors import Placing
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import SETTLED, Result, Worse, lags, pack_and, ranged

if TYPE_CHECKING:
    from bmslint.physics.conduction import Array, Block
    from bmslint.physics.history import Segment

MILD_DEGC = 20.0
# Much power, little loss and poor conduction make film and surface hot, and the other way round.
HOTTEST = Corner(
    "stuck, hot", through="low", along="low", contact="high", film_contact="high", specific_heat="low",
    power="high", loss="low",
)  # fmt: skip
COOLEST = Corner(
    "stuck, cool", through="high", along="high", contact="low", film_contact="low", specific_heat="high",
    power="low", loss="high",
)  # fmt: skip
CORNERS, FAVOURABLE = (NOMINAL, HOTTEST), (COOLEST,)

_WORSE: dict[str, Worse] = {
    "hottest_surface_degC": "high", "hottest_film_degC": "high", "cutout_ends_it": "low",
    "hottest_surface_with_cutout_degC": "high", "hours_to_cell_limit": "low",
}  # fmt: skip
WORSE = _WORSE | {f"mild_{name}": worse for name, worse in _WORSE.items()}


@dataclass(frozen=True)
class Scene:
    """Everything that the run needs, read once and used at every corner; temperatures in degC."""

    pack: Pack
    power_W: Property
    cutout_degC: float | LackingError
    limit_degC: float | LackingError
    starts: dict[str, float]
    lag: dict[Side, float]


@dataclass(frozen=True)
class Spot:
    """The hottest place of the cells' surface: the row of what lies behind it, itself and its film (K)."""

    row: "Array"
    surface_K: float
    film_K: float


def heater_stuck_on(inputs: Inputs, shelf: Shelf, whole: bool) -> Group:
    """Derive what a heater does that never switches off, at the hottest site and at 20 degC.

    Args:
        inputs: the settings.
        shelf: blocks that other runs of this pack may have built.
        whole: whether the favourable ends of the ranges are wanted too.

    Returns:
        The facts of `heater_stuck_on`; neither the heater's own thresholds nor its time limit end it.
    """
    try:
        if inputs.find("heater") == "none":
            raise LackingError((), "the pack has no heater")
        pack = pack_and(inputs, "site.hottest_degC", "heater.power_W", "heater.faces")
        if pack.heated_m2 <= 0.0:
            raise LackingError(("heater.faces",), "the heater lies on no face that this layout has")
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["heater_stuck_on"]}
    cutout = inputs.find("heater.cutout_degC")
    limit = inputs.limits.data.get("discharge_degC", {}).get("max")
    needed = inputs.limits.missing.get("discharge_degC.max", ())
    if limit is not None:
        inputs.bases.add(inputs.limits.sources["discharge_degC.max"].basis)
    scene = Scene(
        pack=pack,
        power_W=heater_power(inputs),
        cutout_degC=LackingError(("heater.cutout_degC",), "not described: heater.cutout_degC")
        if cutout is None
        else inf if cutout == "none" else float(cutout),
        limit_degC=LackingError(needed, "not known: how hot the cells may become")
        if limit is None
        else limit,
        starts={"": float(inputs.find("site.hottest_degC")), "mild_": MILD_DEGC},
        lag=lags(inputs),
    )  # fmt: skip
    corners = CORNERS + FAVOURABLE * whole
    return ranged("heater_stuck_on", [run(scene, corner, shelf) for corner in corners], WORSE, inputs)


def run(scene: Scene, corner: Corner, shelf: Shelf) -> Result:
    """Leave the heater on at a corner and name what comes of it."""
    import numpy as np

    from bmslint.physics.history import Probe, Probes, Segment

    pack, block = scene.pack, shelf.block(scene.pack, corner)
    flux = scene.power_W.at(corner.power) / pack.heated_m2
    steady = block.steady({"heater": 1.0})
    spot = hottest_spot(pack, block, corner, steady, 1.0)
    placing = Placing(pack, block, corner, scene.lag)
    at_spot = Probe(spot.row, {"heater": spot.surface_K - float(spot.row @ steady)}, 0.0)
    surface_K, film_K = spot.surface_K * flux, spot.film_K * flux
    probes = Probes([at_spot, placing.film()], block)
    segment = Segment(block, probes, block.rest(), np.zeros(2), {"heater": flux})
    rises = Rises(segment)
    result: Result = {}
    for prefix, start in scene.starts.items():
        result[f"{prefix}hottest_surface_degC"] = start + surface_K
        result[f"{prefix}hottest_film_degC"] = start + film_K
        limit = scene.limit_degC
        result[f"{prefix}hours_to_cell_limit"] = (
            limit if isinstance(limit, LackingError) else rises.hours(0, limit - start)
        )
        ends, with_cutout = _cut_out(scene, rises, corner, start, flux)
        result[f"{prefix}cutout_ends_it"] = ends
        result[f"{prefix}hottest_surface_with_cutout_degC"] = (
            start + surface_K if with_cutout is None else with_cutout
        )
    return result


def hottest_spot(pack: Pack, block: "Block", corner: Corner, state: "Array", flux_W_per_m2: float) -> Spot:
    """Find the hottest place under the films.

    Args:
        pack: the pack.
        block: its block at the corner.
        corner: which end of its range each property takes.
        state: modal amplitudes (K), shape (modes,).
        flux_W_per_m2: power density of the film (W/m2).

    Returns:
        The place. All surroundings are at the start temperature.
    """
    import numpy as np

    from bmslint.physics.conduction import FACES

    field = block.full_field(state)
    found: list[Spot] = []
    to_cell = pack.film_W_per_m2K(corner)
    for face in (face for name in pack.heated for face in OUTER[name]):
        number, high = divmod(FACES.index(face), 2)
        if high and block.alike[number]:
            continue
        axis = block.axes[number]
        layer = np.take(field, -1 if high else 0, axis=number)
        at = [int(part) for part in np.unravel_index(int(layer.argmax()), layer.shape)]
        at.insert(number, axis.count - 1 if high else 0)
        row = block.points(([at[0]], [at[1]], [at[2]]))[0]
        into = flux_W_per_m2 * pack.drive("heater", face, corner)
        surface = float(block.surface(float(layer.max()), face, into))
        outward = pack.loss_W_per_m2K(face, corner.loss)
        film = (flux_W_per_m2 + to_cell * surface) / (to_cell + outward)
        inward = axis.half_W_per_m2K / (axis.half_W_per_m2K + axis.conductance_W_per_m2K(bool(high)))
        found.append(Spot(row * inward, surface, film))
    if pack.between:
        found.append(_between(block, field, flux_W_per_m2))
    return max(found, key=lambda spot: spot.surface_K)


def _between(block: "Block", field: "Array", flux_W_per_m2: float) -> Spot:
    """Find the hottest place between two cells with a film in the gap; half its heat goes either way."""
    import numpy as np

    axis = block.axes[0]
    if axis.cells == 1:
        # A row taken as one body has no gaps left: its hottest volume stands for the cells beside one.
        at = np.unravel_index(int(field.argmax()), field.shape)
        row = block.points(([int(at[0])], [int(at[1])], [int(at[2])]))[0]
        return Spot(row, float(field.max()), float(field.max()))
    planes = axis.planes()
    layers = (field[planes] + field[planes + 1]) / 2.0
    at = np.unravel_index(int(layers.argmax()), layers.shape)
    plane = int(planes[at[0]])
    row = block.points(([plane, plane + 1], [int(at[1])], [int(at[2])])).mean(axis=0)
    warmest = float(layers.max())
    surface = warmest + 0.5 * flux_W_per_m2 / float(axis.halves_W_per_m2K[plane])
    return Spot(row, surface, surface + 0.25 * flux_W_per_m2 * axis.contact_m2K_per_W)


class Rises:
    """What two probes, of the hottest spot and of the film, report over a stretch (K above the start)."""

    def __init__(self, segment: "Segment") -> None:
        from bmslint.facts.loop import looks

        self.segment = segment
        self._times = looks(SETTLED / float(segment.block.rates.min()))
        self._seen = segment.reports(self._times)

    def hours(self, column: int, rise_K: float) -> float | LackingError:
        """Give when a probe has risen by so much (h)."""
        from bmslint.physics.history import first_time

        def margin(at: "Array") -> "Array":
            reports = self._seen if at is self._times else self.segment.reports(at)
            return reports[:, column] - rise_K

        seconds = first_time(margin, self._times)
        if seconds is None:
            return LackingError((), "it never becomes so hot")
        return seconds / 3600.0


def _cut_out(
    scene: Scene, rises: Rises, corner: Corner, start_degC: float, flux_W_per_m2: float
) -> tuple[bool | LackingError, float | LackingError | None]:
    """Give whether the cut-out opens, and the hottest surface until then (degC); None where it stays shut.

    A cut-out that closes again opens at the same film temperature, so the surface beside it becomes no
    hotter; it sits in the middle of the film's first face.
    """
    if isinstance(scene.cutout_degC, LackingError):
        return scene.cutout_degC, scene.cutout_degC
    hours = rises.hours(1, scene.cutout_degC - start_degC)
    if isinstance(hours, LackingError):
        return False, None
    state = rises.segment.states(hours * 3600.0)
    spot = hottest_spot(scene.pack, rises.segment.block, corner, state, flux_W_per_m2)
    return True, start_degC + (spot.surface_K if hours > 0.0 else 0.0)
