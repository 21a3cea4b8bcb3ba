"""Film and skin are taken where the heater makes them hottest, whichever face the file names first."""

from itertools import permutations

import pytest
from packs import changed, derived, of_profile

from bmslint.facts import Quantity

ON_THE_FLOOR = {
    "pack.enclosure.underside": "floor_contact",
    "site.floor_degC": -15.0,
    "heater.power_W": 160.0,
}


@pytest.mark.parametrize("faces", [["bottom", "sides"], ["ends", "sides"], ["between", "top"]])
def test_the_order_of_the_heated_faces_changes_nothing(faces: list[str]) -> None:
    first, second = (
        derived(changed(of_profile("ridge-hut"), {**ON_THE_FLOOR, "heater.faces": list(order)}))
        for order in permutations(faces)
    )
    assert first.groups["heated_warmup"] == second.groups["heated_warmup"]


def test_a_second_heated_face_on_a_cold_floor_does_not_hide_the_hot_one() -> None:
    """The floor draws the bottom's heat off, so film and skin at the sides are the hottest in this run.

    The same power over less area can only be hotter: what both faces share lies below the sides alone.
    """

    def hottest(*faces: str) -> list[float]:
        facts = derived(changed(of_profile("ridge-hut"), {**ON_THE_FLOOR, "heater.faces": list(faces)}))
        found = [facts.find(f"heated_warmup.{name}_max_degC") for name in ("film", "surface")]
        assert all(isinstance(each, Quantity) for each in found)
        return [float(each.value) for each in found if isinstance(each, Quantity)]

    bottom, both, sides = hottest("bottom"), hottest("bottom", "sides"), hottest("sides")
    assert [low < middle < high for low, middle, high in zip(bottom, both, sides, strict=True)] == [
        True,
        True,
    ]
