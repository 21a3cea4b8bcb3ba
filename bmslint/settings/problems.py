"""Turns the errors of a validation into problems for a person, all at once."""

import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from bmslint.settings.advice import advice
from bmslint.settings.compiled import load_schema
from bmslint.settings.paths import join, parent, split
from bmslint.settings.places import Position, Problem, cut, problem_at, told
from bmslint.settings.tree import Tree
from bmslint.settings.vocabulary import Vocabulary
from bmslint.settings.words import expected

# Looking up what an unknown key resembles takes time; a file that is not ours has thousands.
_MAX_LOOKED_UP = 100

_DIGITS = re.compile(r"[0-9]+\Z")


def problems(errors: Iterable[Mapping[str, Any]], tree: Tree, json_path: Path) -> tuple[Problem, ...]:
    """Tell the errors of a validation.

    Args:
        errors: Line errors of pydantic-core, as `ValidationError.errors()` gives them.
        tree: The document that was validated.
        json_path: Its compiled schema.

    Returns:
        The problems of the tree and of the validation, in the order of their places; one for
        each value, whatever the number of choices that it fits none of.
    """
    teller = _Teller(tree, Vocabulary(load_schema(json_path)))
    found: dict[str, Problem] = {}
    unread = {problem.path for problem in tree.problems}
    placed = sorted((teller.path(error), index, error) for index, error in enumerate(errors))
    around = _around(path for path, _, _ in placed)
    misnamed = {path for path, _, error in placed if _is_name(error)}
    for path, _, error in placed:
        if misnamed and not misnamed.isdisjoint(_around([path])):
            continue  # with another name for the whole, its inside is read anew
        told_already = path in found or (path in unread and error["input"] is None)
        of_a_key = _is_name(error) or error["type"] == "extra_forbidden"
        if not told_already and (path not in around or not path or of_a_key):
            found[path] = teller.problem(path, error)
    return tuple(sorted((*tree.problems, *found.values())))


def _around(paths: Iterable[str]) -> set[str]:
    """Give all that has something at fault inside: another choice for the whole is no news there."""
    around = set()
    for path in paths:
        while path and (path := parent(path)) not in around:
            around.add(path)
    return around


def _is_name(error: Mapping[str, Any]) -> bool:
    """Whether an error is about a free name, such as that of a sensor."""
    return bool(error["loc"][-1:] == ("[key]",))


def _has(data: Any, part: str | int) -> bool:
    if isinstance(part, str):
        return isinstance(data, dict) and part in data
    return isinstance(data, list) and part < len(data)


class _Teller:
    def __init__(self, tree: Tree, vocabulary: Vocabulary) -> None:
        self.tree = tree
        self.vocabulary = vocabulary
        self.looked_up = 0

    def path(self, error: Mapping[str, Any]) -> str:
        """Give the path of an error, without the names of choices that stand in its place."""
        parts: list[str | int] = []
        at = self.tree.data
        for part in error["loc"]:
            if _has(at, part):
                at = at[part]
                parts.append(part)
        if error["type"] == "missing":
            parts.append(error["loc"][-1])
        return join(parts)

    def problem(self, path: str, error: Mapping[str, Any]) -> Problem:
        if error["type"] == "extra_forbidden":
            return self.unknown(path, str(error["loc"][-1]), error["input"])
        if error["type"] == "missing":
            key = str(error["loc"][-1])
            came = f"no key `{key}`"
            what = expected(self.vocabulary.choices(path), path)
            return problem_at(self.place(parent(path)), path, what, came, f"add `{key}`")
        if _is_name(error):
            mappings = self.vocabulary.choices(parent_of(path, error["input"]))
            names = [node["keys_schema"] for node in mappings if "keys_schema" in node]
            what = expected(names, "")
            return problem_at(self.place(path), path, what, told(error["input"]), "rename it")
        nodes = self.vocabulary.choices(path)
        value = error["input"]
        what = expected(nodes, path)
        place = self.tree.positions.get(path) or self.place(path)
        return problem_at(place, path, what, told(value), advice(nodes, path, value))

    def place(self, path: str) -> Position:
        """Give the place of a key, or of the nearest one around it."""
        while path and path not in self.tree.key_positions:
            path = parent(path)
        return self.tree.key_positions.get(path) or self.tree.positions[""]

    def unknown(self, path: str, key: str, value: object) -> Problem:
        around = parent_of(path, key)
        place = self.place(path)
        if value is None and _DIGITS.match(key) and (split_number := self.comma(around, key)):
            before, number = split_number
            came = f"{before},{key}"
            return problem_at(place, path, "a decimal point", came, f"write {number}")
        what = f"a key of `{around}`" if around else "a key of the settings file"
        came = f'"{cut(key)}", which is not known'
        return problem_at(place, path, what, came, self.belongs(around, key))

    def comma(self, around: str, key: str) -> tuple[object, str] | None:
        """See a decimal comma in `{trip_above_V: 3,65}`, which reads as a number and a key 65."""
        at: Any = self.tree.data
        for part in split(around):
            at = at[part]
        keys = list(at)
        index = keys.index(key)
        before = at[keys[index - 1]] if index else None
        if isinstance(before, bool) or not isinstance(before, int):
            return None
        return before, f"{before}.{key}"

    def belongs(self, around: str, key: str) -> str:
        self.looked_up += 1
        if self.looked_up > _MAX_LOOKED_UP:
            return ""
        near = self.vocabulary.nearest_key(around, key)
        places = [place for place in self.vocabulary.places_of(key) if place != around]
        if near and near.lower() == key.lower().replace("-", "_"):
            return f"write {near}"
        if places and len(places) <= 3:
            named = " or ".join(f"`{place}`" if place else "the top level" for place in places)
            return f"it belongs in {named}"
        if near:
            return f"did you mean {near}?"
        return "known here: " + ", ".join(self.vocabulary.keys(around))


def parent_of(path: str, key: str) -> str:
    """Give the path around a key, even where the key itself holds a dot or a bracket.

    Args:
        path: Dotted path that ends in the key.
        key: The key.

    Returns:
        The path without the key.
    """
    return path.removesuffix(key).removesuffix(".")
