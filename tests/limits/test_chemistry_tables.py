"""The shipped tables: their form, their order, and what published sets say of the same quantities."""

from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field, model_validator

from bmslint.limits import UnknownChemistry, UnusableTable, known_chemistries, tables
from bmslint.limits.tables import chemistry_table, general_defaults

CHEMISTRIES = ("lfp", "lfp_low_temperature", "lto", "nmc", "sodium_ion")
# What a name ends in, and the unit its row must state.
UNITS = {
    "_W_per_mK": "W/(m K)",
    "_kg_per_m3": "kg/m3",
    "_J_per_kgK": "J/(kg K)",
    "_m2K_per_W": "m2 K/W",
    "_W_per_m2K": "W/(m2 K)",
    "_kJ_per_mol": "kJ/mol",
    "_pct_per_month": "%/month",
    "_pct": "%",
    "_mohm": "mohm",
    "_mV": "mV",
    "_s": "s",
    "_K": "K",
}


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


Number = Annotated[float, Field(strict=False)]


class Origin(Strict):
    title: Annotated[str, Field(min_length=5)]
    where: Annotated[str, Field(min_length=3)] | None = None
    how: Literal["read", "common practice", "unverified"]

    @model_validator(mode="after")
    def read_means_a_place(self) -> "Origin":
        if self.how == "read" and not self.where:
            raise ValueError("a source that was read says where in it")
        return self


class Row(Strict):
    value: Number
    source: Origin


class Flag(Strict):
    value: bool
    source: Origin


class Span(Strict):
    min: Row | None = None
    max: Row


class Step(Strict):
    from_degC: Number
    max_per_h: Annotated[Number, Field(ge=0, le=20)]
    source: Origin


class Trips(Strict):
    min: Number
    max: Number
    source: Origin


class Typical(Strict):
    overvoltage_trip_V: Trips
    undervoltage_trip_V: Trips


class Property(Strict):
    value: Number
    low: Number
    high: Number
    unit: str
    source: Origin

    @model_validator(mode="after")
    def in_its_range(self) -> "Property":
        if not self.low <= self.value <= self.high or self.low == self.high:
            raise ValueError("low <= value <= high, and a range that is one")
        return self


class Cell(Strict):
    through_W_per_mK: Property
    along_W_per_mK: Property
    density_kg_per_m3: Property
    specific_heat_J_per_kgK: Property


class Thermal(Strict):
    prismatic: Cell
    pouch: Cell
    cylindrical: Cell


class LimitTable(Strict):
    charge_degC: Span
    discharge_degC: Span
    storage_degC: Span
    charge_max_V: Row | None = None
    discharge_min_V: Row | None = None
    discharge_max_A: Row | None = None
    nominal_V: Row
    harm_below_V: Row
    float_wanted: Flag
    float_max_V: Row | None = None
    plating: Flag
    charge_current: Annotated[list[Step], Field(min_length=1)] | None = None


class Curve(Strict):
    source: Origin
    range_mV: Annotated[Number, Field(gt=0)]
    charge_pct: Annotated[list[Number], Field(min_length=11, max_length=21)]
    cell_V: list[Number]

    @model_validator(mode="after")
    def rises_from_empty_to_full(self) -> "Curve":
        if len(self.charge_pct) != len(self.cell_V):
            raise ValueError("a voltage for each state of charge")
        if (self.charge_pct[0], self.charge_pct[-1]) != (0, 100):
            raise ValueError("from 0 to 100 per cent")
        if not all(low < high for row in (self.charge_pct, self.cell_V) for low, high in pairwise(row)):
            raise ValueError("charge and voltage rise")
        return self


class Chemistry(Strict):
    title: str
    limits: LimitTable
    typical: Typical
    open_circuit: Curve | None = None
    thermal: Thermal


class Defaults(Strict):
    defaults: dict[str, Property]


def value(name: str, *path: str) -> Any:
    found = chemistry_table(name)["limits"]
    for key in path:
        found = found[key]
    return found["value"]


def test_the_tables_that_are_shipped() -> None:
    assert known_chemistries() == CHEMISTRIES


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_form(name: str) -> None:
    Chemistry.model_validate(chemistry_table(name))


def test_form_of_the_general_defaults() -> None:
    Defaults.model_validate(general_defaults())


