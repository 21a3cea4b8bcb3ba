"""Whole limits of every chemistry, with and without the cell maker's data in the file."""

from typing import Any

import pytest

from bmslint.limits import Limits, Source, UnknownChemistry, known_chemistries, load_limits

MAKER = {
    "source": "cell maker's specification, invented for this test, table 4",
    "charge_degC": {"min": -10.0, "max": 50.0},
    "discharge_degC": {"min": -30.0, "max": 55.0},
    "storage_degC": {"min": -30.0, "max": 40.0},
    "charge_max_V": 3.6,
    "discharge_min_V": 2.6,
    "charge_current": [
        {"from_degC": -10.0, "max_A": 5.0},
        {"from_degC": 10.0, "max_A": 30.0},
        {"from_degC": 50.0, "max_A": 0.0},
    ],
    "discharge_max_A": 100.0,
}
DECLARED = Source("cell maker", "cell maker's specification, invented for this test, table 4", "declared")
IRON_PHOSPHATE_TYPICAL = {
    "overvoltage_trip_V": {"min": 3.55, "max": 3.8},
    "undervoltage_trip_V": {"min": 2.0, "max": 3.0},
}
MAKER_ONLY_IN_THE_COLD = {
    "charge_degC.min": ("pack.cell.limits.charge_degC",),
    "discharge_degC.min": ("pack.cell.limits.discharge_degC",),
    "storage_degC.min": ("pack.cell.limits.storage_degC",),
    "discharge_max_A": ("pack.cell.limits.discharge_max_A",),
    "charge_current": ("pack.cell.limits.charge_current",),
}


def limits_of(chemistry: str, limits: dict[str, Any] | None = None, **pack: Any) -> Limits:
    cell = {"capacity_Ah": 100.0} | ({"limits": limits} if limits is not None else {})
    return load_limits({"pack": {"chemistry": chemistry, "cell": cell} | pack})


def rows(*steps: tuple[float, float]) -> list[dict[str, float]]:
    return [{"from_degC": start, "max_A": most} for start, most in steps]


def test_iron_phosphate_from_the_table() -> None:
    limits = limits_of("lfp")
    assert limits.data == {
        "chemistry": "lfp",
        "charge_degC": {"min": 0.0, "max": 55.0},
        "discharge_degC": {"min": -20.0, "max": 60.0},
        "storage_degC": {"min": -20.0, "max": 45.0},
        "charge_max_V": 3.65,
        "discharge_min_V": 2.5,
        "nominal_V": 3.2,
        "harm_below_V": 2.0,
        "float_max_V": 3.4,
        "float_wanted": False,
        "plating": True,
        "typical": IRON_PHOSPHATE_TYPICAL,
        "charge_current": rows(
            (0.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 50.0), (45.0, 30.0), (55.0, 0.0)
        ),
        "undeclared_source": False,
        "looser": [],
    }
    assert limits.missing == {"discharge_max_A": ("pack.cell.limits.discharge_max_A",)}


def test_nickel_oxide_from_the_table() -> None:
    limits = limits_of("nmc")
    assert limits.data == {
        "chemistry": "nmc",
        "charge_degC": {"min": 0.0, "max": 45.0},
        "discharge_degC": {"min": -20.0, "max": 60.0},
        "storage_degC": {"min": -20.0, "max": 45.0},
        "charge_max_V": 4.2,
        "discharge_min_V": 2.5,
        "nominal_V": 3.6,
        "harm_below_V": 2.0,
        "float_wanted": False,
        "plating": True,
        "typical": {
            "overvoltage_trip_V": {"min": 4.1, "max": 4.35},
            "undervoltage_trip_V": {"min": 2.4, "max": 3.4},
        },
        "charge_current": rows((0.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 50.0), (45.0, 0.0)),
        "undeclared_source": False,
        "looser": [],
    }
    assert limits.missing == {"discharge_max_A": ("pack.cell.limits.discharge_max_A",)}


