"""What the page answers when a setting is moved: its own script, run by a JavaScript engine without a page.

The engine is V8, from the package mini-racer; the script is the one that the page carries. What it answers is
held against the facts of the changed settings, and against the words that stand on the page without scripts.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from py_mini_racer import MiniRacer
from report_samples import HUT, MAST, PROFILES, SKIN, carried, profile_page, told, tree

from bmslint.facts import derive
from bmslint.facts.quantity import Quantity
from bmslint.limits import load_limits
from bmslint.output.report.choices import answer, rounded
from bmslint.output.report.live import live
from bmslint.settings import read
from bmslint.settings.reader import revalidated

AS_SHOWN_K = 0.1
"""The page shows tenths; the look-up is allowed no more than one of them."""


class Script:
    """The page's script with the runs that the page carries."""

    def __init__(self, name: str) -> None:
        scripts = tree(profile_page(name)).every("script")
        (code,) = [each.text for each in scripts if "type" not in each.attributes]
        self.engine = MiniRacer()
        self.engine.eval(code)
        (self.runs,) = carried(profile_page(name))
        self.engine.eval(f"const runs = {json.dumps(self.runs)}.map(unpacked);")

    def call(self, expression: str) -> Any:
        return json.loads(str(self.engine.eval(f"JSON.stringify({expression})")))

    def at(self, run: int, sensor: int, release: float, hold: float) -> dict[str, float] | None:
        found: dict[str, float] | None = self.call(f"lookup(runs[{run}], {sensor}, {release}, {hold})")
        return found


@cache
def script(name: str) -> Script:
    return Script(name)


@pytest.mark.parametrize(
    ("name", "run", "place", "release", "hold"),
    [
        (SKIN, "heated_warmup", {}, 5.0, 0.0),
        (SKIN, "heated_warmup", {}, 5.0, 8160.0),
        (SKIN, "heated_warmup", {}, 8.0, 1800.0),
        (SKIN, "heated_warmup", {"place": "between_cells", "position": "middle"}, 3.0, 0.0),
        (HUT, "heated_warmup", {"place": "cell_face", "face": "sides"}, 9.0, 7200.0),
        (HUT, "ambient_warmup", {"place": "terminal"}, 10.0, 0.0),
        (MAST, "ambient_warmup", {"place": "case"}, 6.0, 3600.0),
    ],
)
def test_moving_a_control_gives_what_the_facts_of_the_changed_settings_say(
    name: str, run: str, place: dict[str, str], release: float, hold: float
) -> None:
    document, responses = read(PROFILES / name), told(PROFILES / name).responses
    number = [each.run for each in responses].index(run)  # type: ignore[arg-type]
    changes: dict[str, Any] = {
        "protection.charge_cold.release_above_degC": release,
        "protection.charge_cold.hold_s": hold,
    }
    sensor = 0
    if place:
        wanted = dict(place)
        places = [{k: v for k, v in each._asdict().items() if v} for each in responses[number].places]
        sensor = places.index(wanted) + 1
        like = document.data["sensors"][responses[number].sensors[0]]
        kept = {key: value for key, value in like.items() if key not in ("place", "position", "face", "cell")}
        changes |= {"sensors.tried": kept | wanted, "protection.charge_cold.sensors": ["tried"]}
    other = revalidated(document, changes)
    assert not other.problems
    fact = derive(other.data, load_limits(other.data)).find(f"{run}.coldest_at_release_degC")
    assert isinstance(fact, Quantity)
    found = script(name).at(number, sensor, release, hold)
    assert found is not None
    assert found["coldest"] == pytest.approx(fact.value, abs=AS_SHOWN_K)


