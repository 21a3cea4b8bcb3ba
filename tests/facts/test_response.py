"""The look-up of another release: it gives what the facts of the changed settings give.

The facts themselves are held against independent solutions of the heated block in tests/physics and
tests/facts; here they are the outside, as each is derived by a run that ends at its own release.
"""

import math
from dataclasses import replace
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.facts import derive
from bmslint.facts.quantity import Missing, Quantity
from bmslint.facts.response import Place, Released, Response, Run, response
from bmslint.limits import load_limits
from bmslint.settings import read
from bmslint.settings.reader import Document, revalidated

PROFILES = rules_dir().parent / "profiles"
HEATED, BROUGHT_IN = "heated_warmup", "ambient_warmup"

# As fine as the page shows it; straight lines between the instants kept are allowed 0.02 K of it.
CLOSE_K = 0.05


def followed(name: str, run: Run) -> tuple[Document, Response]:
    document = read(PROFILES / name)
    assert not document.problems
    found = response(document.data, load_limits(document.data), run)
    assert isinstance(found, Response)
    return document, found


def changed(document: Document, run: Response, sensor: int, release: float, hold: float) -> Document:
    """The settings with another release, hold time and, from 1 on, one sensor at another place."""
    changes: dict[str, Any] = {
        "protection.charge_cold.release_above_degC": release,
        "protection.charge_cold.hold_s": hold,
    }
    if sensor:
        place = run.places[sensor - 1]
        entry = {
            key: value
            for key, value in document.data["sensors"][run.sensors[0]].items()
            if key not in ("place", "position", "face", "cell")
        }
        changes["sensors.tried"] = entry | {key: value for key, value in place._asdict().items() if value}
        changes["protection.charge_cold.sensors"] = ["tried"]
    result = revalidated(document, changes)
    assert not result.problems
    return result


def facts_of(document: Document, run: Run) -> tuple[Quantity | Missing, Quantity | Missing]:
    group = derive(document.data, load_limits(document.data)).groups[run]
    return group["coldest_at_release_degC"], group["time_to_release_min"]


SKIN, HUT, ROBOT, TRIKE = (
    "failing/skin-decides.yaml", "ridge-hut.yaml", "orchard-robot.yaml", "delivery-trike.yaml",
)  # fmt: skip
CASES: list[tuple[str, Run, Place | None, float, float]] = [
    (SKIN, HEATED, None, 5.0, 0.0),
    (SKIN, HEATED, None, 5.0, 3600.0),
    (SKIN, HEATED, None, 5.0, 8160.0),
    (SKIN, HEATED, None, 9.5, 0.0),
    (SKIN, HEATED, Place("between_cells", "middle"), 3.0, 600.0),
    (SKIN, HEATED, Place("cell_face", face="top"), 6.0, 0.0),
    (HUT, HEATED, None, 7.0, 60.0),
    (HUT, HEATED, Place("heated_face", face="ends"), 10.0, 7200.0),
    (HUT, HEATED, Place("terminal"), 4.0, 0.0),
    (HUT, BROUGHT_IN, Place("case"), 12.0, 14400.0),
    (ROBOT, HEATED, Place("between_cells", "outer"), 9.0, 600.0),
    (TRIKE, BROUGHT_IN, Place("busbar"), 6.0, 600.0),
    (TRIKE, BROUGHT_IN, Place("cell_face", face="sides"), 4.5, 0.0),
]


@pytest.mark.parametrize(("name", "run", "place", "release", "hold"), CASES)
def test_a_look_up_is_what_the_facts_of_the_changed_settings_say(
    name: str, run: Run, place: Place | None, release: float, hold: float
) -> None:
    document, found = followed(name, run)
    sensor = 0 if place is None else found.places.index(place) + 1
    coldest, minutes = facts_of(changed(document, found, sensor, release, hold), run)
    assert isinstance(coldest, Quantity)
    assert isinstance(minutes, Quantity)
    at = found.at(sensor, release, hold)
    assert at is not None
    assert at.coldest_degC == pytest.approx(coldest.value, abs=CLOSE_K)
    # A reading that is allowed to be wrong by what the coldest point moves meanwhile may be so long off.
    assert at.time_s / 60.0 == pytest.approx(minutes.value, rel=0.01, abs=1.0)


