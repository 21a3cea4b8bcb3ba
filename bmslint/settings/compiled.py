"""Validators that start without pydantic.

Importing pydantic and building the models takes longer than everything else that a check does.
The models stay the source of truth; their validation schema is written beside them as JSON, with
model classes turned into typed dictionaries, and `pydantic_core` alone builds the validator from
it. `python -m bmslint.settings.compiled` writes the files of all models anew.
"""

import json
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bmslint.settings.engine import SchemaError, SchemaValidator

if TYPE_CHECKING:
    from pydantic import BaseModel

# Every compiled model of the project: the file, relative to the package, and the model.
COMPILED = {
    "settings/models/compiled.json": "bmslint.settings.models:Settings",
    "judge/compiled.json": "bmslint.judge.rulefile:RuleFile",
    "judge/own/compiled.json": "bmslint.judge.own.changesfile:ChangesFile",
}

_PACKAGE = Path(__file__).parents[1]
_KEPT_MODEL_CONFIG = ("strict", "regex_engine", "allow_inf_nan")
_DROPPED = ("metadata", "serialization")


def generate(model: "type[BaseModel]") -> dict[str, Any]:
    """Derive the plain validation schema of a model.

    Args:
        model: A pydantic model whose fields need no Python functions; with `extra="forbid"`.

    Returns:
        A `pydantic_core` schema that validates to plain dictionaries; only JSON values in it.
        Fields with a default may be left out, and are then absent from the result.

    Raises:
        TypeError: where the model needs something that cannot be written as data.
    """
    model.model_rebuild()
    schema = _plain(model.__pydantic_core_schema__)
    assert isinstance(schema, dict)
    return schema


def dumps(schema: dict[str, Any]) -> str:
    """Write a schema as the text of its file, the same every time.

    Args:
        schema: What `generate` gave.

    Returns:
        JSON with one ending newline.
    """
    return json.dumps(schema, separators=(",", ":")) + "\n"


def load_schema(json_path: Path) -> dict[str, Any]:
    """Read a compiled schema.

    Args:
        json_path: The file that `dumps` wrote.

    Returns:
        The schema.
    """
    schema: dict[str, Any] = json.loads(json_path.read_bytes())
    return schema


def load_validator(json_path: Path, model_import_path: str) -> SchemaValidator:
    """Build a validator from a compiled schema, or from the model where that is not possible.

    Args:
        json_path: The file with the compiled schema.
        model_import_path: Module and class of the model, as `package.module:Model`.

    Returns:
        A validator to plain dictionaries. It is built from the model when another version of
        pydantic-core does not take the file.
    """
    try:
        return SchemaValidator(load_schema(json_path))
    except SchemaError:
        return SchemaValidator(generate(import_model(model_import_path)))


def import_model(import_path: str) -> "type[BaseModel]":
    """Import a model by its path.

    Args:
        import_path: Module and class, as `package.module:Model`.

    Returns:
        The class.
    """
    module, _, name = import_path.partition(":")
    model: type[BaseModel] = getattr(import_module(module), name)
    return model


def _plain(schema: Any) -> Any:
    if isinstance(schema, list | tuple):
        return [_plain(part) for part in schema]
    if not isinstance(schema, dict):
        return _json_value(schema)
    kind = schema.get("type")
    if isinstance(kind, str) and kind.startswith("function"):
        raise TypeError(f"a function cannot be compiled: {kind}")
    if kind == "model":
        return _typed_dict(schema)
    if kind == "default":
        return _plain(schema["schema"])
    plain = {key: _plain(value) for key, value in schema.items() if key not in _DROPPED}
    for key in {"ref", "schema_ref"} & plain.keys():
        plain[key] = _ref(plain[key])
    return plain


def _typed_dict(schema: dict[str, Any]) -> dict[str, Any]:
    fields = schema["schema"]
    if fields["type"] != "model-fields":
        raise TypeError(f"a model of {fields['type']} cannot be compiled")
    config = {key: schema["config"][key] for key in _KEPT_MODEL_CONFIG if key in schema["config"]}
    if schema["config"].get("extra_fields_behavior") != "forbid":
        raise TypeError(f"{schema['cls'].__name__} has to forbid unknown keys")
    plain = {
        "type": "typed-dict",
        "cls_name": schema["cls"].__name__,
        "config": config,
        "extra_behavior": "forbid",
        "fields": {
            field.get("validation_alias", name): {
                "type": "typed-dict-field",
                "required": field["schema"]["type"] != "default",
                "schema": _plain(field["schema"]),
            }
            for name, field in fields["fields"].items()
        },
    }
    if "ref" in schema:
        plain["ref"] = _ref(schema["ref"])
    return plain


def _ref(ref: str) -> str:
    """Name a definition by module and class; pydantic adds the address of the class in memory."""
    return ref.rpartition(":")[0] or ref


def _json_value(value: Any) -> Any:
    if value is None or isinstance(value, str | int | float | bool):
        return value
    raise TypeError(f"{value!r} cannot be written as JSON")


def write_all() -> None:
    """Write the compiled schema of every model anew."""
    for path, model in COMPILED.items():
        (_PACKAGE / path).write_text(dumps(generate(import_model(model))), encoding="utf-8")


if __name__ == "__main__":
    write_all()
