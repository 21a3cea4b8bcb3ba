"""Ways out of a cold release, found on scipy's sparse network by scipy's root finder, and by forward runs.

The network answers a heater linearly, so one run of BDF with 1 W gives every power: a reading, the coldest
volume, and by brentq the instant, the power, the release and the hold time that are asked for.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import pytest
from eighth_pack import CELL_M, CUT, SOAKED_DEGC, Array, Eighth, Properties, Told, bears_A
from scipy.optimize import brentq

from bmslint.facts import Facts, Missing, Quantity
from bmslint.facts.response import response
from bmslint.limits import load_limits

# In 40 mm of foam, so that a weak film warms the whole pack; the heater goes on until charging is released.
TOLD = Told(foam_mm=40.0, on_degC=50.0, off_degC=60.0)
# The unfavourable end of the range: the declared properties by 5 %, air and radiation of 4.4 and 5.4.
AHEAD = Properties(
    through=0.9 * 0.95, along=19.0 * 0.95, specific_heat=1020.0 * 0.95, air_and_radiation=4.4 + 5.4
)
HORIZON_S = 400 * 3600.0
PLACES = {
    "between_cells (middle)", "between_cells (outer)", "cell_face (ends)", "cell_face (sides)",
    "cell_face (top)", "cell_face (bottom)", "terminal",
}  # fmt: skip


def on_plane(field: Array, axis: int) -> Array:
    """The value on the plane of symmetry at the end of an axis, to fourth order."""
    return np.asarray((9 * np.take(field, -1, axis) - np.take(field, -2, axis)) / 8)


@dataclass
class Response:
    """What 1 W, or air that is 1 K warmer than the pack was soaked at, does in the network."""

    properties: Properties
    told: Told

    def __post_init__(self) -> None:
        self.eighth, self.on = Eighth(self.told, self.properties), self.told.power_W is not None
        state = np.zeros(self.eighth.block.number.size)
        self.state, *_ = self.eighth.run(state, self.on, 0.0, HORIZON_S, {})

    def coldest(self, seconds: float) -> float:
        return float(self.state(seconds).min())

    def place(self, where: str, seconds: float) -> float:
        """Rise at a place of the settings format (K)."""
        state, n = self.state(seconds), CUT[0]
        field, loss = state.reshape(self.eighth.block.shape), self.eighth.loss_W_per_m2K
        if where == "between_cells (middle)":
            return float(self.eighth.core @ state)
        if where == "cell_face (ends)":
            return float(self.eighth.end(state, self.on))
        if where == "between_cells (outer)":
            middle = on_plane(on_plane(field, 2), 1)
            return float((middle[n - 1] + middle[n]) / 2)
        axis = 1 if where == "cell_face (sides)" else 2
        half = 2 * self.properties.along / (CELL_M[axis] / 2 / CUT[axis])
        behind = (np.take(field, 0, axis) * half + loss * self.told.outside_K) / (half + loss)
        row = on_plane(behind, 1)
        if where == "terminal":
            # Above the middle of an inner cell; n is even, so between two volumes.
            return float((row[n + n // 2 - 1] + row[n + n // 2]) / 2)
        return float(on_plane(row, 0))

    def when(self, reaches: Callable[[float], float]) -> float:
        """The first time at which something that rises reaches nothing (s)."""
        return float(brentq(reaches, 1.0, HORIZON_S, xtol=1e-3))

    def released_s(self, power_W: float, release_degC: float, where: str = "cell_face (ends)") -> float:
        return self.when(lambda t: power_W * self.place(where, t) - (release_degC - SOAKED_DEGC))

    def coldest_degC(self, power_W: float, release_degC: float, where: str = "cell_face (ends)") -> float:
        at = self.released_s(power_W, release_degC, where)
        return SOAKED_DEGC + power_W * self.coldest(at)


ONE_W, ONE_K = replace(TOLD, power_W=1.0), Told(power_W=None, air_degC=SOAKED_DEGC + 1.0)
NOMINAL, UNFAVOURABLE = (Response(each, ONE_W) for each in (Properties(), AHEAD))
IN_AIR, IN_AIR_UNFAVOURABLE = (Response(each, ONE_K) for each in (Properties(), AHEAD))


def derived(told: Told) -> Facts:
    facts = told.facts()
    return facts.with_later(facts.later)


def found(facts: Facts, path: str) -> Quantity:
    item = facts.find(path)
    assert isinstance(item, Quantity), item
    return item


@pytest.mark.parametrize("release_degC", [16.0, 24.0, 32.0])
def test_the_largest_heater_is_brents_root_of_the_network(release_degC: float) -> None:
    """The power at which the coldest volume is at 0 degC at the release, nominal and unfavourable.

    The fact is a whole number of watts, sought by bisection to 1 % and rounded down; the two cuts into
    volumes differ by another per cent. Forward on the network, that power releases above 0 degC, less what a
    tenth of a kelvin of cut is; two watts more below it.
    """
    item = found(derived(replace(TOLD, release_degC=release_degC, power_W=60.0)), "inverse.largest_heater_W")
    assert item.worse == "low"
    for has, ours in ((NOMINAL, item.value), (UNFAVOURABLE, item.low)):

        def margin(power_W: float, has: Response = has) -> float:
            return has.coldest_degC(power_W, release_degC)

        # Below this power the reading never gets there.
        weakest = (release_degC - SOAKED_DEGC) / has.place("cell_face (ends)", HORIZON_S) * 1.01
        root = float(brentq(margin, weakest, 200.0, xtol=1e-3))
        assert 0.98 * root - 1.0 <= float(ours) <= 1.01 * root
        assert margin(float(ours)) >= -0.1
        assert margin(float(ours) + 2.0) < 0.0


def test_no_power_that_is_too_weak_to_release_is_an_answer() -> None:
    """Limit: on bare cells that lose as much as they are given, what is weak enough for the core is too weak
    to warm the end: by the network's steady state no power does both."""
    told = replace(TOLD, foam_mm=0.0, release_degC=5.0, power_W=150.0)
    eighth = Eighth(replace(told, power_W=1.0))
    steady = eighth.block.steady(eighth.cases[True])
    # The ratio of coldest to end rises all the time, so in the end it is largest, and 20 of 25 is too little.
    assert float(steady.min() / eighth.end(steady, True)) < 20.0 / 25.0
    item = derived(told).find("inverse.largest_heater_W")
    assert item == Missing((), "no power of this heater makes the release safe on this sensor")


