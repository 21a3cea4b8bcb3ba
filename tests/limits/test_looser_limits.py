"""Limits in the file that allow more than the chemistry's table are noticed, in each direction."""

from typing import Any

import pytest

from bmslint.limits import load_limits

# Iron phosphate of 100 Ah: 0 to 55 degC charge, -20 to 60 discharge, -20 to 45 storage, 3.65 and 2.5 V,
# 10 A from 0, 20 from 5, 30 from 10, 50 from 20, 30 from 45, none from 55 degC.


def looser(limits: dict[str, Any], chemistry: str = "lfp", **cell: Any) -> list[dict[str, Any]]:
    cell = {"capacity_Ah": 100.0} | cell | {"limits": {"source": "a sheet"} | limits}
    found: list[dict[str, Any]] = load_limits({"pack": {"chemistry": chemistry, "cell": cell}}).data["looser"]
    return found


def entry(path: str, declared: float, table: float, direction: str) -> dict[str, Any]:
    return {
        "path": f"pack.cell.limits.{path}",
        "declared": declared,
        "table": table,
        "direction": direction,
    }


@pytest.mark.parametrize(
    ("limits", "path", "declared", "table", "direction"),
    [
        ({"charge_degC": {"min": -0.1, "max": 55.0}}, "charge_degC.min", -0.1, 0.0, "below"),
        ({"charge_degC": {"min": 0.0, "max": 55.1}}, "charge_degC.max", 55.1, 55.0, "above"),
        ({"discharge_degC": {"min": -20.1, "max": 60.0}}, "discharge_degC.min", -20.1, -20.0, "below"),
        ({"discharge_degC": {"min": -20.0, "max": 60.1}}, "discharge_degC.max", 60.1, 60.0, "above"),
        ({"storage_degC": {"min": -20.1, "max": 45.0}}, "storage_degC.min", -20.1, -20.0, "below"),
        ({"storage_degC": {"min": -20.0, "max": 45.1}}, "storage_degC.max", 45.1, 45.0, "above"),
        ({"charge_max_V": 3.66}, "charge_max_V", 3.66, 3.65, "above"),
        ({"discharge_min_V": 2.49}, "discharge_min_V", 2.49, 2.5, "below"),
    ],
)
def test_each_limit_just_looser_than_the_table(
    limits: dict[str, Any], path: str, declared: float, table: float, direction: str
) -> None:
    assert looser(limits) == [entry(path, declared, table, direction)]


@pytest.mark.parametrize("tighter_by", [0.0, 0.1])
def test_equal_or_tighter_is_not_looser(tighter_by: float) -> None:
    assert (
        looser(
            {
                "charge_degC": {"min": 0 + tighter_by, "max": 55 - tighter_by},
                "discharge_degC": {"min": -20 + tighter_by, "max": 60 - tighter_by},
                "storage_degC": {"min": -20 + tighter_by, "max": 45 - tighter_by},
                "charge_max_V": 3.65 - tighter_by,
                "discharge_min_V": 2.5 + tighter_by,
                "charge_current": [
                    {"from_degC": 0.0, "max_A": 10 - tighter_by},
                    {"from_degC": 10.0, "max_A": 30 - tighter_by},
                    {"from_degC": 55.0, "max_A": 0.0},
                ],
            }
        )
        == []
    )


def test_all_at_once_in_the_order_of_the_format() -> None:
    assert looser(
        {"discharge_min_V": 2.0, "charge_max_V": 3.7, "charge_degC": {"min": -5.0, "max": 60.0}}
    ) == [
        entry("charge_degC.min", -5.0, 0.0, "below"),
        entry("charge_degC.max", 60.0, 55.0, "above"),
        entry("charge_max_V", 3.7, 3.65, "above"),
        entry("discharge_min_V", 2.0, 2.5, "below"),
    ]


def test_rates_times_capacity_are_compared_beyond_rounding() -> None:
    """0.3 per hour of 3 Ah is 0.9 A, but 0.3 x 3 comes out below 0.9 in binary."""
    assert 0.3 * 3 < 0.9
    steps = [{"from_degC": 10.0, "max_A": 0.9}, {"from_degC": 55.0, "max_A": 0.0}]
    assert looser({"charge_current": steps}, capacity_Ah=3.0) == []


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        # Charging begins colder than in the table.
        ([(-10.0, 1.0), (0.0, 10.0), (5.0, 0.0)], [entry("charge_current[0].max_A", 1.0, 0.0, "above")]),
        # More than the table at the same temperature.
        ([(10.0, 31.0), (55.0, 0.0)], [entry("charge_current[0].max_A", 31.0, 30.0, "above")]),
        # A third of a per cent more, which is no rounding.
        ([(10.0, 30.1), (55.0, 0.0)], [entry("charge_current[0].max_A", 30.1, 30.0, "above")]),
        # Allowed where the row begins, too much where the table falls in the heat.
        ([(20.0, 50.0), (55.0, 0.0)], [entry("charge_current[0].max_A", 50.0, 30.0, "above")]),
        # Never ends: the table ends at 55 degC.
        ([(0.0, 10.0)], [entry("charge_current[0].max_A", 10.0, 0.0, "above")]),
        # Rows out of order keep their own place in the file.
        (
            [(55.0, 0.0), (20.0, 80.0), (0.0, 10.0), (45.0, 30.0)],
            [entry("charge_current[1].max_A", 80.0, 50.0, "above")],
        ),
    ],
)
def test_charge_currents(steps: list[tuple[float, float]], expected: list[dict[str, Any]]) -> None:
    declared = [{"from_degC": start, "max_A": most} for start, most in steps]
    assert looser({"charge_current": declared}) == expected


@pytest.mark.parametrize("chemistry", ["lfp_low_temperature", "sodium_ion"])
def test_a_cold_limit_is_not_looser_where_the_table_has_none(chemistry: str) -> None:
    steps = [{"from_degC": -20.0, "max_A": 10.0}, {"from_degC": 40.0, "max_A": 0.0}]
    limits = {"charge_degC": {"min": -20.0, "max": 40.0}, "charge_current": steps}
    assert looser(limits, chemistry) == []
