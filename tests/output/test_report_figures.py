"""The drawings: what stands where, by hand and against the facts."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_samples import PROFILES, SKIN, Element, told, tree

from bmslint.facts.course import Course, Moment
from bmslint.facts.section import Section, Spot
from bmslint.output.report.figures.block import band_class, band_edges, block
from bmslint.output.report.figures.currents import Currents, currents, excess
from bmslint.output.report.figures.ladder import Rung, ladder, rungs
from bmslint.output.report.figures.warmup import warmup
from bmslint.output.report.scale import Scale, round_steps, spread, widened

SECTION = Section(
    across="x", up="y", normal="z", at_mm=100.0, across_edges_mm=(0.0, 50.0, 100.0), up_edges_mm=(0.0, 80.0),
    degC=((-7.0, 4.0),), cells=((0.0, 0.0, 50.0, 80.0), (50.0, 0.0, 100.0, 80.0)),
    films=((0.0, 0.0, 0.0, 80.0),),
    spots=(Spot("skin", "heated_face", 0.0, 40.0, 0.0), Spot("core", "between_cells", 50.0, 40.0, 0.0)),
    coldest_mm=(25.0, 40.0), hottest_mm=(75.0, 40.0),
)  # fmt: skip
COURSE = Course(
    run="heated_warmup", starts_degC=-15.0, air_degC=-15.0, sensors=("skin",), decided_by="lowest",
    inhibit_degC=2.0, release_degC=5.0, hold_s=0.0, least_degC=0.0, times_s=(0.0, 600.0, 1200.0),
    reading_degC=(-15.0, 5.0, 5.0), coldest_degC=(-15.0, -10.0, 0.0), hottest_degC=(-15.0, 6.0, 7.0),
    heating=(True, False, False), released=Moment(600.0, 5.0, -10.0, 6.0), warm=None, sections=(SECTION,),
    at_s=600.0,
)  # fmt: skip


def points(element: Element) -> list[tuple[float, float]]:
    pairs = [each.split(",") for each in element["points"].split()]
    return [(float(x), float(y)) for x, y in pairs]


def rounded(places: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places as a drawing writes them, to a tenth of a unit."""
    return [(float(f"{x:.1f}"), float(f"{y:.1f}")) for x, y in places]


def classed(root: Element, name: str) -> Element:
    (found,) = [each for each in root.every() if each.attributes.get("class") == name]
    return found


def test_the_warm_up_is_drawn_where_its_numbers_are() -> None:
    root = tree(str(warmup("w", COURSE)))
    # 20 min over 250 units to the right; -15 to 10 degC in round steps of 5 over 200 units upwards.
    x, y = Scale(0.0, 20.0, 36.0, 286.0), Scale(-15.0, 10.0, 228.0, 28.0)
    for kind in ("reading", "coldest", "hottest"):
        expected = [
            (x.at(s / 60.0), y.at(degC))
            for s, degC in zip(COURSE.times_s, getattr(COURSE, f"{kind}_degC"), strict=True)
        ]
        assert points(classed(root, f"curve {kind}")) == rounded(expected)
    assert points(classed(root, "level release")) == [(36.0, 68.0), (286.0, 68.0)]
    assert points(classed(root, "level least")) == [(36.0, 108.0), (286.0, 108.0)]
    assert points(classed(root, "moment")) == [(161.0, 228.0), (161.0, 28.0)]
    dots = {each["class"]: (float(each["cx"]), float(each["cy"])) for each in root.every("circle")}
    assert dots == {"dot hottest": (161.0, 60.0), "dot reading": (161.0, 68.0), "dot coldest": (161.0, 188.0)}
    assert classed(root, "heating")["d"] == "M36 270h125v7H36z"
    assert root.only("desc").text == (
        "The pack starts at \u221215 °C, in air of \u221215 °C. Charging is released after 10 min: the "
        "sensor then reads 5 °C, the coldest point is at \u221210 °C and the hottest at 6 °C."
    )


def test_a_warm_up_without_release_says_so() -> None:
    from dataclasses import replace

    root = tree(str(warmup("w", replace(COURSE, released=None))))
    assert root.only("desc").text.endswith("Charging is never released.")
    assert not [each for each in root.every() if each.attributes.get("class") == "moment"]