def test_titanate_from_the_table() -> None:
    limits = limits_of("lto")
    assert limits.data == {
        "chemistry": "lto",
        "charge_degC": {"min": -20.0, "max": 55.0},
        "discharge_degC": {"min": -30.0, "max": 60.0},
        "storage_degC": {"min": -30.0, "max": 55.0},
        "charge_max_V": 2.8,
        "discharge_min_V": 1.5,
        "nominal_V": 2.3,
        "harm_below_V": 1.0,
        "float_max_V": 2.6,
        "float_wanted": False,
        "plating": False,
        "typical": {
            "overvoltage_trip_V": {"min": 2.65, "max": 3.0},
            "undervoltage_trip_V": {"min": 1.2, "max": 1.9},
        },
        "charge_current": rows((-20.0, 20.0), (-10.0, 50.0), (0.0, 100.0), (45.0, 50.0), (55.0, 0.0)),
        "undeclared_source": False,
        "looser": [],
    }
    assert limits.missing == {"discharge_max_A": ("pack.cell.limits.discharge_max_A",)}


def test_low_temperature_iron_phosphate_has_no_cold_limit_of_its_own() -> None:
    limits = limits_of("lfp_low_temperature")
    assert limits.data == {
        "chemistry": "lfp_low_temperature",
        "charge_degC": {"max": 55.0},
        "discharge_degC": {"max": 60.0},
        "storage_degC": {"max": 45.0},
        "charge_max_V": 3.65,
        "discharge_min_V": 2.5,
        "nominal_V": 3.2,
        "harm_below_V": 2.0,
        "float_max_V": 3.4,
        "float_wanted": False,
        "plating": True,
        "typical": IRON_PHOSPHATE_TYPICAL,
        "undeclared_source": False,
        "looser": [],
    }
    assert limits.missing == MAKER_ONLY_IN_THE_COLD


def test_sodium_ion_has_neither_cold_limits_nor_voltages_of_its_own() -> None:
    limits = limits_of("sodium_ion")
    assert limits.data == {
        "chemistry": "sodium_ion",
        "charge_degC": {"max": 45.0},
        "discharge_degC": {"max": 60.0},
        "storage_degC": {"max": 45.0},
        "nominal_V": 3.1,
        "harm_below_V": 1.0,
        "float_wanted": False,
        "plating": True,
        "typical": {
            "overvoltage_trip_V": {"min": 3.4, "max": 4.2},
            "undervoltage_trip_V": {"min": 1.2, "max": 2.6},
        },
        "undeclared_source": False,
        "looser": [],
    }
    assert limits.missing == MAKER_ONLY_IN_THE_COLD | {
        "charge_max_V": ("pack.cell.limits.charge_max_V",),
        "discharge_min_V": ("pack.cell.limits.discharge_min_V",),
    }


@pytest.mark.parametrize("chemistry", known_chemistries())
def test_the_makers_data_replace_the_table_and_fill_what_it_lacks(chemistry: str) -> None:
    table, limits = limits_of(chemistry), limits_of(chemistry, MAKER)
    own = ("chemistry", "nominal_V", "harm_below_V", "float_max_V", "float_wanted", "plating", "typical")
    maker = {key: MAKER[key] for key in MAKER if key != "source"}
    assert limits.data == maker | {
        **{key: table.data[key] for key in own if key in table.data},
        "undeclared_source": False,
        "looser": limits.data["looser"],  # its own tests are in test_looser_limits.py
    }
    assert limits.missing == {}
    by_maker = {path for path, source in limits.sources.items() if source == DECLARED}
    ends = {
        f"{span}.{end}"
        for span in ("charge_degC", "discharge_degC", "storage_degC")
        for end in ("min", "max")
    }
    assert by_maker == ends | {"charge_max_V", "discharge_min_V", "discharge_max_A", "charge_current"}


def test_every_limit_has_a_source_and_none_is_both_known_and_missing() -> None:
    for chemistry in known_chemistries():
        limits = limits_of(chemistry)
        known = {
            f"{key}.{part}" if isinstance(value, dict) else key
            for key, value in limits.data.items()
            if key not in ("chemistry", "undeclared_source", "looser")
            for part in (value if isinstance(value, dict) else [""])
        }
        assert set(limits.sources) == known
        assert not known & set(limits.missing)


def test_sources_of_the_table_say_what_where_and_how() -> None:
    sources = limits_of("lfp").sources
    assert sources["charge_max_V"] == Source(
        "chemistry table",
        "Battery Parameter eXchange (BPX) open standard, examples/lfp_18650_cell_BPX.json, "
        "Cell, Upper voltage cut-off",
        "read",
    )
    assert sources["charge_degC.min"] == Source(
        "chemistry table", "no charging of graphite cells below freezing", "common practice"
    )


def test_the_charge_current_is_known_no_better_than_its_weakest_row() -> None:
    assert limits_of("lto").sources["charge_current"] == Source("chemistry table", "judgement", "unverified")


