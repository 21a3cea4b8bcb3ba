"""Any text in a rule or a template gives a clean fault or works; nothing else ever comes out."""

import re

from hypothesis import example, given, settings
from hypothesis import strategies as st
from standins import inputs

from bmslint.judge import engine
from bmslint.judge.engine import MissingKey
from bmslint.judge.expression import ROOTS, read_expression
from bmslint.judge.faults import RuleError
from bmslint.judge.template import read_template

SIGNS = [
    *'.[](),!<=+-*/%?:{}\n"',
    "&&",
    "||",
    ">=",
    "//",
    "has",
    "all",
    "x",
    "1",
    "1.5",
    "'a'",
    "run",
    "null",
]
WORDS = st.sampled_from([*ROOTS, *SIGNS])
TEXTS = st.one_of(st.text(max_size=80), st.lists(WORDS, max_size=14).map(" ".join))
PLAIN = re.compile(r"[^\x00-\x1f\x7f\u202a-\u202e\u2066-\u2069]*\Z")


@settings(max_examples=400, deadline=None, derandomize=True)
@given(TEXTS)
@example("\x00")
@example("'\ud800'")
@example("has(item)")
def test_any_expression(text: str) -> None:
    came: object
    try:
        read_expression(text)
        came = engine.evaluate(text, inputs().nominal.values(None))
    except RuleError as fault:
        came = fault
    assert isinstance(came, bool | float | str | MissingKey | RuleError)
    assert not isinstance(came, RuleError) or (came.what and 0 <= came.offset <= len(text))


@settings(max_examples=400, deadline=None, derandomize=True)
@given(
    st.one_of(st.text(max_size=60), st.from_regex(r"[a-z ]{0,9}\{[a-z.:0-9\[\]]{0,12}\}", fullmatch=True)),
    st.text(),
)
def test_any_template(text: str, value: str) -> None:
    offset, filled = 0, ""
    try:
        filled = read_template(text).fill(lambda path: value)
    except RuleError as fault:
        offset = fault.offset
    assert 0 <= offset <= len(text)
    assert PLAIN.match(filled) or not PLAIN.match(text)
