"""Rules that were read and checked before; `python -m bmslint.judge.prepared` writes them anew.

Parsing some hundred rule files takes longer than all the rest of the judging. The first document of
each built-in rule file is therefore kept as it was read, under the hash of its text: a rule file that
was changed is simply not found and is read again. A test holds that the file is current.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.settings.tree import parse

if TYPE_CHECKING:
    from bmslint.settings.places import Position

PREPARED = Path(__file__).with_name("prepared.json")


class LaterPositions(Mapping[str, "Position"]):
    """The places of a rule's values, looked for only when a fault has to be placed."""

    def __init__(self, content: bytes, file: str) -> None:
        """Keep what to parse.

        Args:
            content: the bytes of the rule file.
            file: its name, for messages.
        """
        self._content = content
        self._file = file
        self._found: Mapping[str, Position] | None = None

    def _positions(self) -> Mapping[str, Position]:
        if self._found is None:
            self._found = parse(self._content, self._file).positions
        return self._found

    def __getitem__(self, path: str) -> Position:
        """Give the place of a value."""
        return self._positions()[path]

    def __iter__(self) -> Iterator[str]:
        """Go through the paths."""
        return iter(self._positions())

    def __len__(self) -> int:
        """Count the paths."""
        return len(self._positions())


def key_of(content: bytes) -> str:
    """Give the key under which a rule file's first document is kept.

    Args:
        content: the bytes of the file.

    Returns:
        A hash over what stands before the examples.
    """
    return hashlib.sha256(content.partition(b"\n---\n")[0]).hexdigest()


class Prepared(NamedTuple):
    """What was read before: rules by `key_of` their file, expressions and templates by their text."""

    rules: Mapping[str, dict[str, Any]]
    expressions: Mapping[str, Sequence[tuple[str, bool, bool]]]
    templates: Mapping[str, tuple[Sequence[str], Sequence[tuple[str, str]]]]


@cache
def prepared() -> Prepared:
    """Give everything that was prepared.

    Returns:
        Validated rules; of each expression the references, of each template its texts and fields.
    """
    return Prepared(**json.loads(PREPARED.read_bytes()))


def prepare() -> str:
    """Read every built-in rule file.

    Returns:
        The text of `prepared.json`.

    Raises:
        ValueError: a rule file cannot be used.
    """
    from bmslint.data import rules_dir
    from bmslint.judge.expression import read_anew as expression_anew
    from bmslint.judge.pack import load_pack, rule_files
    from bmslint.judge.read import read_anew
    from bmslint.judge.template import read_anew as template_anew

    rules = {}
    for path in rule_files(rules_dir()):
        document = read_anew(path.read_bytes(), path.name)
        if document.problems:
            raise ValueError(f"{path.name}: {document.problems[0].message}")
        rules[key_of(path.read_bytes())] = document.data
    expressions, templates = set[str](), set[str]()
    for rule in load_pack().rules:
        parts = (rule.applies, rule.require, rule.value, rule.limit, *(each.to for each in rule.suggest))
        expressions |= {part.text for part in parts if part is not None}
        templates |= set(_templates(rules, rule.id))
    found = {
        "rules": rules,
        "expressions": {text: expression_anew(text).references for text in expressions},
        "templates": {text: template_anew(text) for text in templates},
    }
    return json.dumps(found, ensure_ascii=False, indent=0, sort_keys=True) + "\n"


def _templates(rules: Mapping[str, dict[str, Any]], rule: str) -> Iterator[str]:
    """Give the texts that are templates in a rule, as its file states them."""
    data = next(each for each in rules.values() if each["id"] == rule)
    yield from (data.get("at", "{here}"), data["says"], *data.get("also_at", ()))
    yield from (each["set"] for each in data.get("suggest", ()))


if __name__ == "__main__":
    PREPARED.write_text(prepare(), encoding="utf-8")
