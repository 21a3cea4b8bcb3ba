"""Message templates: paths and four number formats, nothing that reaches into Python."""

import pytest

from bmslint.judge.faults import RuleError
from bmslint.judge.template import read_template, show, visible


def filled(text: str, values: dict[str, object]) -> str:
    return read_template(text).fill(values.get)


@pytest.mark.parametrize(
    ("text", "value", "expected"),
    [
        ("at {facts.a.b:.1f} degC", -4.26, "at -4.3 degC"),
        ("at {facts.a.b:.0f} degC", -0.2, "at 0 degC"),
        ("at {facts.a.b} V", 3.6500000000000004, "at 3.65 V"),
        ("at {facts.a.b} degC", 5.0, "at 5 degC"),
        ("{facts.a.b}", True, "yes"),
        ("{facts.a.b}", ["ends", "sides"], "ends, sides"),
        ("{facts.a.b}", {"min": 0.0, "max": 55.0}, "min: 0, max: 55"),
        ("{facts.a.b:.1f}", None, "(not given)"),
        ("{facts.a.b:.1f}", "none", "none"),
        ("{facts.a.b}", "a\x1b[2J\nb\u202ec", "a<U+001B>[2J<U+000A>b<U+202E>c"),
        ("no field", 1.0, "no field"),
        ("{facts.a.b}{facts.a.b}", 1.0, "11"),
    ],
)
def test_fields(text: str, value: object, expected: str) -> None:
    assert filled(text, {"facts.a.b": value}) == expected


@pytest.mark.parametrize(
    "text",
    [
        "{}",
        "{0}",
        "{facts.a.__class__()}",
        "{facts.a!r}",
        "{facts.a:>10}",
        "{facts.a:.9f}",
        "{facts.a:{limit}}",
        "{nothing.a}",
        "{facts.a",
        "facts.a}",
        "{facts[-1]}",
        "{facts.a.b:.1f\n}",
    ],
)
def test_anything_else_is_a_fault_when_the_pack_loads(text: str) -> None:
    with pytest.raises(RuleError):
        read_template(text)


def test_a_fault_tells_its_place() -> None:
    with pytest.raises(RuleError) as caught:
        read_template("at {facts.a.b:.1f} and {facts.a:.7f}")
    assert (caught.value.what, caught.value.offset) == (
        "'.7f' is not a number format; known are .0f, .1f, .2f, .3f",
        23,
    )


def test_plain_text_passes_unchanged() -> None:
    assert visible("Überspannung 3,65 V, ≥ 0 °C") == "Überspannung 3,65 V, ≥ 0 °C"
    assert show(1234567.0) == "1234567"
