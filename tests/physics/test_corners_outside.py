"""The corners of a warm-up against properties drawn from their ranges, on scipy's sparse network.

Independent of the corners, of the conduction and of how a pack is described: each property is drawn by
itself or taken to an end by itself, and the network is solved by scipy's symmetric eigensolver and its root
finder (Brent). The film is on all the time.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import product

import numpy as np
import pytest
from eighth_pack import SOAKED_DEGC, Array, Eighth, Properties, Told
from scipy.linalg import eigh
from scipy.optimize import brentq
from scipy.stats import qmc

from bmslint.facts import Quantity
from bmslint.facts.quantity import Group

# The pack with nothing declared of its properties, so that each has the range of its default.
UNDECLARED = {
    "thermal: {through_W_per_mK: 0.9, along_W_per_mK: 19, specific_heat_J_per_kgK: 1020, ": "thermal: {",
    "contact_m2K_per_W: 0.0003": "gap: contact",
    "contact_m2K_per_W: 0.0006, ": "",
    "tolerance_pct: 0": "tolerance_pct: 10",
    "accuracy_K: 0": "accuracy_K: 1",
}  # fmt: skip
# The same ranges as the tables of defaults have them (rules/defaults.yaml, chemistries/lfp.yaml).
RANGES = {
    "through": (0.5, 1.5), "along": (10.0, 27.0), "specific_heat": (900.0, 1150.0), "contact": (1e-4, 1e-3),
    "film": (5e-4, 7e-4), "air_and_radiation": (2.5 + 3.3, 4.4 + 5.4), "power": (0.9, 1.1),
}  # fmt: skip
LONG_S = 1e7
# Half as fine as in the other tests: a tenth of a kelvin on the surface under a film.
ROUGH = (10, 3, 3)


@dataclass(frozen=True)
class Came:
    """What came of one set: minutes to the release and until the coldest is warm, temperatures then."""

    time_to_release_min: float
    coldest_at_release_degC: float
    spread_at_release_K: float
    coldest_warm_after_min: float


WORSE = {
    "time_to_release_min": 1.0, "coldest_at_release_degC": -1.0, "spread_at_release_K": 1.0,
    "coldest_warm_after_min": 1.0,
}  # fmt: skip


@dataclass(frozen=True)
class Unit:
    """What 1 W of film, or the air that the pack is brought into, does: end, core, coldest volume (K)."""

    rises: Callable[[float], Array]


@lru_cache(maxsize=1)
def unit(told: Told, properties: Properties) -> Unit:
    """Solve the network once for all powers and sensors' errors."""
    on = told.power_W is not None
    eighth = Eighth(told, properties, ROUGH)
    rates, modes = eigh(eighth.block.reduced.toarray() / eighth.block.capacity)
    drive = modes.T @ eighth.heats[on]

    def rises(seconds: float) -> Array:
        state = modes @ (drive * -np.expm1(-rates * seconds) / rates)
        return np.array([eighth.end(state, on), eighth.core @ state, state.min()])

    return Unit(rises)


def came(told: Told, shares: dict[str, float], reads_K: float) -> Came:
    """Run one property set to the release; its power is a multiple of the film's own."""
    watts = 1.0 if told.power_W is None else told.power_W * shares["power"]
    properties = Properties(**{name: value for name, value in shares.items() if name != "power"})
    rises = unit(told if told.power_W is None else replace(told, power_W=1.0), properties).rises
    column = 0 if told.sensor == "end" else 1

    def when(which: int, degC: float) -> float:
        return float(brentq(lambda t: watts * rises(t)[which] + SOAKED_DEGC - degC, 1.0, LONG_S, xtol=0.1))

    released = when(column, told.release_degC - reads_K)
    surface, _, coldest = SOAKED_DEGC + watts * rises(released)
    return Came(released / 60, float(coldest), float(surface - coldest), when(2, 0.0) / 60)


