"""The traps of the expression language, each measured in the engine and held here.

The language's own definition is the outside reference where one is named: the "Common Expression
Language" specification (github.com/google/cel-spec, doc/langdef.md), of which the sections on runtime
errors, logical operators, macros, field selection and performance were read. Where this engine goes
beyond it (it compares a whole number with a decimal one, for the older specification an error), the
engine's answer is held.
"""

import math

import pytest

from bmslint.judge import engine
from bmslint.judge.engine import MissingKey
from bmslint.judge.faults import RuleError

VARIABLES = {
    "facts": {"group": {"x": 3.0, "text": "warm", "flag": True}},
    "limits": {"rows": [{"from_degC": 0.0, "max_A": 23.0}, {"from_degC": 10.0, "max_A": 69.0}], "empty": []},
    "heater": "none",
    "settings": {"heater": "none"},
}


def evaluated(text: str, variables: dict | None = None) -> engine.Result | MissingKey:
    return engine.evaluate(text, engine.values(VARIABLES if variables is None else variables))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("facts.group.x >= 3.0", True),
        ("facts.group.x > 3", False),  # a whole number compares with a decimal one
        ("facts.group.x + 1.5", 4.5),
        ("facts.group.text", "warm"),
        ("facts.group.flag", True),
        ("size(limits.rows)", 2.0),
        ("limits.rows[1].max_A", 69.0),
        ("limits.rows.all(row, row.max_A > 0.0)", True),
        ("limits.rows.exists(row, row.max_A == 69.0)", True),
        ("double(size(limits.rows.filter(row, row.from_degC > 5.0)))", 1.0),
        ("has(settings.heater)", True),
        ("has(settings.pack)", False),
        ('heater == "none"', True),
        ("not_above(3.65, 3.65, 0.0)", True),
        ("not_above(3.66, 3.65, 0.005)", False),
        ("not_below(0.0, 0.0, 0.0)", True),
        ("not_below(-0.02, 0.0, 0.01)", False),
    ],
)
def test_values(text: str, expected: object) -> None:
    came = evaluated(text)
    assert (came, type(came)) == (expected, type(expected))


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("facts.group.y > 1.0", "y"),
        ("facts.other.y > 1.0", "other"),
        ("has(facts.other.y)", "other"),
        ("limits.rows[2].max_A", "2"),
        ("limits.rows.all(row, row.min_A > 0.0)", "min_A"),
        ("protection.charge_cold", "protection"),
        ("facts.group[facts.group.text]", "warm"),
    ],
)
def test_a_missing_key_is_neither_true_nor_an_error(text: str, key: str) -> None:
    """The engine gives it as a value whose plain form is a non-empty text, true for Python."""
    assert evaluated(text) == MissingKey(key)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("facts.group.x + 1", "No matching overloads found : _+_(double, int64)"),
        ("facts.group.text > 1.0", "No matching overloads found : _>_(string, double)"),
        ("!facts.group.x", "No matching overloads found : !_"),
        ("heater.power_W > 1.0", "Applying SELECT to non-message type"),
        ("not_above(heater, 1.0, 0.0)", "No matching overloads found : _<=_(string, double)"),
        ("facts.group", "gives MAP<DYN, DYN>; a rule gives true or false, a number or a text"),
        ("null", "gives NULL; a rule gives true or false, a number or a text"),
        ("1.0 / 0.0", "gives a number that is not finite"),
        ("0.0 / 0.0", "gives a number that is not finite"),
    ],
)
def test_any_other_error_is_a_fault_of_the_rule(text: str, what: str) -> None:
    with pytest.raises(RuleError) as caught:
        evaluated(text)
    assert caught.value.what == what


@pytest.mark.parametrize(
    ("text", "what", "offset"),
    [
        ("facts.x > ", "Syntax error: mismatched input '<EOF>'", 10),
        ("fact.x > 1.0", "undeclared reference to 'fact.x'", 4),
        ("true &&\n  fact.x > 1.0", "undeclared reference to 'fact.x'", 14),
        ("facts.x.startWith('a')", "undeclared reference to 'startWith'", 17),
        ("has(heater)", "has() argument must be a field selection", 4),
        ("'a' + 1.0", "found no matching overload for '_+_' applied to '(string, double)'", 4),
        ("size(limits.rows) + 1.0", "found no matching overload for '_+_' applied to '(int, double)'", 18),
        ("(" * 400 + "1.0" + ")" * 400, "Expression recursion limit exceeded. limit: 32", 0),
    ],
)
def test_what_does_not_compile_is_named_with_its_place(text: str, what: str, offset: int) -> None:
    with pytest.raises(RuleError) as caught:
        engine.compiled(text)
    assert (caught.value.what, caught.value.offset) == (what, offset)


def test_an_endless_rule_is_a_fault_of_the_rule() -> None:
    rows = {"limits": {"rows": [{"max_A": float(i)} for i in range(150)]}}
    with pytest.raises(RuleError) as caught:
        evaluated("limits.rows.all(a, limits.rows.all(b, a.max_A + b.max_A >= 0.0))", rows)
    assert caught.value.what == "Iteration budget exceeded"


def test_sums_need_a_tolerance() -> None:
    """IEEE 754 doubles: 3.45 + 0.2 is 3.6500000000000004, one unit in the last place above 3.65."""
    assert evaluated("3.45 + 0.2 <= 3.65") is False
    assert evaluated("not_above(3.45 + 0.2, 3.65, 0.000001)") is True


def test_logic_of_the_language_that_the_judge_must_not_lean_on() -> None:
    """langdef, "Logical operators" and "Macros": these hold by definition, whatever the rule means."""
    assert evaluated("limits.empty.all(row, row.max_A > 0.0)") is True
    assert evaluated("facts.group.y > 1.0 || true") is True
    assert evaluated("has(facts.nothing)", {"facts": {"nothing": None}}) is True


def test_what_the_engine_cannot_hold_is_a_fault_and_not_a_value() -> None:
    with pytest.raises(RuleError):
        evaluated("facts.x", {"facts": {"x": (1.0, 2.0)}})
    with pytest.raises(RuleError):
        evaluated("facts.x", {"facts": {"x": math.nan}})
