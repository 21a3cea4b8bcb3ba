"""The corners of cooling, lasting current and stuck heater against 2,048 property sets from their ranges."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from packs import changed, of_profile
from samples import VARIED, between
from scipy.stats import qmc

from bmslint.facts import cool_down, hot, stuck
from bmslint.facts.inputs import Inputs, LackingError, Property
from bmslint.facts.pack import NOMINAL, Pack
from bmslint.facts.sensors import Deciding
from bmslint.facts.shelf import Shelf
from bmslint.limits import load_limits

COUNT_LOG2 = 11
ON_FLOOR = {"pack.enclosure.underside": "floor_contact"}
CASES: list[tuple[str, str, dict[str, Any]]] = [
    ("cool_down", "ridge-hut", {}),
    ("cool_down", "cold-store-forklift", ON_FLOOR),
    ("hot_discharge", "ridge-hut", {}),
    ("hot_discharge", "delivery-trike", {}),
    ("hot_charge", "orchard-robot", {}),
    ("heater_stuck_on", "cold-store-forklift", {}),
]
Run = Callable[[Any, Any, Shelf], Sequence[Mapping[str, Any]]]
PLACES: dict[str, tuple[Any, Run]] = {
    "cool_down": (cool_down, cool_down.run),
    "hot_charge": (hot, hot.run),
    "hot_discharge": (hot, hot.run),
    "heater_stuck_on": (stuck, stuck.run),
}


@cache
def scene_of(group: str, stem: str, changes: tuple[tuple[str, Any], ...]) -> Any:
    """Catch the scene that a group is run on."""
    document = changed(of_profile(stem), dict(changes))
    assert document is not None
    inputs = Inputs(document.data, load_limits(document.data))
    module, caught = PLACES[group][0], []

    def catch(scene: Any, corners: Any, shelf: Shelf) -> list[dict[str, Any]]:
        caught.append(scene)
        return [{}]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "run", catch)
        derive = stuck.heater_stuck_on if group == "heater_stuck_on" else getattr(module, group)
        derive(inputs, Shelf(), False)
    return caught[0]


def drawn_pack(pack: Pack, shares: Mapping[str, float]) -> Pack:
    """A pack at one property set; the array of round cells goes with their radial conductivity."""
    drawn = replace(pack, **{name: between(getattr(pack, name), shares[name]) for name in VARIED})
    return replace(drawn, radial=between(pack.radial, shares["through"]))


def with_error(group: Any, off: float) -> Any:
    if not isinstance(group, Deciding):
        return group
    return replace(
        group,
        sensors=tuple(
            replace(each, accuracy_K=each.accuracy_K * abs(off), resolution_K=each.resolution_K * abs(off))
            for each in group.sensors
        ),
    )


def at(scene: Any, shares: np.ndarray) -> tuple[Any, Any]:
    """The scene at one property set, and the corner whose side the sensors' error has."""
    named = dict(zip(VARIED, shares, strict=False))
    named["underside"] = named["outer"]
    lag, error, other = (float(each) for each in shares[len(VARIED) :])
    off = 2.0 * error - 1.0
    seconds = between(Property(scene.lag["low"], scene.lag["value"], scene.lag["high"], ""), lag).value
    changes: dict[str, Any] = {
        "pack": drawn_pack(scene.pack, named),
        "lag": dict.fromkeys(("low", "value", "high"), seconds),
    }
    if isinstance(scene, cool_down.Scene):
        if isinstance(scene.over_air, Pack):
            # The gap below is better or worse by itself, whatever a floor contact would be.
            changes["over_air"] = drawn_pack(scene.over_air, named | {"underside": other})
        for name in ("charge", "discharge"):
            inhibit = getattr(scene, name)
            if not isinstance(inhibit, LackingError):
                changes[name] = replace(inhibit, deciding=with_error(inhibit.deciding, off))
    elif isinstance(scene, hot.Scene):
        resistance = scene.joule.resistance
        energy = between(resistance.activation_J_per_mol, other)
        changes["joule"] = replace(scene.joule, resistance=resistance._replace(activation_J_per_mol=energy))
        changes["trip"] = with_error(scene.trip, off)
        if scene.charge is not None:
            changes["charge"] = replace(scene.charge, deciding=with_error(scene.charge.deciding, off))
    else:
        changes["power_W"] = between(scene.power_W, other)
    return replace(scene, **changes), replace(NOMINAL, reading="high" if off > 0.0 else "low")


def numbers(results: list[Mapping[str, Any]], name: str) -> list[float]:
    return [float(value) for result in results if not isinstance(value := result[name], LackingError | str)]


@pytest.mark.parametrize(("group", "stem", "changes"), CASES)
def test_the_judged_corners_bound_the_unfavourable_end(
    group: str, stem: str, changes: dict[str, Any]
) -> None:
    """At least 99 % of the property sets lie on the good side of every fact's unfavourable end; each
    property is drawn by itself, evenly in its logarithm. A millikelvin and a part in a thousand is what the
    search for an instant and the lines for the resistance cost."""
    scene = scene_of(group, stem, tuple(changes.items()))
    module, run = PLACES[group]
    shelf = Shelf()
    judged = run(scene, module.CORNERS, shelf)
    sets = qmc.Sobol(len(VARIED) + 3, seed=7).random_base2(COUNT_LOG2)
    sample = []
    for shares in sets:
        changed_scene, corner = at(scene, shares)
        sample.append(run(changed_scene, [corner], Shelf())[0])
    covered = {}
    for name, worse in module.WORSE.items():
        if isinstance(judged[0][name], LackingError) or not (found := numbers(sample, name)):
            continue
        ends = numbers(judged, name)
        end, slack = (min(ends) if worse == "low" else max(ends)), 1e-3
        good = [
            value >= end * (1 - 1e-3) - slack if worse == "low" else value <= end * (1 + 1e-3) + slack
            for value in found
        ]
        covered[name] = sum(good) / len(good)
    assert len(covered) >= 4
    assert {name: share for name, share in covered.items() if share < 0.99} == {}