def drawn(told: Told, power_of_two: int) -> list[Came]:
    """Sets that fill the ranges evenly in the logarithm (Sobol, seed 3)."""
    points = qmc.Sobol(len(RANGES) + 1, seed=3).random_base2(power_of_two)
    found = []
    for point in points:
        ends = zip(RANGES.items(), point, strict=False)
        shares = {name: low * (high / low) ** float(share) for (name, (low, high)), share in ends}
        found.append(came(told, shares, 2.0 * float(point[-1]) - 1.0))
    return found


def every_vertex(told: Told) -> list[Came]:
    """Every combination of ends; the film's names left alone where there is none."""
    free = {k: v for k, v in RANGES.items() if told.power_W is not None or k not in ("film", "power")}
    nominal = {"film": 6e-4, "power": 1.0}
    return [
        came(told, nominal | dict(zip(free, ends[:-1], strict=True)), ends[-1])
        for ends in product(*free.values(), (-1.0, 1.0))
    ]


@cache
def group(told: Told) -> Group:
    facts = told.facts(**UNDECLARED)
    return facts.groups["ambient_warmup" if told.power_W is None else "heated_warmup"]


def end(told: Told, name: str) -> float:
    """The unfavourable end of a fact."""
    item = group(told)[name]
    assert isinstance(item, Quantity), item
    assert item.worse == ("high" if WORSE[name] > 0 else "low")
    return float(item.unfavourable)  # type: ignore[arg-type]


SCENES = {
    "end, in foam": Told(release_degC=8.0, foam_mm=40.0),
    "end, bare": Told(release_degC=8.0, power_W=100.0),
    "core, thin foam": Told(sensor="core", release_degC=3.0, foam_mm=10.0),
    "end, brought in": Told(power_W=None, air_degC=20.0, release_degC=4.0),
}
SCENES = {name: replace(told, on_degC=40.0, off_degC=60.0) for name, told in SCENES.items()}


@pytest.mark.parametrize("name", SCENES)
def test_corners_bound_the_networks_property_sets(name: str) -> None:
    """At least 99 % of 128 sets on the good side of each unfavourable end. 0.1 K and 1 % of the time are what
    the two cuts differ by."""
    told = SCENES[name]
    sample = drawn(told, 7)
    covered = {}
    for fact, sign in WORSE.items():
        slack = 0.1 if fact.endswith(("_K", "_degC")) else 0.01 * end(told, fact)
        good = [sign * (getattr(each, fact) - end(told, fact)) <= slack for each in sample]
        covered[fact] = sum(good) / len(good)
    assert {fact: share for fact, share in covered.items() if share < 0.99} == {}


@pytest.mark.parametrize(
    ("name", "facts"),
    [
        ("end, in foam", tuple(WORSE)),
        ("end, brought in", ("coldest_at_release_degC", "coldest_warm_after_min")),
    ],
)
def test_corners_are_the_worst_of_every_combination_of_ends(name: str, facts: tuple[str, ...]) -> None:
    """256 combinations by a film, 64 brought in: the worst of them is the unfavourable end, neither beyond
    nor short of it by more than two cuts cost, 0.3 K (tests/physics/test_grid.py) and 2 % of the time.

    Not so for a pack brought in: one combination, good conduction with all else slow, releases 17 % later
    than any corner, and the spread of the corners is 0.8 K wider than any combination.
    """
    told = SCENES[name]
    vertices = every_vertex(told)
    for fact in facts:
        worst = WORSE[fact] * max(WORSE[fact] * getattr(each, fact) for each in vertices)
        if fact.endswith(("_K", "_degC")):
            assert worst == pytest.approx(end(told, fact), abs=0.3), fact
        else:
            assert worst == pytest.approx(end(told, fact), rel=0.02), fact


def test_a_pack_that_is_never_inhibited_has_no_range() -> None:
    """Limit: soaked above the inhibit, charging goes on from the start whatever the properties are."""
    item = group(replace(SCENES["end, in foam"], inhibit_degC=-30.0))["time_to_release_min"]
    assert isinstance(item, Quantity)
    assert (item.low, item.value, item.high) == (0.0, 0.0, 0.0)
