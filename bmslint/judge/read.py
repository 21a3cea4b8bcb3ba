"""Reads the rule of a rule file, with the place of every value, without importing pydantic."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.faults import PackProblem
from bmslint.judge.paths import joined
from bmslint.settings.compiled import load_validator
from bmslint.settings.tree import parse

if TYPE_CHECKING:
    from pydantic_core import SchemaValidator

    from bmslint.settings.places import Position

COMPILED = Path(__file__).with_name("compiled.json")
CHANGES_COMPILED = Path(__file__).parent / "own" / "compiled.json"


MOST_TOLD = 20
"""Faults of one file that are told; what is not a rule at all would have thousands."""


class RuleDocument(NamedTuple):
    """The data of a rule, the places of its values, and what is wrong with it."""

    data: dict[str, Any]
    positions: Mapping[str, Position]
    content: bytes
    problems: tuple[PackProblem, ...]

    def place(self, path: str, offset: int = 0) -> tuple[int, int]:
        """Find a character of a value.

        Args:
            path: the value's path.
            offset: characters from the start of the value's text.

        Returns:
            Line and column, counted from 1; the value's start where its text is folded over lines.
        """
        position = self.positions.get(path) or self.positions[""]
        source = self.content.decode(errors="replace").splitlines()[position.line - 1][position.column - 1 :]
        quoted = int(source[:1] in ("'", '"'))
        text = self.data.get(path)
        plain = isinstance(text, str) and source[quoted:].startswith(text)
        return position.line, position.column + (offset + quoted if plain else 0)


@cache
def _validator(compiled: Path, model: str) -> SchemaValidator:
    return load_validator(compiled, model)


def read_rule(content: bytes, file: str) -> RuleDocument:
    """Parse and validate the first document of a rule file.

    Args:
        content: the bytes of the file.
        file: its name, for messages.

    Returns:
        The rule's data as `rulefile` describes it; empty where there are problems.
    """
    return _read(content, file, "rule", _validator(COMPILED, "bmslint.judge.rulefile:RuleFile"))


def read_changes(content: bytes, file: str) -> RuleDocument:
    """Read what a folder of one's own changes.

    Args:
        content: the bytes of the file.
        file: its name, for messages.

    Returns:
        The data as `own.changesfile` describes it; empty where there are problems.
    """
    validator = _validator(CHANGES_COMPILED, "bmslint.judge.own.changesfile:ChangesFile")
    return _read(content, file, "", validator)


def _read(content: bytes, file: str, key: str, validator: SchemaValidator) -> RuleDocument:
    """Read the first document of a file; the model of a rule file holds it under a key."""
    from bmslint.settings.engine import ValidationError

    tree = parse(content, file)
    problems = [PackProblem(each.file, each.line, each.column, each.message) for each in tree.problems]
    data: dict[str, Any] = {}
    if not problems:
        try:
            data = validator.validate_python({key: tree.data} if key else tree.data)
            data = data[key] if key else data
        except ValidationError as error:
            for each in error.errors(include_url=False)[:MOST_TOLD]:
                loc = each["loc"][1:] if key else each["loc"]
                problems.append(_problem(key or "changes", loc, each["msg"], file, tree.positions))
    return RuleDocument(data, tree.positions, content, tuple(problems))


def _problem(
    whole: str, loc: tuple[int | str, ...], message: str, file: str, positions: Mapping[str, Position]
) -> PackProblem:
    """Name a fault by its key, or as one of the whole; the validator names branches of unions, too."""
    path = where = ""
    for step in loc:
        if step in ("reject", "review", "note", "constrained-str") or str(step).startswith(("list[", "str")):
            continue
        path = joined(path, step)
        where = path if path in positions else where
    position = positions[where]
    return PackProblem(file, position.line, position.column, f"{path or whole}: {message}")
