"""A heater that stays on for ever: how hot film and cells become, and whether a cut-out ends it.

Validity: the heater never ends, and nothing but the surroundings cools.
Source: the steady state of `physics.conduction`, and a balance at the film; our own arrangement.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from bmslint.facts.inputs import Inputs, LackingError, Property, Side
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.pack import NOMINAL, OUTER, Case, Corner, Pack
from bmslint.facts.quantity import Group, Missing
from bmslint.facts.scene import heater_power
from bmslint.facts.shelf import Shelf
from bmslint.facts.soaked import SETTLED, Result, Worse, lags, pack_and, ranged

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bmslint.physics.axis import Array
    from bmslint.physics.conduction import Block

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
    """The hottest place of the cells' surface in each run.

    Args:
        row: what reads the volume behind it, shape (runs, modes).
        surface_K: the place itself (K), shape (runs,).
        film_K: the film above it (K), shape (runs,).
    """

    row: "Array"
    surface_K: "Array"
    film_K: "Array"


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
        pack = pack_and(inputs, shelf, "site.hottest_degC", "heater.power_W", "heater.faces")
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
    return ranged("heater_stuck_on", run(scene, CORNERS + FAVOURABLE * whole, shelf), WORSE, inputs)


def run(scene: Scene, corners: Sequence[Corner], shelf: Shelf) -> list[Result]:
    """Leave the heater on at some corners and name what comes of it, for each."""
    import numpy as np

    # Each start is a run of its own at each corner.
    prefixes = [prefix for prefix in scene.starts for _ in corners]
    start = np.array([scene.starts[prefix] for prefix in prefixes])
    cases = [(scene.pack, corner) for corner in (*corners,) * len(scene.starts)]
    flux = np.array([scene.power_W.at(corner.power) for _, corner in cases]) / scene.pack.heated_m2
    block = shelf.block(cases)
    spot = hottest_spot(cases, block, block.steady({"heater": 1.0}), np.ones(len(cases)))
    rises = Rises(cases, block, spot, shelf, flux)
    limit: Sequence[float | LackingError] = [scene.limit_degC] * len(cases)
    if not isinstance(scene.limit_degC, LackingError):
        limit = rises.hours(0, scene.limit_degC - start)
    ends, with_cutout = _cut_out(scene, rises, start, flux, start + spot.surface_K * flux)
    results: list[Result] = [{} for _ in corners]
    for number, prefix in enumerate(prefixes):
        results[number % len(corners)] |= {
            f"{prefix}hottest_surface_degC": float((start + spot.surface_K * flux)[number]),
            f"{prefix}hottest_film_degC": float((start + spot.film_K * flux)[number]),
            f"{prefix}hours_to_cell_limit": limit[number],
            f"{prefix}cutout_ends_it": ends[number],
            f"{prefix}hottest_surface_with_cutout_degC": with_cutout[number],
        }
    return results


def hottest_spot(cases: Sequence[Case], block: "Block", states: "Array", flux_W_per_m2: "Array") -> Spot:
    """Find the hottest place under the films in each run.

    Args:
        cases: the pack of each run, and which end of its range each property takes.
        block: their stack of blocks.
        states: modal amplitudes (K), shape (runs, modes).
        flux_W_per_m2: power density of the film (W/m2), shape (runs,).

    Returns:
        The places. All surroundings are at the start temperature.
    """
    import numpy as np

    from bmslint.facts.blocks import film_W_per_m2K, outside
    from bmslint.physics.conduction import FACES

    pack, field = cases[0][0], block.full_field(states)
    found: list[Spot] = []
    to_cell, faces = film_W_per_m2K(cases), outside(cases)
    for face in (face for name in pack.heated for face in OUTER[name]):
        number, high = divmod(FACES.index(face), 2)
        if high and block.alike[number]:
            continue
        axis = block.axes[number]
        layer = np.take(field, -1 if high else 0, axis=number + 1)
        warmest, at = _warmest(layer)
        at.insert(number, np.full(len(cases), axis.count - 1 if high else 0))
        surface = np.asarray(block.surface(warmest, face, flux_W_per_m2 * faces[face].drives["heater"]))
        outward = faces[face].loss_W_per_m2K
        film = (flux_W_per_m2 + to_cell * surface) / (to_cell + outward)
        inward = axis.half_W_per_m2K / (axis.half_W_per_m2K + axis.conductance_W_per_m2K(bool(high)))
        found.append(Spot(block.spots(at) * inward[:, None], surface, film))
    if pack.between:
        found.append(_between(block, field, flux_W_per_m2))
    best, every = np.argmax([spot.surface_K for spot in found], axis=0), np.arange(len(cases))
    return Spot(
        np.stack([spot.row for spot in found])[best, every],
        np.stack([spot.surface_K for spot in found])[best, every],
        np.stack([spot.film_K for spot in found])[best, every],
    )


def _warmest(field: "Array") -> "tuple[Array, list[NDArray[np.int64]]]":
    """Give the highest temperature in each run, and where it is along each further axis of the field."""
    import numpy as np

    flat = field.reshape(len(field), -1)
    at = flat.argmax(axis=1)
    return flat[np.arange(len(flat)), at], list(np.unravel_index(at, field.shape[1:]))


def _between(block: "Block", field: "Array", flux_W_per_m2: "Array") -> Spot:
    """Find the hottest place between two cells with a film in the gap; half its heat goes either way."""
    axis = block.axes[0]
    if axis.cells == 1:
        # A row taken as one body has no gaps left: its hottest volume stands for the cells beside one.
        warmest, at = _warmest(field)
        return Spot(block.spots(at), warmest, warmest)
    planes = axis.planes()
    warmest, (plane, *at) = _warmest((field[:, planes] + field[:, planes + 1]) / 2.0)
    before = planes[plane]
    row = (block.spots([before, *at]) + block.spots([before + 1, *at])) / 2.0
    # All inner volumes are cut alike.
    surface = warmest + 0.5 * flux_W_per_m2 / axis.halves_W_per_m2K[:, planes[0]]
    return Spot(row, surface, surface + 0.25 * flux_W_per_m2 * axis.contact_m2K_per_W)


class Rises:
    """What the hottest spot and the film rise to while the heater is on, in each run (K above the start)."""

    def __init__(
        self, cases: Sequence[Case], block: "Block", spot: Spot, shelf: Shelf, flux_W_per_m2: "Array"
    ) -> None:
        from bmslint.physics.history import Left, Probe, Probes, Segment

        self.cases = cases
        above = spot.surface_K - (spot.row * block.steady({"heater": 1.0})).sum(axis=-1)
        film = shelf.places(cases, True)[0]
        probes = Probes([Probe(spot.row, {"heater": above}, 0.0), film], block)
        self.segment = Segment(block, probes, block.rest(), probes.rest(), {"heater": flux_W_per_m2})
        until_s = SETTLED / block.rates.min(axis=-1)
        self._looks = Left.looks(probes, float(until_s.max())).ending(probes, until_s)

    def hours(self, column: int, rise_K: "Array") -> list[float | LackingError]:
        """Give when the spot (0) or the film (1) has risen by so much (h), in each run."""

        def margin(reports: "Array", _: "Array") -> "Array":
            return reports[:, column] - rise_K[:, None]

        found = self.segment.first(margin, self._looks)
        never = LackingError((), "it never becomes so hot")
        return [
            seconds / 3600.0 if reached else never
            for seconds, reached in zip(found.seconds.tolist(), found.reached.tolist(), strict=True)
        ]


def _cut_out(
    scene: Scene, rises: Rises, start_degC: "Array", flux_W_per_m2: "Array", without_degC: "Array"
) -> tuple[Sequence[bool | LackingError], Sequence[float | LackingError]]:
    """Give whether the cut-out opens, and the hottest surface until then (degC), in each run.

    A cut-out that closes again opens at the same film temperature, so the surface beside it becomes no
    hotter; it sits in the middle of the film's first face.
    """
    import numpy as np

    if isinstance(scene.cutout_degC, LackingError):
        return [scene.cutout_degC] * len(start_degC), [scene.cutout_degC] * len(start_degC)
    hours = rises.hours(1, scene.cutout_degC - start_degC)
    opens_s = np.array([-1.0 if isinstance(each, LackingError) else each * 3600.0 for each in hours])
    ends = opens_s >= 0.0
    surface = without_degC
    if ends.any():
        states = rises.segment.states(np.maximum(opens_s, 0.0))
        spot = hottest_spot(rises.cases, rises.segment.block, states, flux_W_per_m2)
        there = start_degC + np.where(opens_s > 0.0, spot.surface_K, 0.0)
        surface = np.where(ends, there, without_degC)
    return ends.tolist(), surface.tolist()
