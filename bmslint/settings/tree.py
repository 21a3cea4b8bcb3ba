"""Reads YAML 1.2 (and so JSON) into plain data, with the place of every key and value."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ruamel.yaml.cyaml import CParser  # type: ignore[attr-defined]  # declares no exports
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import DocumentEndEvent, DocumentStartEvent, StreamEndEvent, StreamStartEvent

from bmslint.settings.compose import MAX_DEPTH, MAX_NODES, Node, RefusedError, compose, too_deep, too_many
from bmslint.settings.places import Position, Problem, cut, problem_at
from bmslint.settings.scalars import NotFiniteError, resolve
from bmslint.settings.unreadable import parser_problem, text_problem

# JSON writes a character beyond 65535 as two escapes, which the parser refuses. The one escape in
# their place is two shorter, and so are the columns behind it on its line.
_PAIR = re.compile(rb"(?<!\\)((?:\\\\)*)\\u([dD][89abAB][0-9a-fA-F]{2})\\u([dD][c-fC-F][0-9a-fA-F]{2})")

MAX_BYTES = 2 * 1024 * 1024


@dataclass(frozen=True)
class Tree:
    """One document of a file: its data and where each part of it stands.

    `data` holds dict, list, str, int, float, bool and None; a value that could not be used is
    None there and named in `problems`. With a fault in the YAML itself, `data` is None. Keys of
    `positions` and `key_positions` are dotted paths; "" is the document itself.
    """

    file: str
    data: Any
    positions: dict[str, Position]
    key_positions: dict[str, Position]
    problems: tuple[Problem, ...]


def parse(text: bytes, name: str, document: int = 0) -> Tree:
    """Read one document of a text and stop after it; never raises for what the text holds.

    Args:
        text: The bytes of the file, UTF-8, with or without a byte order mark.
        name: Name of the file, for the positions.
        document: Which document of the file, counted from 0.

    Returns:
        The document; an empty one where the text has fewer documents.
    """
    for number, tree in enumerate(_documents(text, name)):
        if number == document or tree.data is None:
            return tree
    start = Position(name, 1, 1)
    return Tree(name, None, {"": start}, {}, (_empty(start),))


def parse_all(text: bytes, name: str) -> tuple[Tree, ...]:
    """Read every document of a text; never raises for what the text holds.

    Args:
        text: The bytes of the file, UTF-8, with or without a byte order mark.
        name: Name of the file, for the positions.

    Returns:
        The documents in their order, at least one; a fault in the YAML ends them with a tree that
        holds only the fault.
    """
    trees = tuple(_documents(text, name))
    return trees or (parse(b"", name),)


def _empty(start: Position) -> Problem:
    return problem_at(start, "", "a document", "an empty file", "is it the right file?")


def _one(pair: re.Match[bytes]) -> bytes:
    high, low = int(pair[2], 16), int(pair[3], 16)
    return pair[1] + b"\\U%08X" % (0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00))


def _documents(text: bytes, name: str) -> Iterator[Tree]:
    fault = text_problem(text, name, MAX_BYTES)
    if fault is None:
        try:
            get_event = CParser(_PAIR.sub(_one, text) if b"\\u" in text else text).get_event
            while (event := get_event()) is not None and type(event) is not StreamEndEvent:
                if type(event) not in (StreamStartEvent, DocumentEndEvent):
                    assert type(event) is DocumentStartEvent
                    yield _Walk(name).tree(compose(get_event, name))
            return
        except YAMLError as error:
            fault = parser_problem(error, text, name)
        except RefusedError as refused:
            fault = refused.problem
    yield Tree(name, None, {"": Position(name, fault.line, fault.column)}, {}, (fault,))


class _Walk:
    """Turns composed nodes into plain data and notes the positions on the way."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.positions: dict[str, Position] = {}
        self.key_positions: dict[str, Position] = {}
        self.problems: list[Problem] = []
        self.left = MAX_NODES

    def tree(self, root: Node) -> Tree:
        data = self.value(root, "", 0)
        if data is None and not self.problems:
            self.problems.append(_empty(self.positions[""]))
        problems = tuple(sorted(self.problems))
        return Tree(self.name, data, self.positions, self.key_positions, problems)

    def value(self, node: Node, path: str, depth: int) -> Any:
        self.positions[path] = node.place
        if node.kind == "alias":
            node = node.items
        self.left -= 1
        if self.left < 0:
            raise RefusedError(too_many(node.place))
        if node.tag is not None:
            return self.refuse(
                node, path, "a value without a tag", f'the tag "{cut(node.tag)}"',
                "remove the tag, and write text in quotes",
            )  # fmt: skip
        if node.kind == "scalar":
            return self.scalar(node, path) if node.plain else node.items
        if depth >= MAX_DEPTH:
            raise RefusedError(too_deep(node.place))
        if node.kind == "list":
            return [self.value(item, f"{path}[{index}]", depth + 1) for index, item in enumerate(node.items)]
        return self.mapping(node, path, depth)

    def scalar(self, node: Node, path: str) -> Any:
        try:
            return resolve(node.items)
        except NotFiniteError:
            return self.refuse(node, path, "a finite number", cut(node.items), "")

    def mapping(self, node: Node, path: str, depth: int) -> dict[str, Any]:
        data: dict[str, Any] = {}
        for key, (key_node, value_node) in self.pairs(node, path, depth).items():
            inner = f"{path}.{key}" if path else key
            self.key_positions[inner] = key_node.place
            data[key] = self.value(value_node, inner, depth + 1)
        return data

    def pairs(self, node: Node, path: str, depth: int) -> dict[str, tuple[Node, Node]]:
        """Give the pairs of a mapping, merged ones after its own; its own keys win."""
        items = node.items
        self.left -= 1 + len(items) // 2
        if self.left < 0:
            raise RefusedError(too_many(node.place))
        found: dict[str, tuple[Node, Node]] = {}
        for key_node, value_node in zip(items[::2], items[1::2], strict=True):
            key = self.key(key_node, path)
            if key in found:
                self.refuse(
                    key_node, f"{path}.{key}" if path else key, "each key once in a mapping",
                    f'"{cut(key)}" again, first on line {found[key][0].place.line}', "remove one of them",
                )  # fmt: skip
            elif key is not None:
                found[key] = (key_node, value_node)
        if "<<" in found and found["<<"][0].plain:
            for source in self.merge_sources(found.pop("<<")[1], path):
                if depth >= MAX_DEPTH:
                    raise RefusedError(too_deep(source.place))
                for key, pair in self.pairs(source, path, depth + 1).items():
                    found.setdefault(key, pair)
        return found

    def merge_sources(self, node: Node, path: str) -> list[Node]:
        listed = node.items if node.kind == "alias" else node
        sources = []
        for source in listed.items if listed.kind == "list" else [node]:
            mapping = source.items if source.kind == "alias" else source
            if mapping.kind == "mapping":
                sources.append(mapping)
            else:
                self.refuse(
                    source, path, "a mapping after <<, or a list of mappings", "something else",
                    "write << with an alias of a mapping",
                )  # fmt: skip
        return sources

    def key(self, node: Node, path: str) -> str | None:
        target = node.items if node.kind == "alias" else node
        if target.kind == "scalar":
            return str(target.items)
        self.refuse(node, path, "a word as key", f"a {target.kind} as key", "write the key as a word")
        return None

    def refuse(self, node: Node, path: str, expected: str, came: str, advice: str) -> None:
        self.problems.append(problem_at(node.place, path, expected, came, advice))