def test_the_block_shows_bands_films_sensors_and_extremes() -> None:
    root = tree(str(block("b", COURSE, SECTION)))
    # 100 mm are 262 units wide, so 80 mm are 209.6 high; the block stands from x = 14 and y = 40.
    bands = {
        each["class"]: each["d"] for each in root.every("path") if "band" in each.attributes.get("class", "")
    }
    assert bands == {"band cold2": "M14 40H145V249.6H14z", "band warm1": "M145 40H276V249.6H145z"}
    (hatched,) = [each["d"] for each in root.every("path") if each.attributes.get("fill") == "url(#b-hatch)"]
    assert hatched == bands["band cold2"]
    assert points(classed(root, "film")) == [(14.0, 249.6), (14.0, 40.0)]
    sensors = {each["class"]: (each["cx"], each["cy"]) for each in root.every("circle")}
    assert sensors == {"sensor decides": ("14", "144.8"), "sensor": ("145", "144.8")}
    extremes = [each["transform"] for each in root.every("path") if each.attributes.get("class") == "extreme"]
    assert extremes == ["translate(79.5 144.8)", "translate(210.5 144.8)"]
    names = [each.text for each in root.every("text") if each.attributes.get("class", "").startswith("name")]
    assert names == ["skin", "coldest \u22127 °C", "core", "hottest 4 °C"]
    assert root.only("desc").text == (
        "A cut through the block, 2 cells, stack 100 mm, width 80 mm. The coldest point of the cut is at "
        "\u22127 °C, the hottest at 4 °C. 1 heater film is met by the cut. Sensors: skin (heated face), core "
        "(between cells)."
    )


def test_bands_have_the_limit_among_their_edges_and_deepen_away_from_it() -> None:
    edges = band_edges(SECTION, 0.0)
    assert edges == [-10.0, -5.0, 0.0, 5.0]
    assert [band_class(low, edges, 0.0) for low in edges[:-1]] == ["cold2", "cold1", "warm1"]
    assert [band_class(low, edges, None) for low in edges[:-1]] == ["warm1", "warm2", "warm3"]
    odd = band_edges(SECTION, 1.5)
    assert 1.5 in odd
    assert odd == sorted(odd)


@given(st.floats(-60, 150), st.floats(0, 120), st.floats(-40, 40))
def test_every_temperature_has_a_band_with_a_colour(low: float, more: float, least: float) -> None:
    from dataclasses import replace

    edges = band_edges(replace(SECTION, degC=((low, low + more),)), least)
    assert edges[0] <= low
    assert edges[-1] >= low + more
    assert all(b > a for a, b in pairwise(edges))
    classes = [band_class(edge, edges, least) for edge in edges[:-1]]
    assert all(re.fullmatch(r"(?:cold|warm)[1-5]", each) for each in classes)


def test_currents_are_hatched_where_more_is_permitted_than_borne() -> None:
    lines = Currents(
        permitted=((-10.0, 0.0), (2.0, 0.0), (2.0, 40.0), (50.0, 40.0), (50.0, 0.0), (60.0, 0.0)),
        borne=((-10.0, 0.0), (0.0, 0.0), (0.0, 20.0), (20.0, 20.0), (20.0, 50.0), (60.0, 50.0)),
    )
    assert excess(lines) == [(2.0, 20.0, 40.0, 20.0)]
    root = tree(str(currents("c", lines)))
    x, y = Scale(-10.0, 60.0, 40.0, 388.0), Scale(0.0, 50.0, 232.0, 40.0)
    expected = [(x.at(degC), y.at(amperes)) for degC, amperes in ((2, 40), (20, 40), (20, 20), (2, 20))]
    assert points(classed(root, "over")) == rounded(expected)
    for kind in ("permitted", "borne"):
        drawn = [(x.at(degC), y.at(amperes)) for degC, amperes in getattr(lines, kind)]
        assert points(classed(root, f"curve {kind}")) == rounded(drawn)
    assert root.only("desc").text == (
        "Permitted: from -10 to 2 °C 0 A; from 2 to 50 °C 40 A; from 50 to 60 °C 0 A. Borne: from -10 to "
        "0 °C 0 A; from 0 to 20 °C 20 A; from 20 to 60 °C 50 A. More is permitted than borne from 2 to 20 °C."
    )


