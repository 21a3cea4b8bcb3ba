"""Any bytes give a document, and the order of keys changes nothing."""

import json
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from outside_loader import load

from bmslint.settings import Document, Problem, read_text
from bmslint.settings.paths import join, split
from bmslint.settings.scalars import NotFiniteError, resolve
from bmslint.settings.tree import parse, parse_all

COMPLETE = Path(__file__).with_name("complete.yaml").read_bytes()


def whole(document: Document, lines: int) -> bool:
    """Whether a document is either usable or says what is wrong at a line that the text has."""
    places = [(p.line, p.column) for p in document.problems]
    return bool(document.data) != bool(places) and all(
        1 <= line <= lines and column >= 1 for line, column in places
    )


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.binary(max_size=200))
@example(b"\xef\xbb\xbf")
@example(b"a: !<\xc2\xa0> 1")
def test_any_bytes_give_a_document(text: bytes) -> None:
    assert whole(read_text(text, "f"), text.count(b"\n") + text.count(b"\r") + text.count(b"\xc2\x85") + 2)


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.text("ab:-?[]{},&*!|>'\"%#@` \n\t~<1.e", max_size=80))
def test_any_yaml_marks_give_a_document(text: str) -> None:
    assert whole(read_text(text, "f"), text.count("\n") + 2)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.integers(0, len(COMPLETE) - 1), st.binary(max_size=4), st.integers(0, 12))
def test_a_damaged_file_gives_a_document(at: int, inserted: bytes, removed: int) -> None:
    text = COMPLETE[:at] + inserted + COMPLETE[at + removed :]
    document = read_text(text, "f")
    assert bool(document.data) != bool(document.problems)
    assert all(isinstance(problem, Problem) for problem in document.problems)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(
                ["", "pack", "pack.cell", "sensors", "sensors.core", "heater", "charge_paths[0]"]
            ),
            st.text(max_size=6) | st.sampled_from(["a.b", "x[0]", "[", "65", "accuracy_K", "<<", "extends"]),
            st.none()
            | st.integers()
            | st.text(max_size=6)
            | st.just({"accuracy_K": 3, "65": None, "a.b": {}}),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_any_keys_give_a_document(added: list[tuple[str, str, Any]]) -> None:
    data = parse(COMPLETE, "f").data
    for path, key, value in added:
        at = data
        for part in split(path):
            at = at[part] if isinstance(at, list | dict) and (isinstance(at, list) or part in at) else {}
        if isinstance(at, dict):
            at[key] = value
    document = read_text(json.dumps(data), "f")
    assert bool(document.data) != bool(document.problems)
    assert all(problem.line == 1 for problem in document.problems)


def shuffled(value: Any, order: random.Random) -> Any:
    if isinstance(value, dict):
        keys = list(value)
        order.shuffle(keys)
        return {key: shuffled(value[key], order) for key in keys}
    return [shuffled(item, order) for item in value] if isinstance(value, list) else value


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.randoms(use_true_random=False))
def test_order_of_keys_changes_nothing(order: random.Random) -> None:
    original = read_text(COMPLETE, "f")
    tree = parse(COMPLETE, "f")
    text = json.dumps(shuffled(tree.data, order))
    document = read_text(text, "f")
    assert document.problems == ()
    assert json.dumps(document.data) == json.dumps(original.data)
    assert document.positions.keys() == original.positions.keys()


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.recursive(
        st.booleans() | st.integers(-(10**20), 10**20) | st.floats(allow_nan=False, allow_infinity=False)
        | st.text(max_size=20),
        lambda inner: st.lists(inner, max_size=4)
        | st.dictionaries(st.text(min_size=1, max_size=8), inner, max_size=4),
        max_leaves=20,
    )
)  # fmt: skip
def test_json_reads_as_the_standard_library_wrote_it(value: Any) -> None:
    tree = parse(json.dumps({"top": value}).encode(), "f")
    assert tree.problems == ()
    assert tree.data == {"top": value}


# YAML 1.2.2, section 10.3.2, the table of the core schema and the examples below it; the words of
# YAML 1.1 that are no longer resolved, from the same specification's list of changes.
CORE = {
    "null": None, "Null": None, "NULL": None, "~": None, "": None,
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
    "0": 0, "0o7": 7, "0x3A": 58, "-19": -19, "+12": 12, "007": 7,
    "0.": 0.0, "-0.0": -0.0, ".5": 0.5, "+12e03": 12000.0, "-2E+05": -200000.0,
    "yes": "yes", "no": "no", "on": "on", "off": "off", "y": "y", "1_000": "1_000", "1:30": "1:30",
    "0b1": "0b1", "-0x3A": "-0x3A", "2027-03-31": "2027-03-31", "+": "+", ".": ".", "1e": "1e", "-": "-",
    "tRUE": "tRUE", "nan": "nan", "inf": "inf", "1 ": "1 ", "\u0661": "\u0661",
}  # fmt: skip


def test_plain_scalars_are_those_of_the_core_schema() -> None:
    found = {text: resolve(text) for text in CORE}
    assert {text: (type(value), value) for text, value in found.items()} == {
        text: (type(value), value) for text, value in CORE.items()
    }


@pytest.mark.parametrize(
    "text",
    [".inf", "-.Inf", "+.INF", ".nan", ".NaN", ".NAN", "1e999", "-1e999", "1" * 310, "0x" + "f" * 300],
)
def test_not_finite_numbers(text: str) -> None:
    with pytest.raises(NotFiniteError):
        resolve(text)


def test_several_documents() -> None:
    text = b"--- {a: 1}\n--- [b]\n--- {c: [}\n"
    assert parse(text, "f").data == {"a": 1}
    assert parse(text, "f", document=1).data == ["b"]
    assert parse(text, "f", document=2).data is None
    assert [tree.data for tree in parse_all(text, "f")] == [{"a": 1}, ["b"], None]
    (missing,) = parse(b"--- {a: 1}\n", "f", document=1).problems
    assert missing.message == "expected a document, came an empty file; is it the right file?"


def test_merge_keys_as_another_loader_merges_them() -> None:
    text = (
        b"a: &a {x: 1, y: {p: 1}}\nb: &b {x: 2, z: 3}\n"
        b"c: {<<: [*a, *b], y: 4}\nd: &d {<<: *b, w: 5}\ne: {v: 6, <<: [*d, *a]}\n"
    )
    assert parse(text, "f").data == load(text)


def test_paths_are_split_and_joined() -> None:
    path = "charge_current.steps[12].max_A"
    assert split(path) == ("charge_current", "steps", 12, "max_A")
    assert join(split(path)) == path
    assert (split(""), join(())) == ((), "")
