"""Rules that were read and checked before; `python -m bmslint.judge.prepared` writes them anew.

Parsing some two hundred rule files and compiling their expressions takes longer than all the rest of a
check. Each built-in rule is therefore kept as it was built, under the hash of its file's first document: a
rule file that was changed is simply not found and is read again. Its expressions are kept as the engine
compiled them, under their text; the engine of another version compiles them again. Tests hold that both are
current, and that a run without them comes to the same.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import starmap
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.expression import Expression, Reference
from bmslint.judge.parameters import Parameter
from bmslint.judge.rule import Rule, Source, Suggestion
from bmslint.judge.template import Template
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
    """Give the key under which a rule is kept.

    Args:
        content: the bytes of its file.

    Returns:
        A hash over what stands before the examples.
    """
    return hashlib.sha256(content.partition(b"\n---\n")[0]).hexdigest()


class Prepared(NamedTuple):
    """What was kept: rules by `key_of` their file, and compiled expressions by their text.

    Each rule has its fields in the order of `Rule`, without the last, as lists for tuples; each expression
    is what `engine.kept_form` gave for the engine named.
    """

    engine: str
    rules: Mapping[str, Sequence[Any]]
    expressions: Mapping[str, str]


@cache
def prepared() -> Prepared:
    """Give everything that was prepared.

    Returns:
        The content of the file beside this module.
    """
    return Prepared(**json.loads(PREPARED.read_bytes()))


def prepared_rule(content: bytes, family: str, file: str) -> Rule | None:
    """Give a rule that was read before.

    Args:
        content: the bytes of its file.
        family: the folder's name.
        file: the file, for messages.

    Returns:
        The rule, with the values that its file states for its parameters; None if it is not known.
    """
    known = prepared().rules.get(key_of(content))
    if known is None:
        return None
    (
        name, _, _, title, severity, references, each, applies, require, value, limit, unit, at, also_at,
        says, why, remedy, suggest, covers, does_not_apply_to, known_false_alarms, sources, parameters,
    ) = known  # fmt: skip
    return Rule(
        id=name,
        family=family,
        file=file,
        title=title,
        severity=severity,
        references=tuple(starmap(Reference, references)),
        each=tuple(each),
        applies=_expression(applies),
        require=Expression(require[0], tuple(starmap(Reference, require[1]))),
        value=_expression(value),
        limit=_expression(limit),
        unit=unit,
        at=_template(at),
        also_at=tuple(map(_template, also_at)),
        says=_template(says),
        why=why,
        remedy=remedy,
        suggest=tuple(
            Suggestion(_template(path), Expression(text, tuple(starmap(Reference, paths))))
            for path, (text, paths) in suggest
        ),
        covers=tuple(covers),
        does_not_apply_to=does_not_apply_to,
        known_false_alarms=known_false_alarms,
        sources=tuple(starmap(Source, sources)),
        parameters={name: Parameter(*one) for name, one in parameters.items()},
        positions=LaterPositions(content, file),
    )


def _expression(kept: Sequence[Any] | None) -> Expression | None:
    return None if kept is None else Expression(kept[0], tuple(starmap(Reference, kept[1])))


def _template(kept: Sequence[Any]) -> Template:
    texts, fields = kept
    return Template(tuple(texts), tuple(map(tuple, fields)))


def prepare() -> str:
    """Read every built-in rule file, and compile what it asks.

    Returns:
        The text of `prepared.json`, a line for each rule and each expression. An expression whose parts are
        there already keeps its form, as the engine writes them in no order.

    Raises:
        ValueError: a rule file cannot be used.
    """
    from bmslint.data import rules_dir
    from bmslint.judge import engine
    from bmslint.judge.pack import rule_files
    from bmslint.judge.read import read_rule
    from bmslint.judge.rule import Faults, build_rule

    rules: dict[str, Sequence[Any]] = {}
    texts: set[str] = set()
    for path in rule_files(rules_dir()):
        content, faults = path.read_bytes(), Faults()
        document = read_rule(content, path.name)
        if document.problems:
            raise ValueError(f"{path.name}: {document.problems[0].message}")
        rule = build_rule(document.data, path.parent.name, path.name, document.positions, faults)
        if faults.found:
            raise ValueError(f"{path.name}: {faults.found[0][1].what}")
        rules[key_of(content)] = rule[:-1]
        texts |= {each.text for each in rule.expressions().values()}
    kept = {text: engine.kept_form(text) for text in texts}
    before = prepared().expressions if PREPARED.exists() else {}
    for text in before.keys() & kept.keys():
        if engine.same_form(before[text], kept[text]):
            kept[text] = before[text]
    return (
        f'{{"engine": {_written(engine.version())},\n'
        f'"rules": {{\n{_lines(rules)}}},\n"expressions": {{\n{_lines(kept)}}}}}\n'
    )


def _lines(found: Mapping[str, Any]) -> str:
    return ",\n".join(f"{_written(key)}: {_written(found[key])}" for key in sorted(found))


def _written(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


if __name__ == "__main__":
    PREPARED.write_text(prepare(), encoding="utf-8")