def test_the_currents_of_a_file_exceed_where_its_facts_say_so() -> None:
    for name in (SKIN, "ridge-hut.yaml", "failing/another-chemistry.yaml"):
        of_file = told(PROFILES / name)
        assert of_file.facts is not None
        fact = of_file.facts.find("charge_steps.excess_A")
        most = max(
            (above - below for _, _, above, below in excess(of_file.currents or Currents((), ()))),
            default=0.0,
        )
        assert most == pytest.approx(getattr(fact, "value", 0.0), abs=1e-6)


def test_the_ladder_of_a_file_is_in_order() -> None:
    of_file = told(PROFILES / SKIN)
    found = rungs(of_file.data, of_file.limits)
    assert [(rung.volts, rung.name) for rung in found] == [
        (3.8, "second over-voltage trips"), (3.65, "cell maximum"), (3.6, "over-voltage trips"),
        (3.6, "pack over-voltage trips"), (3.5, "full charge is noticed"), (3.5, "charger, bulk"),
        (3.425, "pack over-voltage releases"), (3.4, "over-voltage releases"), (3.4, "balancing starts"),
        (3.375, "charger, float"), (3.0, "under-voltage releases"), (3.0, "pack under-voltage releases"),
        (2.75, "pack under-voltage trips"), (2.7, "under-voltage trips"), (2.5, "cell minimum"),
    ]  # fmt: skip
    root = tree(str(ladder("l", found)))
    names = [each.text for each in root.every("text") if each.attributes.get("class") == "name"]
    assert names[0] == "3.80 V  second over-voltage trips"
    assert names[6] == "3.425 V  pack over-voltage releases"
    heights = [float(each["y"]) for each in root.every("text") if each.attributes.get("class") == "name"]
    assert all(b - a >= 16.0 for a, b in pairwise(heights))


def test_triangles_point_to_where_the_voltage_goes() -> None:
    steps = [
        Rung(3.6, "over-voltage trips", "trip", False, ""),
        Rung(3.4, "over-voltage releases", "release", False, ""),
        Rung(3.0, "under-voltage releases", "release", False, ""),
        Rung(2.7, "under-voltage trips", "trip", False, ""),
    ]
    root = tree(str(ladder("l", steps)))
    marks = [(each["class"], each["d"][-5:]) for each in root.every("path") if "mark" in each["class"]]
    up, down = "-10z", " 10z"
    assert [(kind, up if shape.endswith(up) else down) for kind, shape in marks] == [
        ("mark trip", up), ("mark release", down), ("mark release", up), ("mark trip", down),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("low", "high", "most", "steps"),
    [
        (0.0, 10.0, 5, [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]),
        (-13.0, 14.0, 6, [-10.0, -5.0, 0.0, 5.0, 10.0]),
        (2.5, 3.8, 8, [2.6, 2.8, 3.0, 3.2, 3.4, 3.6, 3.8]),
        (0.0, 700.0, 6, [0.0, 200.0, 400.0, 600.0]),
    ],
)
def test_steps_are_round(low: float, high: float, most: int, steps: list[float]) -> None:
    assert round_steps(low, high, most) == steps


def test_a_span_is_widened_to_round_ends() -> None:
    assert widened(-13.0, 14.0, 6) == (-15.0, 15.0)
    assert widened(2.47, 3.83, 8) == (2.4, 4.0)
    assert widened(5.0, 5.0, 5) == (4.4, 5.6)


@given(st.lists(st.floats(0, 300), min_size=1, max_size=15))
def test_labels_are_moved_apart_in_order_and_no_more_than_needed(places: list[float]) -> None:
    ordered = sorted(places)
    moved = spread(ordered, 16.0, 0.0, 300.0)
    assert all(b - a >= 16.0 - 1e-6 for a, b in pairwise(moved))
    assert moved[0] >= -1e-6
    assert moved[-1] <= 300.0 + 1e-6
    if all(b - a >= 16.0 for a, b in pairwise(ordered)):
        assert moved == pytest.approx(ordered)
