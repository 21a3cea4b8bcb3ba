"""Answers what a compiled schema knows: what may stand at a place, and where a key belongs."""

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from bmslint.settings.paths import join, split

Node = dict[str, Any]


class Vocabulary:
    """The keys and values of a compiled schema."""

    def __init__(self, schema: Node) -> None:
        """Take a compiled schema.

        Args:
            schema: What `compiled.load_schema` gave.
        """
        self._definitions = {part["ref"]: part for part in schema.get("definitions", ())}
        self._root = schema["schema"] if schema["type"] == "definitions" else schema

    def choices(self, path: str) -> list[Node]:
        """Give what may stand at a path.

        Args:
            path: Dotted path.

        Returns:
            Schema nodes, one for each choice; none for a path that the schema has not.
        """
        nodes = self._opened(self._root)
        for part in split(path):
            nodes = [deep for node in nodes for deep in self._opened(_below(node, part))]
        return nodes

    def keys(self, path: str) -> list[str]:
        """Give the keys of the mapping at a path.

        Args:
            path: Dotted path.

        Returns:
            Its keys in the order of the model; none where the names are free.
        """
        return [key for node in self.choices(path) for key in node.get("fields", ())]

    def nearest_key(self, path: str, key: str) -> str | None:
        """Give the known key at a place that a misspelt one is most like.

        Args:
            path: Dotted path of the mapping.
            key: The unknown key.

        Returns:
            The key, or None where none is alike.
        """
        if len(key) > 60:  # matching takes time with the square of the length
            return None
        lower = {known.lower(): known for known in self.keys(path)}
        near = get_close_matches(key.lower(), lower, n=1, cutoff=0.7)
        return lower[near[0]] if near else None

    def places_of(self, key: str) -> list[str]:
        """Give the mappings in which a key belongs.

        Args:
            key: A key.

        Returns:
            Paths of mappings, `*` for a free name and `[]` for a list item; "" for the top.
        """
        return sorted({place for place, known in self.every_key() if known == key})

    def every_key(self) -> Iterator[tuple[str, str]]:
        """Give every key of the schema.

        Yields:
            The path of the mapping it belongs in, as in `places_of`, and the key.
        """
        yield from self._all(self._root, ())

    def _all(self, node: Node | None, way: tuple[str, ...]) -> Iterator[tuple[str, str]]:
        for choice in self._opened(node):
            for key, inner in choice.get("fields", {}).items():
                yield join(way).replace(".[]", "[]"), key
                yield from self._all(inner["schema"], (*way, key))
            if choice["type"] == "list":
                yield from self._all(choice.get("items_schema"), (*way, "[]"))
            if choice["type"] == "dict":
                yield from self._all(choice.get("values_schema"), (*way, "*"))

    def _opened(self, node: Node | None) -> list[Node]:
        """Follow references, and take the choices of a union apart."""
        if node is None:
            return []
        if node["type"] == "definition-ref":
            return self._opened(self._definitions[node["schema_ref"]])
        if node["type"] == "nullable":
            return self._opened(node["schema"])
        if node["type"] == "union":
            return [deep for choice in node["choices"] for deep in self._opened(choice)]
        return [node]


def _below(node: Node, part: str | int) -> Node | None:
    kind = node["type"]
    if kind == "typed-dict" and part in node["fields"]:
        inner: Node = node["fields"][part]["schema"]
        return inner
    if kind == "dict" and isinstance(part, str):
        return node.get("values_schema")
    return node.get("items_schema") if kind == "list" and isinstance(part, int) else None