def test_a_release_that_is_never_reached_is_none_as_in_the_facts() -> None:
    document, found = followed("failing/heater-stops-early.yaml", HEATED)
    coldest, _ = facts_of(document, HEATED)
    assert isinstance(coldest, Missing)
    assert found.at(0, found.release_degC, found.hold_s) is None
    _, hut = followed(HUT, HEATED)
    assert hut.at(hut.places.index(Place("ambient")) + 1, 5.0, 0.0) is None


def test_a_pack_without_the_run_gives_the_reason_of_its_facts() -> None:
    document = read(PROFILES / TRIKE)
    found = response(document.data, load_limits(document.data), HEATED)
    assert found == Missing((), "the pack has no heater")
    assert derive(document.data, load_limits(document.data)).groups[HEATED]["releases"] == found


def test_places_are_those_that_the_pack_has() -> None:
    _, hut = followed(HUT, HEATED)
    assert hut.places == (
        Place("between_cells", "middle"), Place("between_cells", "outer"), Place("cell_face", face="ends"),
        Place("cell_face", face="sides"), Place("cell_face", face="top"), Place("cell_face", face="bottom"),
        Place("heated_face", face="ends"), Place("heated_face", face="sides"), Place("case"),
        Place("terminal"), Place("busbar"), Place("board"), Place("ambient"),
    )  # fmt: skip
    _, brought_in = followed(HUT, BROUGHT_IN)
    assert [each for each in hut.places if each not in brought_in.places] == [
        Place("heated_face", face="ends"), Place("heated_face", face="sides"),
    ]  # fmt: skip


BY_HAND = Response(
    run="heated_warmup", inhibit_degC=2.0, release_degC=5.0, hold_s=0.0, least_degC=0.0, sensors=("one",),
    decided_by="lowest", places=(), chatters=False, times_s=(0.0, 100.0, 200.0, 300.0, 400.0),
    coldest_degC=(-10.0, -8.0, -4.0, 0.0, 1.0), readings_degC=((-10.0, 10.0, 0.0, 10.0, 10.0),),
)  # fmt: skip
"""Up to 10 degC in 100 s, down to 0 in 100 more, up again and then level."""


@pytest.mark.parametrize(
    ("release", "hold", "time_s", "coldest"),
    [
        (5.0, 0.0, 75.0, -8.5),
        (5.0, 60.0, 135.0, -6.6),
        # Above 5 degC it is from 75 to 150 s and then from 250 s on.
        (5.0, 80.0, 330.0, 0.3),
        (10.0, 0.0, 100.0, -8.0),
        (10.0, 50.0, 350.0, 0.5),
    ],
)
def test_a_hold_time_begins_anew_when_the_reading_falls(
    release: float, hold: float, time_s: float, coldest: float
) -> None:
    at = BY_HAND.at(0, release, hold)
    assert at is not None
    # A reading counts as reached 1 mK early, which is 5 ms where it rises by 20 K in 100 s, and 10 ms later.
    assert at.time_s == pytest.approx(time_s, abs=0.011)
    assert at.coldest_degC == pytest.approx(coldest, abs=0.0005)


def test_what_is_held_too_long_or_too_high_is_never_released() -> None:
    assert BY_HAND.at(0, 10.5, 0.0) is None
    assert BY_HAND.at(0, 5.0, 151.0) is None


def test_a_pack_that_is_not_inhibited_charges_from_the_start() -> None:
    warm = replace(BY_HAND, inhibit_degC=-10.0)
    assert warm.at(0, 5.0, 600.0) == Released(0.0, -10.0)


def test_the_instants_kept_are_few_and_every_number_is_finite() -> None:
    _, found = followed(SKIN, HEATED)
    numbers = [*found.times_s, *found.coldest_degC, *(each for row in found.readings_degC for each in row)]
    assert all(map(math.isfinite, numbers))
    assert list(found.times_s) == sorted(set(found.times_s))
    assert {len(row) for row in (found.coldest_degC, *found.readings_degC)} == {len(found.times_s)}
    # The heater of this pack switches 200 times; five instants of each stretch are enough for a page.
    assert len(found.times_s) < 1000