@pytest.mark.parametrize(
    ("declared", "undeclared"),
    [
        (None, False),
        ({}, False),
        ({"source": "a sheet"}, False),
        ({"charge_max_V": 3.6}, True),
        ({"charge_max_V": 3.6, "source": "a sheet"}, False),
    ],
)
def test_limits_without_a_source_are_used_and_marked(
    declared: dict[str, Any] | None, undeclared: bool
) -> None:
    limits = limits_of("lfp", declared)
    expected = limits_of("lfp").data | {"undeclared_source": undeclared}
    if declared and "charge_max_V" in declared:
        expected["charge_max_V"] = 3.6
    assert limits.data == expected


def test_a_limit_without_a_source_says_so_in_its_source() -> None:
    assert limits_of("lfp", {"charge_max_V": 3.6}).sources["charge_max_V"] == Source(
        "cell maker", "cell limits in the file, no source given", "declared"
    )


@pytest.mark.parametrize(
    ("pack", "ampere"),
    [
        ({"cell": {"capacity_Ah": 230.0}}, 23.0),
        ({"cell": {"capacity_Ah": 230.0}, "capacity_Ah": 999.0, "parallel": 2.0}, 23.0),
        ({"capacity_Ah": 460.0, "parallel": 2.0}, 23.0),
        ({"capacity_Ah": 460.0, "parallel": 2.0, "cell": {}}, 23.0),
    ],
)
def test_rates_become_currents_of_one_cell(pack: dict[str, Any], ampere: float) -> None:
    limits = load_limits({"pack": {"chemistry": "lfp"} | pack})
    assert limits.data["charge_current"][0] == {"from_degC": 0.0, "max_A": ampere}


@pytest.mark.parametrize("pack", [{}, {"capacity_Ah": 460.0}, {"parallel": 2.0}, {"cell": {}}])
def test_without_a_capacity_rates_become_no_current(pack: dict[str, Any]) -> None:
    limits = load_limits({"pack": {"chemistry": "lfp"} | pack})
    assert "charge_current" not in limits.data
    assert limits.missing["charge_current"] == ("pack.cell.capacity_Ah",)


@pytest.mark.parametrize(
    ("bounds", "expected"),
    [
        ({"min": 3.0, "max": 40.0}, rows((3.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 50.0), (40.0, 0.0))),
        ({"min": 5.0}, rows((5.0, 20.0), (10.0, 30.0), (20.0, 50.0), (45.0, 30.0), (55.0, 0.0))),
        ({"max": 20.0}, rows((0.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 0.0))),
        # A hotter end than the table's says nothing of the current there: the table's end stays.
        (
            {"max": 60.0},
            rows((0.0, 10.0), (5.0, 20.0), (10.0, 30.0), (20.0, 50.0), (45.0, 30.0), (55.0, 0.0)),
        ),
        ({"min": 50.0, "max": 10.0}, rows((50.0, 0.0))),
    ],
)
def test_the_tables_currents_keep_inside_the_makers_temperatures(
    bounds: dict[str, float], expected: list[dict[str, float]]
) -> None:
    assert limits_of("lfp", {"source": "a sheet", "charge_degC": bounds}).data["charge_current"] == expected


def test_a_cell_that_may_be_charged_colder_than_the_table_needs_the_makers_currents() -> None:
    """Neither the table's nothing nor its currents hold for such a cell, so the current is not known."""
    limits = limits_of("lfp", {"source": "a sheet", "charge_degC": {"min": -10.0, "max": 50.0}})
    assert "charge_current" not in limits.data
    assert limits.missing["charge_current"] == ("pack.cell.limits.charge_current",)


def test_the_makers_currents_are_put_in_order() -> None:
    steps = rows((10.0, 30.0), (0.0, 5.0), (50.0, 0.0))
    limits = limits_of("lfp", {"source": "a sheet", "charge_current": steps})
    assert limits.data["charge_current"] == rows((0.0, 5.0), (10.0, 30.0), (50.0, 0.0))


def test_one_load_does_not_change_the_next() -> None:
    first = limits_of("lfp")
    first.data["typical"]["overvoltage_trip_V"]["min"] = 0.0
    first.data["charge_degC"]["min"] = -99.0
    first.data["charge_current"][0]["max_A"] = 1e9
    test_iron_phosphate_from_the_table()


def test_an_unknown_chemistry() -> None:
    with pytest.raises(UnknownChemistry, match="did you mean 'lfp'"):
        limits_of("lpf")
