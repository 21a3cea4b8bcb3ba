"""Warm-ups at property sets drawn from the whole ranges, to hold the corners against."""

from dataclasses import replace
from typing import Any

import numpy as np
from scipy.stats import qmc

from bmslint.facts.inputs import LackingError, Property
from bmslint.facts.pack import NOMINAL, Pack
from bmslint.facts.scene import Scene
from bmslint.facts.sensors import Deciding
from bmslint.facts.shelf import Shelf
from bmslint.facts.warmup import run

# Properties that the corners of the warm-up take to an end of their range.
VARIED = ("through", "along", "contact", "specific_heat", "film_contact", "outer", "underside", "coupling")
DIMENSIONS = len(VARIED) + 3
# Property sets that are run at once.
TOGETHER = 32


def between(prop: Property, share: float) -> Property:
    """Give a property fixed at a share of its range, evenly in its logarithm where it has no zero."""
    if prop.low > 0.0:
        value = prop.low * (prop.high / prop.low) ** share
    else:
        value = prop.low + (prop.high - prop.low) * share
    return Property(value, value, value, prop.basis)


def sampled(scene: Scene, shares: np.ndarray) -> tuple[Scene, Any]:
    """Give a scene at one property set, and the corner whose reading side the sensors' error has."""
    values = dict(zip(VARIED, shares, strict=False))
    # Air and radiation are worse or better together with the underside: one loss for all faces.
    values["underside"] = values["outer"]
    pack: Pack = replace(
        scene.pack, **{name: between(getattr(scene.pack, name), values[name]) for name in VARIED}
    )
    power, lag, error = (float(each) for each in shares[len(VARIED) :])
    lag_s = between(Property(scene.lag["low"], scene.lag["value"], scene.lag["high"], ""), lag).value
    off = 2.0 * error - 1.0

    def with_error(group: Deciding) -> Deciding:
        sensors = tuple(
            replace(each, accuracy_K=each.accuracy_K * abs(off), resolution_K=each.resolution_K * abs(off))
            for each in group.sensors
        )
        return Deciding(group.path, sensors, group.by)

    corner = replace(NOMINAL, reading="high" if off > 0.0 else "low")
    heater = None
    if scene.heater is not None and scene.heater_W is not None:
        rated, drawn, build = scene.heater_W, between(scene.heater_W, power).value, scene.heater

        def heater(_: Any) -> Any:
            made = build(NOMINAL)
            return replace(
                made,
                film_W_per_m2=made.film_W_per_m2 * drawn / rated.value,
                deciding=with_error(made.deciding),
            )

    current = scene.current
    if not isinstance(current, LackingError) and current.deciding is not None:
        current = replace(current, deciding=with_error(current.deciding))
    changed = replace(
        scene,
        pack=pack,
        release=replace(scene.release, deciding=with_error(scene.release.deciding)),
        heater=heater,
        current=current,
        lag={"low": lag_s, "value": lag_s, "high": lag_s},
        shelf=Shelf(),
    )
    return changed, corner


def drawn(scene: Scene, power_of_two: int) -> list[dict[str, Any]]:
    """Run a warm-up at 2**power_of_two property sets that fill the ranges evenly (Sobol, seed 1)."""
    points = qmc.Sobol(DIMENSIONS, seed=1).random_base2(power_of_two)
    found: list[dict[str, Any]] = []
    for first in range(0, len(points), TOGETHER):
        shelf = Shelf()
        cases = [sampled(scene, point) for point in points[first : first + TOGETHER]]
        together = [(replace(each, shelf=shelf), corner) for each, corner in cases]
        for result in run(together, [True] * len(together)):
            assert not isinstance(result, LackingError)
            found.append(dict(result))
    return found