@pytest.mark.parametrize("power_W", [20.0, 35.0, 50.0])
def test_safe_release_and_hold_are_brents_roots_of_the_network(power_W: float) -> None:
    """The reading when the coldest volume is at 0 degC, rounded up to half a kelvin; and the time from a
    release at 5 degC until then, rounded up to a minute. 0.3 K is what the cuts differ by under a film
    (tests/physics/test_grid.py), 1 % of the time; the forward run on the network then is safe to as much."""
    told = replace(TOLD, release_degC=5.0, power_W=power_W)
    facts = told.facts()
    warm_s = NOMINAL.when(lambda t: power_W * NOMINAL.coldest(t) + SOAKED_DEGC)
    reading = SOAKED_DEGC + power_W * NOMINAL.place("cell_face (ends)", warm_s)
    release = float(found(facts, "heated_warmup.safe_release_degC").value)
    assert release % 0.5 == 0.0
    assert reading - 0.3 <= release <= reading + 0.5 + 0.3
    assert NOMINAL.coldest_degC(power_W, release) >= -0.3
    wait_s = warm_s - NOMINAL.released_s(power_W, 5.0)
    hold = float(found(facts, "heated_warmup.safe_hold_s").value)
    assert hold % 60.0 == 0.0
    assert abs(hold - 60.0 * ceil(wait_s / 60.0)) <= 60.0 + 0.01 * warm_s
    minutes = float(found(facts, "heated_warmup.coldest_warm_after_min").value)
    assert minutes == pytest.approx(warm_s / 60.0, rel=0.01)


@pytest.mark.parametrize(
    ("power_W", "release_degC", "bears"),
    [
        (30.0, 24.0, (10.0, 10.0)),
        (20.0, 14.7, (10.0, 0.0)),
        (20.0, 24.45, (30.0, 20.0)),
        (10.0, 24.0, (30.0, 30.0)),
    ],
)
def test_what_the_pack_bears_is_the_row_of_the_networks_coldest_volume(
    power_W: float, release_degC: float, bears: tuple[float, float]
) -> None:
    """Nominal and unfavourable, the coldest by the network at the release, kept 0.3 K off every row."""
    colds = [each.coldest_degC(power_W, release_degC) for each in (NOMINAL, UNFAVOURABLE)]
    assert min(abs(cold - start) for cold in colds for start in (0.0, 5.0, 10.0, 20.0)) > 0.3
    assert tuple(bears_A(np.array(colds)).tolist()) == bears
    facts = derived(replace(TOLD, release_degC=release_degC, power_W=power_W))
    item = found(facts, "inverse.bearable_at_heated_release_A")
    assert (item.value, item.low) == bears


