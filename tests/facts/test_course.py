"""The course of a warm-up is that of its facts: the same instants, temperatures and reasons."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from packs import FOLDER, changed, of_profile

from bmslint.facts import Facts, Missing, Quantity, derive
from bmslint.facts.blocks import stacked
from bmslint.facts.course import Course, Moment, Run, course
from bmslint.facts.inputs import Inputs
from bmslint.facts.pack import NOMINAL, describe
from bmslint.facts.placing import Placing
from bmslint.facts.section import place_m
from bmslint.facts.sensors import Sensor, sensor
from bmslint.limits import load_limits
from bmslint.settings import Document, read

STEMS = sorted(path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.yaml"))
RUNS: tuple[Run, ...] = ("heated_warmup", "ambient_warmup")


@cache
def known(stem: str) -> tuple[Document, Facts]:
    document = read(FOLDER / f"{stem}.yaml")
    return document, derive(document.data, load_limits(document.data))


@cache
def followed(stem: str, run: Run) -> Course | Missing:
    document, _ = known(stem)
    return course(document.data, load_limits(document.data), run)


def told(facts: Facts, run: Run, name: str) -> float | str | bool | None:
    fact = facts.find(f"{run}.{name}")
    return fact.value if isinstance(fact, Quantity) else None


@pytest.mark.parametrize("run", RUNS)
@pytest.mark.parametrize("stem", STEMS)
def test_a_course_tells_what_the_facts_tell(stem: str, run: Run) -> None:
    facts, line = known(stem)[1], followed(stem, run)
    if isinstance(line, Missing):
        assert set(facts.groups[run].values()) == {line}
        return
    released = told(facts, run, "time_to_release_min")
    if line.released is None:
        assert released is None
    else:
        at = line.released
        assert (at.time_s / 60.0, at.reading_degC, at.coldest_degC, at.hottest_degC) == pytest.approx(
            [told(facts, run, name) for name in ("time_to_release_min", *AT_RELEASE)], abs=1e-6
        )
    warm = told(facts, run, "coldest_warm_after_min")
    assert warm == (None if line.warm is None else pytest.approx(line.warm.time_s / 60.0, abs=1e-6))
    assert (line.starts_degC, ", ".join(line.sensors)) == (
        told(facts, run, "starts_degC"), told(facts, run, "deciding_sensor"),
    )  # fmt: skip


AT_RELEASE = ("reading_at_release_degC", "coldest_at_release_degC", "hottest_at_release_degC")


@pytest.mark.parametrize("run", RUNS)
@pytest.mark.parametrize("stem", STEMS)
def test_a_course_is_fit_to_be_drawn(stem: str, run: Run) -> None:
    """Times ascend from nought past the last instant; nothing jumps between two of them but by a switch."""
    line = followed(stem, run)
    if isinstance(line, Missing):
        return
    times, cold, hot = np.array(line.times_s), np.array(line.coldest_degC), np.array(line.hottest_degC)
    assert times[0] == 0.0
    assert (np.diff(times) > 0.0).all()
    assert {len(each) for each in (times, line.reading_degC, cold, hot, line.heating)} == {len(times)}
    assert 241 <= len(times) <= 303
    instants = [each for each in (line.released, line.warm) if each is not None]
    for each in instants:
        number = line.times_s.index(each.time_s)
        assert each == Moment(times[number], line.reading_degC[number], cold[number], hot[number])
    end = 1.15 * max(each.time_s for each in instants)
    assert times[-1] == pytest.approx(end, rel=1e-9) if line.released else times[-1] >= end * (1 - 1e-9)
    assert (cold <= hot + 1e-9).all()
    assert cold[0] == pytest.approx(line.starts_degC, abs=1e-9)
    # Between soaked and warm the coldest point only warms; 0.05 K is a floor colder than the start.
    before = cold[times <= instants[-1].time_s]
    assert (np.diff(before) > -0.05).all()
    assert any(line.heating) == (run == "heated_warmup")


def test_a_pack_that_never_comes_to_charge_ends_where_it_has_settled() -> None:
    line = followed("failing/heater-stops-early", "heated_warmup")
    assert isinstance(line, Course)
    assert line.released is None
    assert line.warm is not None
    assert line.warm.coldest_degC == pytest.approx(0.0, abs=1e-3)
    cold = changed(of_profile("ridge-hut"), {"heater.power_W": 1.0})
    assert cold is not None
    weak = course(cold.data, load_limits(cold.data), "heated_warmup")
    assert isinstance(weak, Course)
    assert (weak.released, weak.warm) == (None, None)
    rises = [each - weak.starts_degC for each in weak.coldest_degC]
    # The time limit of the heater ends the warming, and the pack cools again.
    assert 0.0 < rises[-1] < max(rises) < 2.0
    assert weak.at_s == weak.times_s[-1] < 48 * 3600.0


def test_a_pack_that_is_never_inhibited_is_released_at_once() -> None:
    mild = changed(of_profile("ridge-hut"), {"site.coldest_degC": 6.0, "site.floor_degC": 6.0})
    assert mild is not None
    line = course(mild.data, load_limits(mild.data), "heated_warmup")
    assert isinstance(line, Course)
    assert line.released == Moment(0.0, 6.0, 6.0, 6.0)
    assert line.warm is None


def test_settings_beyond_physics_give_a_reason() -> None:
    absurd = changed(
        of_profile("ridge-hut"),
        {
            "sensors.core.read_as": {"r25_ohm": 1e9, "beta_K": 1.0},
            "sensors.core.thermistor": {"r25_ohm": 1.0, "beta_K": 9000.0},
        },
    )
    assert absurd is not None
    facts = derive(absurd.data, load_limits(absurd.data))
    line = course(absurd.data, load_limits(absurd.data), "heated_warmup")
    assert isinstance(line, Missing)
    assert set(facts.groups["heated_warmup"].values()) == {line}


@pytest.mark.parametrize("stem", STEMS)
def test_sections_hold_the_field_at_release(stem: str) -> None:
    document = known(stem)[0]
    for run in RUNS:
        line = followed(stem, run)
        if isinstance(line, Missing) or line.released is None:
            continue
        pack = describe(Inputs(document.data, load_limits(document.data)))
        size = [1e3 * each for each in pack.size_m]
        assert [(each.across, each.up, each.normal) for each in line.sections] == [
            ("x", "y", "z"), ("x", "z", "y"),
        ]  # fmt: skip
        for cut, up in zip(line.sections, (1, 2), strict=True):
            field = np.array(cut.degC)
            assert field.shape == (len(cut.up_edges_mm) - 1, len(cut.across_edges_mm) - 1)
            assert field.min() == pytest.approx(line.released.coldest_degC, abs=1e-6)
            assert field.max() <= line.released.hottest_degC + 1e-6
            assert (cut.across_edges_mm[-1], cut.up_edges_mm[-1]) == pytest.approx((size[0], size[up]))
            assert 0.0 < cut.at_mm < size[3 - up]
            row, column = np.unravel_index(int(field.argmin()), field.shape)
            assert cut.up_edges_mm[row] < cut.coldest_mm[1] < cut.up_edges_mm[row + 1]
            assert cut.across_edges_mm[column] < cut.coldest_mm[0] < cut.across_edges_mm[column + 1]
            assert sum((c - a) * (d - b) for a, b, c, d in cut.cells) == pytest.approx(size[0] * size[up])


def test_what_a_section_shows_of_a_pack() -> None:
    """Ridge hut: four cells of 54 mm by two of 174 mm, films on ends and sides."""
    line = followed("failing/skin-decides", "heated_warmup")
    assert isinstance(line, Course)
    plan, side = line.sections
    assert plan.films == (
        (0.0, 0.0, 0.0, 348.0), (216.0, 0.0, 216.0, 348.0),
        (0.0, 0.0, 216.0, 0.0), (0.0, 348.0, 216.0, 348.0),
    )  # fmt: skip
    assert side.films == ((0.0, 0.0, 0.0, 205.0), (216.0, 0.0, 216.0, 205.0))
    assert plan.cells == tuple(
        pytest.approx((54.0 * n, 174.0 * row, 54.0 * (n + 1), 174.0 * (row + 1)))
        for row in range(2)
        for n in range(4)
    )
    placed = {spot.name: (spot.place, spot.across_mm, spot.up_mm) for spot in plan.spots}
    assert placed == {
        "core": ("between_cells", 108.0, 261.0),
        "skin": ("heated_face", 0.0, 261.0),
        "post": ("terminal", 27.0, 87.0),
    }
    heights = {spot.name: spot.up_mm for spot in side.spots}
    assert heights == {"core": 102.5, "skin": 102.5, "post": 205.0}
    assert [spot.away_mm for spot in plan.spots] == pytest.approx(
        [abs(height - plan.at_mm) for height in heights.values()]
    )


PLACES = (
    {"place": "between_cells", "position": "middle"},
    {"place": "between_cells", "position": "outer"},
    {"place": "terminal", "cell": 1},
    {"place": "terminal", "cell": 6},
    {"place": "busbar"},
    *({"place": place, "face": face} for place in ("cell_face", "case", "heated_face")
      for face in ("ends", "sides", "top", "bottom")),
)  # fmt: skip


@pytest.mark.parametrize("stem", ["ridge-hut", "orchard-robot", "delivery-trike"])
@pytest.mark.parametrize("entry", PLACES, ids=lambda entry: " ".join(map(str, entry.values())))
def test_a_place_is_where_the_runs_read_it(stem: str, entry: dict[str, str]) -> None:
    """The row of a sensor's probe is that of its place, but for a factor: the way from volume to surface."""
    document = changed(of_profile(stem), {"sensors.core": {**entry, "accuracy_K": 1.0}})
    assert document is not None
    inputs = Inputs(document.data, load_limits(document.data))
    pack = describe(inputs)
    block = stacked([(pack, NOMINAL)], ("heater", "air", "floor", "inside"))
    probed: Sensor = sensor(inputs, "core")
    row = Placing([(pack, NOMINAL)], block).place(probed).row[0]
    place = place_m(pack, probed)
    assert place is not None
    x, y, z = (axis.weights(at) for axis, at in zip(block.axes, place, strict=True))
    expected = block.probe([(x, y, z)])[0, 0]
    share = float(row @ expected / (expected @ expected))
    assert 0.0 < share <= 1.0 + 1e-12
    assert row == pytest.approx(share * expected, abs=1e-12 * np.abs(row).max())


def test_what_does_not_touch_the_block_has_no_place() -> None:
    inputs = Inputs(of_profile("ridge-hut").data, load_limits(of_profile("ridge-hut").data))
    assert place_m(describe(inputs), sensor(inputs, "board")) is None


def test_cutting_a_huge_block_does_not_take_seconds() -> None:
    """Fewer times where the block has many volumes, and never fewer than a drawing needs."""
    many = changed(of_profile("delivery-trike"), {"pack.layout": {"stacked": 60, "rows": 30, "gap": "air"}})
    assert many is not None
    line = course(many.data, load_limits(many.data), "ambient_warmup")
    assert isinstance(line, Course)
    assert 41 <= len(line.times_s) <= 243
    gaps = [after - before for before, after in pairwise(line.times_s)]
    assert max(gaps) <= line.times_s[-1] / 40 * (1 + 1e-9)
