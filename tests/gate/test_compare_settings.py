"""What a changed setting does to safety: the table is whole, and agrees with what adds no finding."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import bmslint.settings.models as models
from bmslint.data import rules_dir
from bmslint.gate.changes import changed_settings
from bmslint.gate.curves import allows_more, trips_later
from bmslint.gate.directions import ABSENT, DIRECTIONS, direction, row_of, table
from bmslint.settings import read_text
from bmslint.settings.compiled import load_schema
from bmslint.settings.tree import parse
from bmslint.settings.vocabulary import Vocabulary

TEXT = (rules_dir().parent / "profiles" / "ridge-hut.yaml").read_text(encoding="utf-8")
SAFER_WORDS = {
    "lower", "higher", "there", "more entries", "fewer entries", "less current", "earlier trips", "depends",
    "no effect",
}  # fmt: skip


def rows() -> list[dict[str, Any]]:
    path = rules_dir() / "directions.yaml"
    tree = parse(path.read_bytes(), path.name)
    assert tree.problems == ()
    listed: list[dict[str, Any]] = tree.data["rows"]
    return listed


@cache
def vocabulary() -> Vocabulary:
    return Vocabulary(load_schema(Path(models.__file__).parent / "compiled.json"))


def test_every_setting_of_the_format_has_one_row() -> None:
    known = {f"{place}.{key}" if place else key for place, key in vocabulary().every_key()}
    listed = [name for row in rows() for name in row["settings"]]
    assert sorted(listed) == sorted(known | {"sensors.*"})
    assert set(table()) == set(listed)


def test_every_row_is_well_formed() -> None:
    for row in rows():
        assert {"settings", "safer", "why"} <= row.keys() <= {"settings", "safer", "why", "none", "where"}
        assert isinstance(row["safer"], list) or row["safer"] in SAFER_WORDS
        assert len(row["why"].split()) > 3
        assert row.get("none", "depends") in DIRECTIONS


@cache
def choices_of(path: str) -> list[dict[str, Any]]:
    return vocabulary().choices(path.replace("[]", "[0]").replace("*", "any"))


def test_words_are_ranked_whole_and_numbers_by_size() -> None:
    """What the format allows at a place fits the measure that the row names."""
    kinds: dict[str, set[str]] = {}
    for name, row in table().items():
        nodes = choices_of(name)
        if isinstance(row.safer, list):
            flat = [each for part in row.safer for each in (part if isinstance(part, list) else [part])]
            allowed = [each for node in nodes for each in node.get("expected", [True, False])]
            assert sorted(map(str, flat)) == sorted(map(str, allowed)), name
        else:
            kinds.setdefault(str(row.safer), set()).update(node["type"] for node in nodes)
        if row.none is not None:
            assert "none" in [each for node in nodes for each in node.get("expected", ())], name
    assert kinds["lower"] <= {"float", "int", "literal", "str"}
    assert kinds["higher"] <= {"float", "int", "literal"}
    assert kinds["there"] <= {"typed-dict", "literal"}
    assert kinds["more entries"] == kinds["fewer entries"] == kinds["less current"] == {"list"}
    assert kinds["earlier trips"] == {"list", "literal"}


def numbers() -> list[str]:
    return sorted(
        name
        for name in table()
        if any(node["type"] in ("float", "int") for node in choices_of(name))
        and not isinstance(table()[name].safer, list)
    )


@pytest.mark.parametrize("name", numbers())
def test_a_number_that_moves_back_does_the_opposite(name: str) -> None:
    row = row_of(name.replace("[]", "[3]").replace("*", "skin"))
    there, back = direction(row, 1.0, 2.0)[0], direction(row, 2.0, 1.0)[0]
    expected = {
        "lower": ("less safe", "safer"),
        "higher": ("safer", "less safe"),
        "depends": ("depends", "depends"),
        "no effect": ("no effect", "no effect"),
    }
    assert (there, back) == expected[str(row.safer)]


def changes(*pairs: tuple[str, str]) -> list[tuple[str, Any, Any, str, int]]:
    """Path, values, direction and line of each change that replacing texts makes."""
    text = TEXT
    for before, after in pairs:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    old, new = read_text(TEXT, "p.yaml"), read_text(text, "p.yaml")
    assert new.problems == ()
    found = changed_settings(old, new)
    return [(each.path, each.was, each.now, each.direction, each.place.line) for each in found]


PATHS = (
    "  - {name: turbine controller, max_A: 60, obeys: [charge_cold, charge_hot, charge_current,"
    " cell_overvoltage], wakes_board: true}\n"
)
LEVELS = "discharge_overcurrent: [{trip_above_A: 190, delay_s: 10}, {trip_above_A: 400, delay_ms: 500}]"
LEVELS_WERE = [{"trip_above_A": 190.0, "delay_s": 10.0}, {"trip_above_A": 400.0, "delay_ms": 500.0}]
STEPS = "steps: [{from_degC: 4, max_A: 20}, {from_degC: 9, max_A: 40}, {from_degC: 14, max_A: 60}, "
STEPS_WERE = [
    {"from_degC": 4.0, "max_A": 20.0},
    {"from_degC": 9.0, "max_A": 40.0},
    {"from_degC": 14.0, "max_A": 60.0},
    {"from_degC": 44.0, "max_A": 40.0},
]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (
            "{inhibit_below_degC: 4, r",
            "{inhibit_below_degC: 2, r",
            [("protection.charge_cold.inhibit_below_degC", 4.0, 2.0, "less safe", 59)],
        ),
        (
            "{inhibit_below_degC: 4, release_above_degC: 7",
            "{inhibit_below_degC: 4, release_above_degC: 9",
            [("protection.charge_cold.release_above_degC", 7.0, 9.0, "safer", 59)],
        ),
        (
            "{trip_above_V: 3.60,",
            "{trip_above_V: 3.65,",
            [("protection.cell_overvoltage.trip_above_V", 3.6, 3.65, "less safe", 64)],
        ),
        ("hold_s: 60}", "hold_s: 30}", [("protection.charge_cold.hold_s", 60.0, 30.0, "less safe", 59)]),
        (
            "post: {place: terminal, cell: 1, accuracy_K: 1,",
            "post: {place: terminal, cell: 1, accuracy_K: 2,",
            [("sensors.post.accuracy_K", 1.0, 2.0, "less safe", 55)],
        ),
        ("power_W: 40", "power_W: 60", [("heater.power_W", 40.0, 60.0, "depends", 41)]),
        ("cutout_degC: 60", "cutout_degC: none", [("heater.cutout_degC", 60.0, "none", "less safe", 50)]),
        (
            "release: manual}",
            "release: timed}",
            [("protection.short_circuit.release", "manual", "timed", "less safe", 72)],
        ),
        (
            "action: block}",
            "action: use_last}",
            [("protection.sensor_fault.action", "block", "use_last", "less safe", 75)],
        ),
        (
            "independent: true}",
            "independent: false}",
            [("protection.second_overvoltage.independent", True, False, "less safe", 69)],
        ),
        (
            "  sensor_difference: {trip_above_K: 25}\n",
            "",
            [("protection.sensor_difference", {"trip_above_K": 25.0}, None, "less safe", 74)],
        ),
        (
            "  sensor_difference: {trip_above_K: 25}",
            "  sensor_difference: none",
            [("protection.sensor_difference", {"trip_above_K": 25.0}, "none", "less safe", 74)],
        ),
        (
            "sensors: [core, post], decided_by: lowest, hold_s",
            "sensors: [post], decided_by: lowest, hold_s",
            [("protection.charge_cold.sensors", ["core", "post"], ["post"], "less safe", 59)],
        ),
        (
            "sensors: [core, post], decided_by: lowest, hold_s",
            "sensors: [skin], decided_by: lowest, hold_s",
            [("protection.charge_cold.sensors", ["core", "post"], ["skin"], "depends", 59)],
        ),
        (
            "sensors: [core, post], decided_by: lowest, hold_s",
            "sensors: [post], decided_by: highest, hold_s",
            [
                ("protection.charge_cold.decided_by", "lowest", "highest", "less safe", 59),
                ("protection.charge_cold.sensors", ["core", "post"], ["post"], "depends", 59),
            ],
        ),
        (
            LEVELS,
            "discharge_overcurrent: [{trip_above_A: 180, delay_s: 10}, {trip_above_A: 400, delay_ms: 600}]",
            [
                ("protection.discharge_overcurrent[1].delay_ms", 500.0, 600.0, "less safe", 71),
                ("protection.discharge_overcurrent[0].trip_above_A", 190.0, 180.0, "safer", 71),
            ],
        ),
        (
            LEVELS,
            "discharge_overcurrent: [{trip_above_A: 190, delay_s: 10}]",
            [("protection.discharge_overcurrent", LEVELS_WERE, LEVELS_WERE[:1], "less safe", 71)],
        ),
        (
            LEVELS,
            LEVELS.replace("delay_s: 10}", "delay_ms: 10000}"),
            [
                (
                    "protection.discharge_overcurrent",
                    LEVELS_WERE,
                    [{"trip_above_A": 190.0, "delay_ms": 10000.0}, LEVELS_WERE[1]],
                    "no effect",
                    71,
                )
            ],
        ),
        (
            LEVELS,
            "discharge_overcurrent: none",
            [("protection.discharge_overcurrent", LEVELS_WERE, "none", "less safe", 71)],
        ),
        (
            STEPS,
            STEPS.replace("max_A: 40", "max_A: 30"),
            [("charge_current.steps[from_degC=9].max_A", 40.0, 30.0, "safer", 79)],
        ),
        (
            STEPS,
            STEPS.replace("from_degC: 9", "from_degC: 8"),
            [
                (
                    "charge_current.steps",
                    STEPS_WERE,
                    [STEPS_WERE[0], {"from_degC": 8.0, "max_A": 40.0}, *STEPS_WERE[2:]],
                    "less safe",
                    79,
                )
            ],
        ),
        (
            PATHS,
            "  - {name: wind, max_A: 10, obeys: []}\n" + PATHS,
            [
                (
                    "charge_paths[name=wind]",
                    None,
                    {"name": "wind", "max_A": 10.0, "obeys": []},
                    "less safe",
                    85,
                )
            ],
        ),
        (
            PATHS,
            "  - {name: wind, max_A: 10, obeys: []}\n" + PATHS.replace(", charge_hot", ""),
            [
                (
                    "charge_paths[name=turbine controller].obeys",
                    ["charge_cold", "charge_hot", "charge_current", "cell_overvoltage"],
                    ["charge_cold", "charge_current", "cell_overvoltage"],
                    "less safe",
                    86,
                ),
                (
                    "charge_paths[name=wind]",
                    None,
                    {"name": "wind", "max_A": 10.0, "obeys": []},
                    "less safe",
                    85,
                ),
            ],
        ),
        (
            "storage: {board_draw_mA: 8, days: 120}",
            "storage: {board_draw_mA: 8}",
            [("storage.days", 120.0, None, "depends", 91)],
        ),
        (
            "site: {coldest_degC: -15,",
            "accepted: [{rule: a, until: 2027-01-01}]\nsite: {coldest_degC: -15,",
            [("accepted[rule=a]", None, {"rule": "a", "until": "2027-01-01"}, "less safe", 93)],
        ),
    ],
)
def test_a_change_is_told_with_its_direction(
    before: str, after: str, expected: list[tuple[str, Any, Any, str, int]]
) -> None:
    assert changes((before, after)) == expected


@pytest.mark.parametrize(
    ("path", "was", "now", "expected"),
    [
        (
            "protection.board_hot",
            ABSENT,
            "none",
            "depends",
        ),  # said to be lacking, which it may have been before
        ("protection.board_hot", "none", ABSENT, "depends"),
        ("protection.board_hot", "none", {"inhibit_above_degC": 80.0}, "safer"),
        ("protection.board_hot", ABSENT, {"inhibit_above_degC": 80.0}, "safer"),
        ("protection.charge_overcurrent", ABSENT, [{"trip_above_A": 90.0}], "safer"),
        ("charger.float_V", "none", 27.0, "less safe"),
        ("protection.charge_overcurrent[0].retry_after_s", 30.0, "none", "safer"),
        ("protection.charge_cold.delay_s", ABSENT, 2.0, "depends"),
        ("protection.charge_cold.delay_s", 2.0, "soon", "depends"),
        ("charge_current.steps", [{"from_degC": 1.0, "max_A": 2.0}], ABSENT, "depends"),
        ("protection.sensor_fault.action", "ignore", "use_last", "depends"),
        ("protection.charge_hot.decided_by", "mean", "lowest", "less safe"),
        ("charge_paths[0].obeys", [], ["charge_hot"], "safer"),
        ("pack.series", 8.0, 16.0, "depends"),
        ("title", "a", "b", "no effect"),
    ],
)
def test_what_is_put_in_left_out_or_none_has_a_direction_too(
    path: str, was: Any, now: Any, expected: str
) -> None:
    assert direction(row_of(path), was, now)[0] == expected


def test_a_path_that_went_is_one_source_less() -> None:
    added = PATHS + "  - {name: wind, max_A: 10, obeys: []}\n"
    found = changed_settings(*(read_text(each, "p.yaml") for each in (TEXT.replace(PATHS, added), TEXT)))
    wind = {"name": "wind", "max_A": 10.0, "obeys": []}
    assert [(*each[:4], each.in_new) for each in found] == [
        ("charge_paths[name=wind]", wind, None, "safer", False)
    ]


def test_the_day_of_an_entry_goes_by_the_calendar() -> None:
    texts = [f"{TEXT}accepted: [{{rule: a, until: {day}}}]\n" for day in ("2026-12-31", "2027-01-01")]
    later = changed_settings(*(read_text(each, "p.yaml") for each in texts))
    assert [(each.path, each.direction) for each in later] == [("accepted[rule=a].until", "less safe")]


def test_no_change_is_none() -> None:
    moved = "# a line more\n" + TEXT
    assert changed_settings(read_text(TEXT, "p.yaml"), read_text(moved, "p.yaml")) == ()


TEMPERATURE = st.integers(-3, 3).map(float)
ROW = st.builds(lambda at, most: {"from_degC": at, "max_A": float(most)}, TEMPERATURE, st.integers(0, 3))
TABLE = st.lists(ROW, max_size=4, unique_by=lambda row: row["from_degC"])


def current(rows: list[dict[str, float]], at: float, straight: bool) -> float:
    """What a table allows, looked up anew: row by row from the cold side."""
    allowed, ordered = 0.0, sorted(rows, key=lambda row: row["from_degC"])
    for row, after in zip(ordered, [*ordered, None][1:], strict=True):
        if at >= row["from_degC"]:
            allowed = row["max_A"]
            if straight and after is not None and at < after["from_degC"]:
                share = (at - row["from_degC"]) / (after["from_degC"] - row["from_degC"])
                allowed += share * (after["max_A"] - row["max_A"])
    return allowed


@settings(max_examples=100, deadline=None, derandomize=True)
@given(TABLE, TABLE, st.booleans(), st.booleans())
def test_tables_of_current_are_compared_as_on_a_fine_grid(
    was: list[dict[str, float]], now: list[dict[str, float]], before: bool, after: bool
) -> None:
    grid = [i / 64 for i in range(-4 * 64, 4 * 64 + 1)]
    apart = [current(now, at, after) - current(was, at, before) for at in grid]
    # Between whole degrees and whole amperes a straight line differs by 1/64 A or more at some point of the
    # grid wherever it differs at all.
    assert allows_more(was, now, (before, after)) == (max(apart) > 1e-9, min(apart) < -1e-9)


LEVEL = st.builds(
    lambda trip, delay: {"trip_above_A": float(trip), "delay_s": float(delay)},
    st.integers(1, 4),
    st.integers(0, 3),
)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.lists(LEVEL, max_size=3), st.lists(LEVEL, max_size=3))
def test_levels_are_compared_at_every_current(
    was: list[dict[str, float]], now: list[dict[str, float]]
) -> None:
    def time(levels: list[dict[str, float]], at: float) -> float:
        return min([each["delay_s"] for each in levels if at > each["trip_above_A"]] or [1e9])

    currents = [i / 2 for i in range(12)]
    apart = [time(now, at) - time(was, at) for at in currents]
    assert trips_later(was, now) == (max(apart) > 0.0, min(apart) < 0.0)


def test_what_cannot_be_compared_is_not_guessed() -> None:
    assert allows_more([{"from_degC": 1.0}], [], (False, False)) is None
    assert trips_later([{"trip_above_A": 1.0}], []) is None
    row = row_of("protection.charge_overcurrent")
    assert direction(row, [{"trip_above_A": 1.0}], [{"trip_above_A": 2.0, "delay_s": 1.0}])[0] == "depends"
