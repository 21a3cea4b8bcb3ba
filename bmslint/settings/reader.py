"""Reads a settings file: plain data with the place of everything in it, or all its problems."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from bmslint.settings.bases import single, with_bases
from bmslint.settings.files import DISK, Source
from bmslint.settings.migrate import format_problem
from bmslint.settings.paths import copied, parent, put
from bmslint.settings.places import Position, Problem
from bmslint.settings.tree import Tree
from bmslint.settings.validate import validated

_COMPILED = Path(__file__).parent / "models" / "compiled.json"
_MODEL = "bmslint.settings.models:Settings"


@dataclass(frozen=True)
class Document:
    """A settings file as read.

    `data` holds dict, list, str, float and bool; every number is a float, keys that the file has
    not are absent, `none` stays the text. With problems the file is unusable and `data` empty.
    """

    file: str
    data: dict[str, Any]
    positions: Mapping[str, Position]
    key_positions: Mapping[str, Position]
    problems: tuple[Problem, ...]
    tree: Tree = field(repr=False, compare=False)

    def position(self, path: str) -> Position:
        """Give the place of a value, or of the nearest thing around it that the file has.

        Args:
            path: Dotted path, such as `protection.charge_cold.release_above_degC`.

        Returns:
            The place.
        """
        return nearest(self.positions, path, self.file)


def nearest(positions: Mapping[str, Position], path: str, file: str) -> Position:
    """Give the place of a path or of its nearest ancestor.

    Args:
        positions: Places by path.
        path: Dotted path.
        file: The file, for a document without any place.

    Returns:
        The place.
    """
    while path not in positions and path:
        path = parent(path)
    return positions.get(path) or Position(file, 1, 1)


def read(path: str | Path, source: Source = DISK) -> Document:
    """Read a settings file, with everything that it extends; never raises for what it holds.

    Args:
        path: The file.
        source: Where it and what it extends are read from.

    Returns:
        The document, or one with problems.
    """
    text = source.load(Path(path), str(path))
    if isinstance(text, Problem):
        return _document(Tree(str(path), None, {}, {}, (text,)))
    return _read(text, str(path), source)


def read_text(text: str | bytes, name: str) -> Document:
    """Read settings from a text; never raises for what it holds.

    Args:
        text: The settings; bytes are UTF-8.
        name: Name for positions; `extends` is relative to its folder.

    Returns:
        The document, or one with problems.
    """
    return _read(text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text, name)


def revalidated(document: Document, changes: Mapping[str, object]) -> Document:
    """Give a document with some values replaced, validated again.

    Args:
        document: A document without problems.
        changes: New values by path; keys on the way that the file has not are created. A list
            item has to be there already.

    Returns:
        A document with the same positions; with problems where the changed one is not valid.

    Raises:
        KeyError: if a path leads through something that is not a mapping, or not in a list.
    """
    data = copied(document.tree.data)
    for path, value in changes.items():
        put(data, path, value)
    return _document(replace(document.tree, data=data))


def _read(text: bytes, name: str, source: Source = DISK) -> Document:
    tree = with_bases(single(text, name), Path(name), source)
    fault = format_problem(tree)
    return _document(replace(tree, data=None, problems=(fault,)) if fault else tree)


def _document(tree: Tree) -> Document:
    data, problems = validated(tree, _COMPILED, _MODEL)
    if data and "sensors" in data:
        data["sensors"] = dict(sorted(data["sensors"].items()))  # as all keys: the same in any order
    return Document(tree.file, data or {}, tree.positions, tree.key_positions, problems, tree)
