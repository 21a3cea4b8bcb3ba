"""Numbers of a rule that may be replaced: put in where they are named, and nowhere else."""

import pytest
from standins import inputs, rule

from bmslint.judge.evaluate import evaluate
from bmslint.judge.faults import RuleError
from bmslint.judge.parameters import Parameter, fill_in, place_before, put_in, read_filled, unused
from bmslint.judge.rule import Faults, build_rule
from bmslint.judge.template import read_template
from bmslint.settings.places import Position

KNOWN = {
    "most_K": Parameter(10.0, "K", "most", 10.0),
    "least_degC": Parameter(-2.5, "degC", "least", -2.5),
    "tiny": Parameter(1e-9, "", "small", 1e-9),
}

NO_PARAMETER = "is no parameter of the rule; it has most_K, least_degC, tiny"
WHOLE = (
    "the whole number 1 beside an arithmetic sign; write 1.0, as every number in a settings file is decimal"
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("facts.x <= parameters.most_K", "facts.x <= 10.0"),
        ("x - parameters.least_degC", "x - (-2.5)"),
        ("parameters.most_K*parameters.tiny", "10.0*1e-09"),
        ("'parameters.most_K' == parameters.most_K", "'parameters.most_K' == 10.0"),
        ('"a\\"parameters.none" + parameters.tiny', '"a\\"parameters.none" + 1e-09'),
        ("1.0 < 2.0 // parameters.none", "1.0 < 2.0 // parameters.none"),
        ("item.parameters.none == my_parameters.none", "item.parameters.none == my_parameters.none"),
        ("facts.x > 1.0", "facts.x > 1.0"),
    ],
)
def test_values_are_put_in_where_they_are_named(text: str, expected: str) -> None:
    assert put_in(text, KNOWN) == expected


@pytest.mark.parametrize(
    ("text", "what", "offset"),
    [
        ("1.0 > parameters.most", f"parameters.most {NO_PARAMETER}", 6),
        ("parameters > 1.0", f"parameters {NO_PARAMETER}", 0),
        ("parameters.most_K > facts.x + 1", WHOLE, 30),
        ("1 + parameters.most_K > facts.x", WHOLE, 0),
    ],
)
def test_what_is_wrong_is_placed_in_the_text_as_it_was_written(text: str, what: str, offset: int) -> None:
    with pytest.raises(RuleError) as caught:
        read_filled(text, KNOWN)
    assert (caught.value.what, caught.value.offset) == (what, offset)


def test_every_place_behind_a_value_is_found_again() -> None:
    text = "a < parameters.most_K && parameters.tiny < b"
    filled = put_in(text, KNOWN)
    assert filled == "a < 10.0 && 1e-09 < b"
    assert {word: place_before(text, KNOWN, filled.index(word)) for word in ("a", "&&", "b")} == {
        word: text.index(word) for word in ("a", "&&", "b")
    }


def test_a_template_shows_the_value_in_its_shortest_form_or_as_asked() -> None:
    template = fill_in(
        read_template("{value} of {parameters.most_K} K, {parameters.least_degC:.2f} {here}"), KNOWN
    )
    assert template.texts == ("", " of 10 K, -2.50 ", "")
    assert template.fields == (("value", ""), ("here", ""))
    with pytest.raises(RuleError, match=r"parameters\.none is no parameter of the rule; it has none"):
        fill_in(read_template("{parameters.none}"), {})


def test_a_parameter_that_decides_nothing_is_found() -> None:
    assert unused(["parameters.most_K > 1.0", "{parameters.tiny}"], KNOWN) == ["least_degC"]


def test_a_replaced_value_decides_and_the_stated_one_is_kept() -> None:
    data = {
        "id": "tried", "title": "t", "severity": "review", "at": "protection", "why": "w", "remedy": "r",
        "require": "facts.run.certain_degC <= parameters.most_degC",
        "says": "{parameters.most_degC} degC",
        "parameters": {"most_degC": {"value": 1.0, "unit": "degC", "means": "most"}},
    }  # fmt: skip
    stated = rule(**{key: value for key, value in data.items() if key != "id"})
    faults = Faults()
    place = {"": Position("tests/tried.yaml", 1, 1)}
    replaced = build_rule(data, "tests", "tests/tried.yaml", place, faults, {"most_degC": 0.5})
    assert faults.found == []
    assert replaced.parameters == {"most_degC": Parameter(0.5, "degC", "most", 1.0)}
    assert (stated.says.texts, replaced.says.texts) == (("1 degC",), ("0.5 degC",))
    assert [evaluate(each, inputs()).outcome.state for each in (stated, replaced)] == ["passed", "spoke"]
