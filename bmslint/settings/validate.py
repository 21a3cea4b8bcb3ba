"""Validates a tree against a compiled model: plain data, or all problems at once."""

from pathlib import Path
from typing import Any

from bmslint.settings.compiled import load_validator
from bmslint.settings.engine import ValidationError
from bmslint.settings.places import Problem
from bmslint.settings.tree import Tree

_validators: dict[Path, Any] = {}


def validated(tree: Tree, json_path: Path, model: str) -> tuple[Any, tuple[Problem, ...]]:
    """Validate the data of a tree.

    Args:
        tree: The document with its positions; where it has no data, its problems are returned.
        json_path: The compiled schema.
        model: Module and class of the model, as `package.module:Model`.

    Returns:
        The validated data with every number a float, and no problems; or None, and all problems
        of tree and validation in the order of their places.
    """
    if tree.data is None:
        return None, tree.problems
    validator = _validators.get(json_path)
    if validator is None:
        validator = _validators[json_path] = load_validator(json_path, model)
    try:
        data = validator.validate_python(tree.data)
    except ValidationError as error:
        from bmslint.settings.problems import problems  # only a faulty file needs the words

        return None, problems(error.errors(include_url=False), tree, json_path)
    if tree.problems:
        return None, tree.problems
    return _floats(data), ()


def _floats(value: Any) -> Any:
    kind = type(value)
    if kind is dict:
        return {key: _floats(inner) for key, inner in value.items()}
    if kind is list:
        return [_floats(inner) for inner in value]
    return float(value) if kind is int else value
