"""The compiled schema is what the models generate, starts without pydantic, and validates the same."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, ValidationError, field_validator

from bmslint.settings.compiled import COMPILED, dumps, generate, import_model, load_validator
from bmslint.settings.models import Settings
from bmslint.settings.paths import copied
from bmslint.settings.places import Position
from bmslint.settings.problems import problems
from bmslint.settings.tree import Tree, parse
from bmslint.settings.validate import validated

PACKAGE = Path(__file__).parents[2] / "bmslint"
JSON = PACKAGE / "settings/models/compiled.json"
MODEL = COMPILED["settings/models/compiled.json"]


@pytest.mark.parametrize("path", COMPILED)
def test_file_is_what_the_model_generates(path: str) -> None:
    text = (PACKAGE / path).read_text(encoding="utf-8")
    assert text == dumps(generate(import_model(COMPILED[path]))), "run python -m bmslint.settings.compiled"


def test_every_compiled_file_is_listed() -> None:
    found = {path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("compiled.json")}
    assert found == COMPILED.keys()


def test_reading_imports_neither_pydantic_nor_the_python_of_its_core() -> None:
    code = (
        "import sys; from bmslint.settings import read;"
        f"print(read({str(Path(__file__).with_name('complete.yaml'))!r}).problems);"
        "print(sorted(m for m in sys.modules if m.split('.')[0] in"
        " ('pydantic', 'pydantic_core', 'numpy', 'rich', 'typing_extensions')));"
        "import pydantic; from pydantic_core import SchemaValidator;"
        "from bmslint.settings import engine; print(SchemaValidator is engine.SchemaValidator)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout == "()\n['pydantic_core._pydantic_core']\nTrue\n"


def test_the_c_parser_is_in_use() -> None:
    from bmslint.settings import tree

    module = sys.modules["_ruamel_yaml"]
    assert tree.CParser is module.CParser
    assert module.__file__ is not None
    assert not module.__file__.endswith(".py")


def test_a_file_of_another_version_is_replaced_by_the_models(tmp_path: Path) -> None:
    path = tmp_path / "compiled.json"
    path.write_text('{"type": "unknown-kind"}')
    data = {"format": 1, "pack": {"chemistry": "lfp", "series": 8}}
    assert load_validator(path, MODEL).validate_python(data) == data


def test_what_cannot_be_data_is_refused() -> None:
    class WithFunction(BaseModel):
        model_config = ConfigDict(extra="forbid")
        key: int

        @field_validator("key")
        @classmethod
        def check(cls, value: int) -> int:
            return value

    class Open(BaseModel):
        key: int

    with pytest.raises(TypeError, match="a function cannot be compiled"):
        generate(WithFunction)
    with pytest.raises(TypeError, match="Open has to forbid unknown keys"):
        generate(Open)


COMPLETE = parse(Path(__file__).with_name("complete.yaml").read_bytes(), "complete.yaml").data
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-400, 12_000),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.sampled_from(["none", "None", "lowest", "ends", "pad", "skin", "3,65", "2027-03-31", "", "x y"]),
    st.sampled_from([[], {}, ["skin"], {"place": "board"}, [{"max_A": 1}]]),
)


def ways(data: Any, way: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The place of every value, and one more key in every mapping."""
    for key in data if isinstance(data, dict) else range(len(data)):
        yield (*way, key)
        if isinstance(data[key], dict | list):
            yield from ways(data[key], (*way, key))
    if isinstance(data, dict):
        yield (*way, "one more")


@st.composite
def damaged(draw: st.DrawFn) -> Any:
    """The complete example with up to three values replaced or removed."""
    data = copied(COMPLETE)
    for _ in range(draw(st.integers(0, 3))):
        *before, last = draw(st.sampled_from(list(ways(data))))
        at = data
        for key in before:
            at = at[key]
        if draw(st.booleans()) or last == "one more":
            at[last] = copied(draw(ODD))
        else:
            del at[last]
    return data


def with_model(data: Any) -> tuple[Any, Any]:
    """What the pydantic models themselves make of data, in the words of the reader."""
    tree = Tree("f", data, {"": Position("f", 1, 1)}, {}, ())
    try:
        return Settings.model_validate(data).model_dump(by_alias=True, exclude_unset=True), ()
    except ValidationError as error:
        return None, problems(error.errors(include_url=False), tree, JSON)


@settings(max_examples=200, deadline=None, derandomize=True)  # no deadline: the machine may be busy
@given(damaged())
def test_models_and_compiled_schema_agree(data: Any) -> None:
    tree = Tree("f", data, {"": Position("f", 1, 1)}, {}, ())
    assert validated(tree, JSON, MODEL) == with_model(data)
