"""The models: every key described, bounded, with examples that are valid."""

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from bmslint.settings.models import Settings
from bmslint.settings.schema import json_schema
from bmslint.settings.words import PATTERNS, UNITS, unit


def models(model: type[BaseModel], seen: set[type[BaseModel]] | None = None) -> set[type[BaseModel]]:
    """Every model that a model is made of."""
    seen = set() if seen is None else seen
    if model not in seen:
        seen.add(model)
        for field in model.model_fields.values():
            for inner in classes(field.annotation):
                models(inner, seen)
    return seen


def classes(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in getattr(annotation, "__args__", ()):
        yield from classes(inner)


def fields() -> Iterator[tuple[str, FieldInfo]]:
    for model in models(Settings):
        for name, field in model.model_fields.items():
            yield f"{model.__name__}.{name}", field


def nodes(schema: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every typed node of a JSON Schema, with its path."""
    if isinstance(schema, dict):
        if isinstance(schema.get("type"), str):
            yield path, schema
        for key, inner in schema.items():
            if key not in ("examples", "enum", "required"):
                yield from nodes(inner, f"{path}/{key}")
    elif isinstance(schema, list):
        for index, inner in enumerate(schema):
            yield from nodes(inner, f"{path}/{index}")


def test_every_key_is_described() -> None:
    lacking = [name for name, field in fields() if not (field.description or "").endswith(".")]
    assert lacking == []


def test_every_key_has_examples_and_they_are_valid() -> None:
    lacking = [name for name, field in fields() if not field.examples]
    assert lacking == []
    for model in models(Settings):
        for name, field in model.model_fields.items():
            adapter = TypeAdapter(model)
            others = {
                other.alias or key: other.examples[0]  # type: ignore[index]
                for key, other in model.model_fields.items()
                if other.is_required()
            }
            for example in field.examples or ():
                adapter.validate_python({**others, field.alias or name: example})


def test_every_section_is_described_and_strict() -> None:
    for model in models(Settings):
        config = model.model_config
        assert (model.__doc__ or "").endswith("."), model
        assert (config["strict"], config["extra"], config["frozen"]) == (True, "forbid", True), model


def test_every_number_has_both_bounds() -> None:
    lacking = [
        path
        for path, node in nodes(json_schema())
        if node["type"] in ("number", "integer")
        and not ({"minimum", "exclusiveMinimum"} & node.keys() and "maximum" in node)
    ]
    assert lacking == []


def test_every_text_has_a_length_or_a_fixed_choice() -> None:
    lacking = [
        path
        for path, node in nodes(json_schema())
        if node["type"] == "string" and not {"maxLength", "enum", "const"} & node.keys()
    ]
    assert lacking == []


def test_every_list_and_mapping_of_names_has_a_length() -> None:
    lists = [
        path for path, node in nodes(json_schema()) if node["type"] == "array" and "maxItems" not in node
    ]
    names = [
        path
        for path, node in nodes(json_schema())
        if node["type"] == "object" and "properties" not in node and "maxProperties" not in node
    ]
    assert (lists, names) == ([], [])


def test_only_three_keys_of_a_section_are_needed() -> None:
    """List items need what makes them an item; mappings need nothing more than the design says."""
    needed = {name for name, field in fields() if field.is_required()}
    assert needed == {
        "Settings.format",
        "Settings.pack",
        "Pack.chemistry",
        "Pack.series",
        "CurrentStep.from_degC",
        "CurrentStep.max_A",
        "ChargePath.name",
    }


# Numbers that count or compare have no unit; `days` is its own, `min` and `max` have that of their mapping.
WITHOUT_UNIT = {
    "Settings.format", "Pack.series", "Pack.parallel", "Layout.stacked", "Layout.rows", "Layout.tiers",
    "Sensor.cell", "Cell.resistance_ratio_0degC", "Storage.days",
    "TemperatureRange.min", "TemperatureRange.max",
}  # fmt: skip


def test_every_dimensioned_key_ends_in_its_unit() -> None:
    without = {
        name
        for name, field in fields()
        if isinstance((field.examples or [None])[0], int | float)
        and not isinstance((field.examples or [None])[0], bool)
        and not unit(name.partition(".")[2])
    }
    assert without == WITHOUT_UNIT


def test_units_are_read_from_the_longest_ending() -> None:
    assert {
        key: unit(f"x.{key}") for key in ("a_mV_per_K", "a_mV", "contact_m2K_per_W", "b_per_K", "plain")
    } == {
        "a_mV_per_K": "mV/K",
        "a_mV": "mV",
        "contact_m2K_per_W": "m2 K/W",
        "b_per_K": "K",
        "plain": "",
    }
    assert unit("pack.cell.limits.charge_degC.min") == "degC"
    assert len(set(UNITS.values())) == len(UNITS)


def test_every_pattern_has_words() -> None:
    patterns = {node["pattern"] for _, node in nodes(json_schema()) if "pattern" in node}
    names = json_schema()["properties"]["sensors"]["patternProperties"].keys()
    assert patterns | names == PATTERNS.keys()