@pytest.mark.parametrize("release_degC", [2.0, 5.0, 12.0, 26.0])
def test_places_that_do_are_the_networks(release_degC: float) -> None:
    """Each place by itself releases at this reading: safe where the coldest volume is above 0 degC then, at
    nominal and at unfavourable properties. No place is nearer than 0.2 K to it."""
    power_W, safe = 60.0, set()
    for where in PLACES:
        colds = [r.coldest_degC(power_W, release_degC, where) for r in (NOMINAL, UNFAVOURABLE)]
        assert min(abs(cold) for cold in colds) > 0.2, where
        if min(colds) > 0.0:
            safe.add(where)
    item = found(
        derived(replace(TOLD, release_degC=release_degC, power_W=power_W)), "inverse.places_when_heated"
    )
    assert set(str(item.value).split(", ")) == safe


@pytest.mark.parametrize(
    ("air_degC", "release_degC", "bears"),
    [(15.0, 4.0, (10.0, 0.0)), (25.0, 12.0, (20.0, 20.0)), (25.0, 14.0, (30.0, 20.0))],
)
def test_what_a_pack_brought_into_warmer_air_bears(
    air_degC: float, release_degC: float, bears: tuple[float, float]
) -> None:
    """As for the film: 1 K of air gives every air, and the coldest volume at the release its row."""
    rise = air_degC - SOAKED_DEGC
    colds = [each.coldest_degC(rise, release_degC) for each in (IN_AIR, IN_AIR_UNFAVOURABLE)]
    assert min(abs(cold - start) for cold in colds for start in (0.0, 5.0, 10.0, 20.0)) > 0.3
    assert tuple(bears_A(np.array(colds)).tolist()) == bears
    told = Told(power_W=None, air_degC=air_degC, release_degC=release_degC)
    item = found(derived(told), "inverse.bearable_when_brought_in_A")
    assert (item.value, item.low) == bears


@pytest.mark.parametrize(("air_degC", "release_degC"), [(15.0, 2.5), (30.0, 2.0), (20.0, 3.0), (20.0, 8.0)])
def test_places_that_do_in_warmer_air_are_the_networks(air_degC: float, release_degC: float) -> None:
    """Bare cells, nominal and unfavourable, none nearer than 0.1 K to 0 degC, which is more than two cuts
    cost where no film heats."""
    rise, safe = air_degC - SOAKED_DEGC, set()
    for where in PLACES:
        colds = [r.coldest_degC(rise, release_degC, where) for r in (IN_AIR, IN_AIR_UNFAVOURABLE)]
        assert min(abs(cold) for cold in colds) > 0.1, where
        if min(colds) > 0.0:
            safe.add(where)
    told = Told(power_W=None, air_degC=air_degC, release_degC=release_degC)
    item = found(derived(told), "inverse.places_when_brought_in")
    assert set(str(item.value).split(", ")) == safe


@pytest.mark.parametrize(("release_degC", "hold_s"), [(5.0, 0.0), (12.0, 1800.0), (18.0, 3600.0)])
def test_the_look_up_of_a_release_is_the_networks(release_degC: float, hold_s: float) -> None:
    """Each of seven places on the run that is followed without a release: the instant at which the network's
    reading has been there for the hold time, to 1.5 % and a minute, and the coldest volume then. 0.3 K is
    what two cuts cost under a film (tests/physics/test_grid.py)."""
    power_W = 60.0
    document = replace(TOLD, power_W=power_W).document()
    run = response(document.data, load_limits(document.data), "heated_warmup")
    assert not isinstance(run, Missing)
    told = {
        f"{each.place} ({each.position or each.face})".removesuffix(" ()"): n
        for n, each in enumerate(run.places)
    }
    for where in PLACES:
        at = run.at(told[where] + 1, release_degC, hold_s)
        assert at is not None, where
        seconds = NOMINAL.released_s(power_W, release_degC, where) + hold_s
        assert at.time_s == pytest.approx(seconds, rel=0.015, abs=60.0), where
        expected = SOAKED_DEGC + power_W * NOMINAL.coldest(seconds)
        assert at.coldest_degC == pytest.approx(expected, abs=0.3), where


def test_a_look_up_beyond_what_the_film_reaches_is_none() -> None:
    """Limit: bare cells, and a release above the reading that the network settles at with the film on."""
    told = replace(TOLD, power_W=40.0, foam_mm=0.0, off_degC=60.0)
    eighth = Eighth(told)
    ceiling = SOAKED_DEGC + float(eighth.end(eighth.block.steady(eighth.cases[True]), True))
    document = told.document()
    run = response(document.data, load_limits(document.data), "heated_warmup")
    assert not isinstance(run, Missing)
    assert run.at(0, ceiling + 1.0, 0.0) is None
    assert run.at(0, ceiling - 3.0, 0.0) is not None
