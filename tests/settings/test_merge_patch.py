"""Merging by `extends` against JSON Merge Patch: P. Hoffman, J. Snell, RFC 7396, 2014, Appendix A.

The table is that of the appendix, row by row. A settings file is a mapping, so rows whose original or patch
is none do not apply to it; `extends` refuses such files. And where a patch removes what is not there, the RFC
is silent and leaves it out, while a person who wrote an empty value is told of it (`test_extends.py`).
"""

import json
from pathlib import Path
from typing import Any

import json_merge_patch
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bmslint.settings import read
from bmslint.settings.bases import merge

ROWS = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
]
REMOVES_WHAT_IS_NOT_THERE = [
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}', '{"a":{"b":"d","c":null}}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}', '{"a":{"bb":{"ccc":null}}}'),
]
"""Original, patch, what the RFC makes of them, and what stays here so that it can be told."""

NO_MAPPING = "keys such as `format: 1` and `pack:` at the top level"
REFUSED = [
    ('["a","b"]', '["c","d"]', ("patch.json", NO_MAPPING, "a list")),
    ('{"a":"b"}', '["c"]', ("patch.json", NO_MAPPING, "a list")),
    ('{"a":"foo"}', "null", ("patch.json", "a document", "an empty file")),
    ('{"a":"foo"}', '"bar"', ("patch.json", NO_MAPPING, "a single value")),
    ("[1,2]", '{"a":"b","c":null}', ("original.json", NO_MAPPING, "a list")),
]
"""Original and patch, not both of them mappings, with file, what was expected and what came."""


def merged(original: Any, patch: Any) -> Any:
    return merge(original, patch, "", [])


@pytest.mark.parametrize(("original", "patch", "result"), ROWS)
def test_rows_of_the_appendix(original: str, patch: str, result: str) -> None:
    assert merged(json.loads(original), json.loads(patch)) == json.loads(result)


@pytest.mark.parametrize(("original", "patch", "result", "kept"), REMOVES_WHAT_IS_NOT_THERE)
def test_rows_that_remove_what_is_not_there_differ_in_that_alone(
    original: str, patch: str, result: str, kept: str
) -> None:
    came = merged(json.loads(original), json.loads(patch))
    assert came == json.loads(kept)
    assert without_null(came) == json.loads(result)


def without_null(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    return {key: without_null(inner) for key, inner in value.items() if inner is not None}


@pytest.mark.parametrize(("original", "patch", "told"), REFUSED)
def test_rows_without_mappings_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, original: str, patch: str, told: tuple[str, str, str]
) -> None:
    """Where the patch is a mapping, it extends the original; where it is none, nothing can name a base."""
    monkeypatch.chdir(tmp_path)
    Path("original.json").write_text(original)
    extending = patch.replace("{", '{"extends":"original.json",', 1)
    Path("patch.json").write_text(extending)
    document = read("patch.json")
    assert document.data == {}
    assert [(each.file, each.expected, each.came) for each in document.problems] == [told]


def test_every_row_of_the_appendix_is_here() -> None:
    """The appendix has fifteen."""
    assert len(ROWS) + len(REMOVES_WHAT_IS_NOT_THERE) + len(REFUSED) == 15


LEAVES = st.none() | st.booleans() | st.integers(-3, 3) | st.text("ab", max_size=2)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from("abc"), inner),
    max_leaves=12,
)
MAPPINGS = st.dictionaries(st.sampled_from("abc"), VALUES, max_size=3)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(MAPPINGS, MAPPINGS)
def test_any_mappings_merge_as_an_implementation_of_the_rfc_does(
    original: dict[str, Any], patch: dict[str, Any]
) -> None:
    """The package json-merge-patch; compared without what is null, of which the RFC keeps less."""
    before = json.dumps(original)
    came = without_null(merged(original, patch))
    assert came == without_null(json_merge_patch.merge(json.loads(before), patch))
    assert json.dumps(original) == before
