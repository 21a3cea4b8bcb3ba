"""What is taken for a settings file among YAML and JSON, without reading it whole."""

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from bmslint.data import rules_dir
from bmslint.gate.recognise import SECTIONS, is_settings
from bmslint.settings.models import Settings

ARE = [
    "format: 1\n",
    "# a comment\n\n---\nformat: 1\n",
    "%YAML 1.2\n---\nformat: 1\n",
    "\ufefftitle: x\r\nformat: 1\r\n",
    "pack: {chemistry: lfp}\nsite:\n  coldest_degC: 1\nformat: 1",
    '"format": 1\n',
    "'format' : 1\n",
    "format:\t1\n",
    "format:\n",
    "? format\n: 1\n",
    "  pack: {}\n  format: 1\n",
    "{format: 1, pack: {chemistry: lfp}}",
    "--- {pack: {chemistry: lfp}, format: 1}",
    '{"pack": {"chemistry": "lfp"}, "title": "}", "format": 1}',
    '{"title": "a \\" {", "format"\n : 1}',
    '\n\n{\n  "pack": {},\n  "format": 1\n}',
    "extends: base.yaml\ntitle: a\n",
    '{"extends": "base.json", "protection": {}}',
    # Damaged ones, which have to be reported.
    "format: one\n",
    "format: 1\npack: {chemistry: [\n",
    '{"format": 1, "pack": {"chem',
    "format: 1\nformat: 1\n\x00\x01",
]
ARE_NOT = [
    "",
    "kind: of another program\nnested:\n  format: 1\n",
    "# format: 1\n",
    "information: 1\n",
    "format\n",
    "format:1\n",
    "text: |\n  format: 1\n",
    "- format: 1\n",
    '{"type": "string", "nested": {"format": "date"}}',
    '{"a": "format", "b": ["format", 1]}',
    '{"a": "\\"format\\": 1"}',
    "[{format: 1}]",
    "extends: other.yaml\n",
    '{"extends": "./base.json", "compilerOptions": {"format": 1}}',
]


@pytest.mark.parametrize("text", ARE)
def test_a_settings_file_is_recognised(text: str) -> None:
    assert is_settings(text.encode())


@pytest.mark.parametrize("text", ARE_NOT)
def test_other_files_are_not(text: str) -> None:
    assert not is_settings(text.encode())


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_a_file_in_another_encoding_is_reported_and_not_passed_over(encoding: str) -> None:
    mark = "" if encoding == "utf-16" else "\ufeff"
    assert is_settings(f"{mark}format: 1\n".encode(encoding))


def test_the_sections_are_those_of_the_format() -> None:
    assert SECTIONS | {"format", "extends"} == set(Settings.model_fields)


def test_every_profile_is_recognised_and_no_rule_is() -> None:
    root = rules_dir().parent
    told = {
        path: is_settings(path.read_bytes())
        for path in [*root.glob("profiles/**/*.yaml"), *root.glob("rules/**/*.yaml")]
    }
    assert {path for path, is_one in told.items() if is_one} == set(root.glob("profiles/**/*.yaml"))


KEYS = st.sampled_from(["format", "title", "a", "pack", "extends", "x-format", "Format"])
DATA = st.dictionaries(
    KEYS,
    st.recursive(
        st.integers(0, 2) | st.text("format: {}[]\"'#,\n", max_size=8),
        lambda inner: st.lists(inner, max_size=2) | st.dictionaries(KEYS, inner, max_size=2),
        max_leaves=5,
    ),
    max_size=4,
)


def expected(data: dict[str, object]) -> bool:
    return "format" in data or ("extends" in data and bool(SECTIONS & data.keys()))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(DATA, st.sampled_from([None, 1, 4]))
def test_any_json_is_told_as_the_standard_library_reads_it(
    data: dict[str, object], indent: int | None
) -> None:
    assert is_settings(json.dumps(data, indent=indent).encode()) == expected(data)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(DATA, st.booleans())
def test_any_yaml_is_told_as_ruamel_yaml_reads_it(data: dict[str, object], flow: bool) -> None:
    from io import BytesIO

    yaml, page = YAML(typ="safe", pure=True), BytesIO()
    yaml.default_flow_style = flow
    yaml.dump(data, page)
    assert is_settings(page.getvalue()) == expected(data)


def test_a_long_line_takes_no_time_beyond_its_length(tmp_path: Path) -> None:
    """A pattern that goes back over what it read would take minutes for these."""
    for text in (
        b'{"' + b"\\\\" * 500_000,
        b"format" + b" " * 1_000_000,
        b"{" * 1_000_000 + b'"format": 1',
        b"'" * 1_000_001 + b"format",
    ):
        assert not is_settings(text)