@pytest.mark.parametrize("name", [SKIN, HUT, MAST])
def test_script_and_program_look_up_alike_and_answer_in_the_same_words(name: str) -> None:
    page = script(name)
    for number, response in enumerate(map(rounded, told(PROFILES / name).responses)):
        run = page.runs[number]
        cases = [
            (sensor, release, hold)
            for sensor in range(len(response.readings_degC))
            for release in run["releases"][::9]
            for hold in run["holds"][::6]
        ]
        one = f"runs[{number}]"
        told_by_script = page.call(
            f"{json.dumps(cases)}.map(([s, r, h]) => answer({one}, lookup({one}, s, r, h)))"
        )
        assert told_by_script == [answer(response, response.at(*case)) for case in cases]


def test_what_stands_on_the_page_without_scripts_is_the_answer_for_the_file() -> None:
    (block,) = tree(profile_page(SKIN)).of_class("try")
    (said,) = block.of_class("answer")
    facts = told(PROFILES / SKIN).facts
    assert facts is not None
    minutes = facts.find("heated_warmup.time_to_release_min")
    coldest = facts.find("heated_warmup.coldest_at_release_degC")
    assert isinstance(minutes, Quantity)
    assert isinstance(coldest, Quantity)
    degrees = f"{abs(float(coldest.value)):.1f}"
    assert said.text == (
        f"Charging is released after {minutes.value:.0f} min. The coldest point is then at "
        f"\u2212{degrees} °C, too cold: {degrees} K below the limit of 0 °C."
    )
    (controls,) = block.of_class("controls")
    assert "hidden" in controls.attributes


def test_the_table_without_scripts_tells_the_curve() -> None:
    (block,) = tree(profile_page(SKIN)).of_class("try")
    first, _ = block.of_class("curve-table")
    rows = [[cell.text for cell in row.every("th", "td")] for row in first.every("tr")[1:]]
    response = told(PROFILES / SKIN).responses[0]
    expected = []
    for release in (2.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0):
        at = response.at(0, release, 0.0)
        assert at is not None
        mark = " (the file's)" if release == 5.0 else ""
        expected.append(
            [f"{release:g} °C{mark}", f"\u2212{-at.coldest_degC:.1f} °C", f"{at.time_s / 60:.0f} min"]
        )
    assert rows == [*expected, ["14 °C and above", "not released", ""]]


def test_what_can_be_chosen_holds_the_files_own_values_and_the_safe_ones() -> None:
    heated, brought_in = carried(profile_page(SKIN))[0]
    assert heated["releases"] == [2.0 + 0.5 * step for step in range(61)]
    minutes = [0, 1, 2, 5, 10, 15, 20, 30, 45, 60, 75, 90, 105, 120]
    # 8160 s is the hold time that the facts call safe.
    minutes += [136, 150, 180, 240, 300, 360, 480, 600, 720]
    assert heated["holds"] == [60.0 * each for each in minutes]
    assert (heated["releases"][heated["release"]], heated["holds"][heated["hold"]]) == (5.0, 0.0)
    assert (brought_in["releases"][brought_in["release"]], brought_in["chatters"]) == (5.0, False)


def test_every_choice_has_a_label_and_one_option_for_each_reading() -> None:
    (block,) = tree(profile_page(SKIN)).of_class("try")
    labels = {each["for"]: each.text for each in block.every("label")}
    controls = {each["id"]: each for each in block.every("select", "input")}
    assert labels.keys() == controls.keys()
    assert sorted(labels.values()) == [
        "Hold time", "Release above", "Sensor that releases charging", "Sensor that releases charging",
        "The pack is",
    ]  # fmt: skip
    heated, brought_in = carried(profile_page(SKIN))[0]
    counts = [len(each.every("option")) for each in controls.values() if "data-sensors" in each.attributes]
    assert counts == [len(heated["readings"]), len(brought_in["readings"])]


def test_data_cannot_end_the_element_that_it_stands_in() -> None:
    response = told(PROFILES / SKIN).responses[0]
    text = str(live("x", [response], None))
    inside = text.partition('<script type="application/json">')[2].partition("</script>")[0]
    assert not set("<>&") & set(inside)
    assert json.loads(inside)[0]["inhibit"] == response.inhibit_degC