@pytest.mark.parametrize(
    ("damage", "complaint"),
    [
        ({"how": "read", "title": "a book"}, "says where in it"),
        ({"how": "hearsay", "title": "a book"}, "common practice"),
        ({"how": "unverified"}, "title"),
    ],
)
def test_the_form_refuses_a_row_without_an_honest_source(damage: dict[str, str], complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        Row.model_validate({"value": 3.65, "source": damage})


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_every_property_states_the_unit_of_its_name(name: str) -> None:
    rows = dict(general_defaults()["defaults"])
    for shape, cell in chemistry_table(name)["thermal"].items():
        rows |= {f"{shape}.{key}": row for key, row in cell.items()}
    stated = {key: row["unit"] for key, row in rows.items()}
    longest_first = sorted(UNITS, key=len, reverse=True)
    due = {key: UNITS[next(s for s in longest_first if key.endswith(s))] for key in rows}
    assert stated == due


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_order_of_voltages(name: str) -> None:
    table = chemistry_table(name)
    rising = [
        table["limits"][key]["value"]
        for key in ("harm_below_V", "discharge_min_V", "nominal_V", "float_max_V", "charge_max_V")
        if key in table["limits"]
    ]
    assert all(low < high for low, high in pairwise(rising)), rising
    over, under = (table["typical"][f"{kind}voltage_trip_V"] for kind in ("over", "under"))
    assert under["min"] < under["max"] < table["limits"]["nominal_V"]["value"]
    assert table["limits"]["nominal_V"]["value"] < over["min"] < over["max"]


@pytest.mark.parametrize("name", ["lfp", "lfp_low_temperature", "lto", "nmc"])
def test_the_limits_themselves_are_usual_trips(name: str) -> None:
    """A protection set exactly to the table must not look like another chemistry's."""
    typical = chemistry_table(name)["typical"]
    over, under = typical["overvoltage_trip_V"], typical["undervoltage_trip_V"]
    assert over["min"] < value(name, "charge_max_V") < over["max"]
    assert under["min"] < value(name, "discharge_min_V") < under["max"]


def test_over_voltage_trips_tell_the_lithium_chemistries_apart() -> None:
    """Sodium-ion spans several positive electrodes and cannot be told from iron phosphate by this."""
    spans = sorted(
        (t["typical"]["overvoltage_trip_V"]["min"], t["typical"]["overvoltage_trip_V"]["max"])
        for t in map(chemistry_table, ("lto", "lfp", "nmc"))
    )
    assert all(a[1] < b[0] for a, b in pairwise(spans)), spans


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_order_of_temperatures(name: str) -> None:
    limits = chemistry_table(name)["limits"]
    for span in ("charge_degC", "discharge_degC", "storage_degC"):
        if "min" in limits[span]:
            assert limits[span]["min"]["value"] < limits[span]["max"]["value"]
    if "min" in limits["charge_degC"]:
        assert limits["discharge_degC"]["min"]["value"] <= limits["charge_degC"]["min"]["value"]
    assert limits["charge_degC"]["max"]["value"] <= limits["discharge_degC"]["max"]["value"]


@pytest.mark.parametrize("name", ["lfp", "lto", "nmc"])
def test_charge_current_spans_the_charge_temperatures(name: str) -> None:
    limits = chemistry_table(name)["limits"]
    steps = limits["charge_current"]
    starts = [step["from_degC"] for step in steps]
    assert starts[0] == limits["charge_degC"]["min"]["value"]
    assert starts[-1] == limits["charge_degC"]["max"]["value"]
    assert all(a < b for a, b in pairwise(starts))
    rates = [step["max_per_h"] for step in steps]
    assert rates[-1] == 0
    assert all(rate > 0 for rate in rates[:-1])
    # It rises out of the cold to one best range and falls in the heat, never twice.
    best = rates.index(max(rates))
    assert rates == sorted(rates[: best + 1]) + sorted(rates[best + 1 :], reverse=True)


@pytest.mark.parametrize("name", ["lfp_low_temperature", "sodium_ion"])
def test_no_cold_limit_where_only_the_maker_knows_it(name: str) -> None:
    limits = chemistry_table(name)["limits"]
    assert "charge_current" not in limits
    assert [list(limits[k]) for k in ("charge_degC", "discharge_degC", "storage_degC")] == [["max"]] * 3


def test_low_temperature_iron_phosphate_differs_only_in_the_cold() -> None:
    ordinary, special = chemistry_table("lfp"), chemistry_table("lfp_low_temperature")
    assert special["typical"] == ordinary["typical"]
    assert special["thermal"] == ordinary["thermal"]
    same = ["charge_max_V", "discharge_min_V", "nominal_V", "harm_below_V", "float_max_V"]
    assert {k: special["limits"][k] for k in same} == {k: ordinary["limits"][k] for k in same}


def test_voltages_against_published_parameter_sets() -> None:
    """The voltage windows of open sets, read in their files.

    BPX open standard: examples/lfp_18650_cell_BPX.json 2.0 to 3.65 V and examples/nmc_pouch_cell_BPX.json
    2.7 to 4.2 V. PyBaMM: Prada2013 (iron phosphate) 2.0 to 3.6 V, Chen2020 (NMC 811) and Ecker2015
    (nickel cobalt oxide) 2.5 to 4.2 V, NCA_Kim2011 2.7 to 4.2 V. The table may not go above what any
    of them charges to, except that Prada2013 stops 0.05 V lower, and not below their lowest end.
    """
    assert value("lfp", "charge_max_V") == 3.65
    assert value("lfp", "discharge_min_V") >= 2.0
    assert value("nmc", "charge_max_V") == 4.2
    assert value("nmc", "discharge_min_V") >= 2.5


@pytest.mark.parametrize("name", ["lfp", "nmc"])
def test_the_cold_against_the_reported_jeita_bands(name: str) -> None:
    """No charging below 0 degC, at most half the normal rate from 0 to 10, normal from 10 to 45.

    The bands of the guide of JEITA and the Battery Association of Japan (2007) as reported in a public
    summary; the guide itself was not at hand, so this is unverified at its source.
    """
    steps = chemistry_table(name)["limits"]["charge_current"]
    normal = max(step["max_per_h"] for step in steps)
    assert value(name, "charge_degC", "min") == 0
    assert all(s["max_per_h"] <= normal / 2 for s in steps if s["from_degC"] < 10)
    assert all(s["max_per_h"] < normal for s in steps if s["from_degC"] >= 45)


@pytest.mark.parametrize("name", ["lfp", "nmc"])
def test_cold_rates_stay_below_the_onset_of_plating_in_a_model(name: str) -> None:
    """Largest isothermal rate with the negative electrode at or above the potential of lithium.

    From an earlier simulation with open parameter sets in PyBaMM (Ecker2015 and Prada2013, 10 to 80 %
    charge); it is not run here, so the numbers are unverified: 0.502 and 0.533 per hour at 0 degC, 1.654
    and 1.350 at 25 degC. An order of magnitude and a slope, not a limit: no row of the table may exceed
    the lower of the two.
    """
    for step in chemistry_table(name)["limits"]["charge_current"]:
        assert step["max_per_h"] <= (0.502 if step["from_degC"] < 25 else 1.350)


@pytest.mark.parametrize(
    ("asked", "nearest"),
    [
        ("LFP", "lfp"),
        ("lfp-low-temperature", "lfp_low_temperature"),
        ("sodiumion", "sodium_ion"),
        ("nmv", "nmc"),
        ("unobtainium", ""),
        ("../defaults", ""),
        ("", ""),
    ],
)
def test_an_unknown_chemistry_names_the_known_ones(asked: str, nearest: str) -> None:
    with pytest.raises(UnknownChemistry) as caught:
        chemistry_table(asked)
    error = caught.value
    assert (error.name, error.known, error.nearest) == (asked, CHEMISTRIES, nearest)
    hint = f"; did you mean '{nearest}'?" if nearest else ""
    assert str(error) == (
        f"unknown chemistry '{asked}': known are lfp, lfp_low_temperature, lto, nmc, sodium_ion{hint}"
    )


def test_a_damaged_table_says_what_and_where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "defaults.yaml").write_text("defaults:\n  air: 1\n  air: 2\n")
    monkeypatch.setattr(tables, "rules_dir", lambda: tmp_path)
    with pytest.raises(UnusableTable) as caught:
        general_defaults.__wrapped__()  # past the cache, which the other tests have filled
    assert str(caught.value) == (
        f"{tmp_path / 'defaults.yaml'}, line 3: "
        'expected each key once in a mapping, came "air" again, first on line 2; remove one of them'
    )
