"""Paths and literals read from an expression without the engine."""

import pytest

from bmslint.judge.expression import ROOTS, Reference, read_expression
from bmslint.judge.faults import RuleError


def plain(path: str) -> Reference:
    return Reference(path, optional=False, iterated=False)


@pytest.mark.parametrize(
    ("text", "references"),
    [
        ("facts.a.b >= limits.charge_degC.min", (plain("facts.a.b"), plain("limits.charge_degC.min"))),
        ("heater.power_W > 0.0 && heater.power_W < 9.0", (plain("heater.power_W"),)),
        (
            "protection.charge_overcurrent[0].trip_above_A > 1.0",
            (plain("protection.charge_overcurrent[0].trip_above_A"),),
        ),
        ('sensors["skin"].lag_s > 1.0', (plain("sensors.skin.lag_s"),)),
        ("item in sensors", (plain("item"), plain("sensors"))),
        ("sensors[item].lag_s > 1.0", (plain("sensors"), plain("item"))),
        (
            "has(settings.heater) && heater != 'facts.not.a.path'",
            (Reference("heater", optional=True, iterated=False),),
        ),
        (
            "limits.charge_current.all(row, row.max_A > 0.0)",
            (Reference("limits.charge_current", optional=False, iterated=True),),
        ),
        ("heater.sensors.size() > 0 // limits.x", (plain("heater.sensors"),)),
        ("key == 'a' || here == 'b'", ()),
        ("limits\n  .charge_degC\n  .min > 0.0", (plain("limits.charge_degC.min"),)),
        ("item.limits.min > 0.0", (plain("item.limits.min"),)),
    ],
)
def test_references(text: str, references: tuple[Reference, ...]) -> None:
    assert read_expression(text).references == references


@pytest.mark.parametrize(
    "text",
    [
        "item > 1",
        "item > -1",
        "size(sensors) >= 2",
        "item[0] < 3.0",
        "item == -1 ? 'a' : 'b'",
        "item in [1, -2]",
        "3.0 - 1.0 < item",
    ],
)
def test_whole_numbers_that_are_only_compared_are_fine(text: str) -> None:
    assert read_expression(text).text == text


@pytest.mark.parametrize(
    ("text", "offset"),
    [
        ("item + 1 > 2.0", 7),
        ("1 + item", 0),
        ("item * 2 > 0.0", 7),
        ("item -1 > 0.0", 6),
        ("(item) - 1 > 0.0", 9),
        ("2 / item", 0),
        ("-1 + item", 1),
        ("item % 2 == 0", 7),
    ],
)
def test_whole_numbers_in_arithmetic_are_refused(text: str, offset: int) -> None:
    """The language has no overload that adds a whole number to a decimal one."""
    with pytest.raises(RuleError) as caught:
        read_expression(text)
    assert caught.value.offset == offset
    assert "write" in caught.value.what


def test_numbers_and_texts_beyond_bounds_are_refused() -> None:
    with pytest.raises(RuleError, match="the number 1e999 is too large"):
        read_expression("item < 1e999")
    with pytest.raises(RuleError, match="an expression of 2001 characters; the most is 2000"):
        read_expression("1" * 2001)


def test_texts_cannot_be_doubled_over_and_over() -> None:
    """langdef, "Macro Performance": chained map() is exponential in time and space."""
    doubling = "['a']" + ".map(x, x + x)" * 3 + ".size() > 0"
    with pytest.raises(RuleError, match="3 times map; the most is 2") as caught:
        read_expression(doubling)
    assert caught.value.offset == len("['a']" + ".map(x, x + x)" * 2 + ".")
    assert read_expression(doubling.replace(".map(x, x + x)", "", 1)).references == ()


def test_roots_are_the_sections_of_the_settings_file() -> None:
    from bmslint.settings.models import Settings

    about_the_file = {"format", "title", "extends", "accepted", "not_applicable"}
    sections = set(Settings.model_fields) - about_the_file
    assert set(ROOTS) == sections | {"settings", "facts", "limits", "item", "key", "here"}
