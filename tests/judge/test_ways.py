"""Ways to a better verdict: each is judged again here, from the file's text on."""

from functools import cache
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.judge.judge import judge
from bmslint.judge.pack import Pack, load_pack
from bmslint.judge.ways import Setting, Ways, ways
from bmslint.settings import read, read_text
from bmslint.settings.edit import edited

FAILING = rules_dir().parent / "profiles" / "failing"
GOOD = FAILING.parent


@cache
def pack() -> Pack:
    return load_pack()


@cache
def found(stem: str) -> Ways:
    return ways(read(FAILING / f"{stem}.yaml"), pack())


def told(stem: str) -> list[tuple[str, dict[str, tuple[Any, Any]]]]:
    return [
        (way.verdict.word, {each.path: (each.was, each.to) for each in way.settings})
        for way in found(stem).ways
    ]


COLD, OVER = "protection.charge_cold", "protection.cell_overvoltage"


@pytest.mark.parametrize(
    ("stem", "first"),
    [
        ("wrong-curve", ("accepted", {"sensors.core.read_as.beta_K": (3950.0, 3435.0)})),
        (
            "fahrenheit-release",
            (
                "accepted",
                {f"{COLD}.inhibit_below_degC": (37.0, 3.0), f"{COLD}.release_above_degC": (43.0, 6.0)},
            ),
        ),
        (
            "another-chemistry",
            (
                "accepted",
                {
                    f"{OVER}.trip_above_V": (4.2, 3.64),
                    f"{OVER}.release_below_V": (4.05, 3.5),
                    "protection.second_overvoltage.trip_above_V": (4.35, 3.84),
                },
            ),
        ),
    ],
)
def test_the_least_way(stem: str, first: tuple[str, dict[str, tuple[Any, Any]]]) -> None:
    assert told(stem)[0] == first


def test_a_path_that_obeys_nothing_is_made_to_obey() -> None:
    (way,) = found("braking-ignores-cold").ways
    (setting,) = way.settings
    assert (setting.path, way.verdict.word) == ("charge_paths[1].obeys", "accepted")
    assert isinstance(setting.to, list)
    assert sorted(setting.to) == ["cell_overvoltage", "charge_cold", "charge_current", "charge_hot"]


@pytest.mark.parametrize(
    "stem", ["wrong-curve", "fahrenheit-release", "another-chemistry", "braking-ignores-cold"]
)
def test_every_way_holds_when_its_file_is_judged_from_the_text_on(stem: str) -> None:
    file = FAILING / f"{stem}.yaml"
    for way in found(stem).ways:
        changed = read_text(edited(file.read_text(encoding="utf-8"), way.changes()), str(file))
        again = judge(changed, pack())
        assert again.word == way.verdict.word
        assert [(each.rule, each.path) for each in again.findings] == [
            (each.rule, each.path) for each in way.verdict.findings
        ]


@pytest.mark.parametrize("stem", ["wrong-curve", "another-chemistry"])
def test_no_setting_of_a_way_can_be_left_out(stem: str) -> None:
    file = FAILING / f"{stem}.yaml"
    text = file.read_text(encoding="utf-8")
    for way in found(stem).ways:
        for setting in way.settings:
            less = {path: to for path, to in way.changes().items() if path != setting.path}
            assert judge(read_text(edited(text, less), str(file)), pack()).word != way.verdict.word


def test_a_pack_that_is_accepted_needs_no_way() -> None:
    assert ways(read(GOOD / "street-light-mast.yaml"), pack())[2:] == ((), 0)


def test_an_unusable_file_has_no_way() -> None:
    document = read_text("format: 1\npack: {chemistry: brine, series: 4}\n", "p.yaml")
    assert ways(document, pack())[1:] == (None, (), 0)


def test_what_describes_the_pack_is_not_changed() -> None:
    text = (GOOD / "street-light-mast.yaml").read_text(encoding="utf-8")
    document = read_text(text.replace("mass_kg: 0.78", "mass_kg: 7.8"), "p.yaml")
    result = ways(document, pack())
    assert result.verdict.word != "accepted"
    assert [each for way in result.ways for each in way.settings if each.path.startswith("pack")] == []


def test_only_moving_a_sensor_is_an_answer() -> None:
    """The one sensor lies on the board: nothing that can be set lets it see the cells."""
    text = (GOOD / "street-light-mast.yaml").read_text(encoding="utf-8")
    document = read_text(text.replace("place: between_cells, position: middle", "place: board"), "p.yaml")
    result = ways(document, pack())
    assert document.problems == ()
    assert result.verdict.word in ("rejected", "review")
    assert [way.moves_a_sensor for way in result.ways] == [True] * len(result.ways)
    assert Setting("sensors.core.place", "board", "between_cells") in result.ways[0].settings
