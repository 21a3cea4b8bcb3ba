"""Changes values in the text of a settings file; comments, order and form of everything else stay.

Source: ruamel.yaml's round trip; what it would write in another form than the file is put back from the
file line by line, so that a change shows as nothing but itself.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from difflib import SequenceMatcher
from typing import Any

from bmslint.settings.paths import split


class EditError(Exception):
    """A change that cannot be written into a text; the message says why and what to do."""


UNKEPT = "its form is not one that can be kept; set the values by hand"
ELSEWHERE = "{} is in a list that stands in another file, which cannot be changed in parts"


def edited(text: str, changes: Mapping[str, object]) -> str:
    """Write new values into the text of a settings file.

    Args:
        text: the file, YAML with a mapping at the top.
        changes: new values by path; a key that the text has not is added after the others of its mapping.

    Returns:
        The changed text. Whether it means what was wanted is for the caller to see by reading it again:
        a value that stands in several places by an anchor changes in all of them.

    Raises:
        EditError: a list item is not in this text, or the text is no block of YAML.
    """
    if text.lstrip("\ufeff \t\r\n").startswith("{"):
        raise EditError("it is written as JSON; set the values by hand, or write the file as YAML")
    ends = "\r\n" if "\r\n" in text else "\n"
    plain = text.replace("\r\n", "\n")
    before, after = _written(plain, {}), _written(plain, changes)
    return _kept(plain, before, after).replace("\n", ends)


def _written(text: str, changes: Mapping[str, object]) -> str:
    """Load and write a text, with changes made on the way."""
    from ruamel.yaml import YAML

    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 10**6
    yaml.indent(mapping=2, sequence=4, offset=2)
    data = yaml.load(text)
    for path, value in changes.items():
        _put(data, path, value)
    page = io.StringIO()
    yaml.dump(data, page)
    return page.getvalue()


def _put(data: Any, path: str, value: object) -> None:
    *way, last = split(path)
    at = data
    for part in way:
        if isinstance(part, int):
            if not isinstance(at, list) or part >= len(at):
                raise EditError(ELSEWHERE.format(path))
            at = at[part]
        else:
            if not isinstance(at.get(part), dict | list):
                at[part] = _mapping_like(at)
            at = at[part]
    if isinstance(last, int) and (not isinstance(at, list) or last >= len(at)):
        raise EditError(ELSEWHERE.format(path))
    was = at[last] if isinstance(last, int) else at.get(last)
    at[last] = _number(value, was) if isinstance(value, float) else _in_a_line(value)


def _mapping_like(at: Any) -> Any:
    """Make an empty mapping in the form of the one that it goes into."""
    from ruamel.yaml.comments import CommentedMap

    made = CommentedMap()
    if at.fa.flow_style():
        made.fa.set_flow_style()
    return made


def _in_a_line(value: object) -> object:
    """Make a list one that is written in a line."""
    from ruamel.yaml.comments import CommentedSeq

    if not isinstance(value, list):
        return value
    made = CommentedSeq(value)
    made.fa.set_flow_style()
    return made


def _number(value: float, was: object) -> object:
    """Write a whole number without a point, unless the old one had one."""
    return int(value) if value.is_integer() and not isinstance(was, float) else value


def _kept(text: str, before: str, after: str) -> str:
    """Put the lines that differ between two written forms into the text that they were made from."""
    if before == text:
        return after
    old, new, mine = before.splitlines(), after.splitlines(), text.splitlines()
    places = _same_lines(old, mine)
    matcher = SequenceMatcher(None, old, new, autojunk=False)
    result = list(mine)
    for kind, first, last, begin, end in reversed(matcher.get_opcodes()):
        if kind == "equal":
            continue
        start = places.get(first - 1, -2) + 1 if first else 0
        there = [places.get(line) for line in range(first, last)]
        if start < 0 or there != list(range(start, start + last - first)):
            raise EditError(UNKEPT)
        near = [*range(first, last), *range(first - 1, -1, -1), *range(last, len(old))]
        result[start : start + last - first] = [
            _indented(line, old, mine, [(line, places[line]) for line in near if line in places])
            for line in new[begin:end]
        ]
    return "\n".join(result) + ("\n" if text.endswith("\n") else "")


def _indented(line: str, old: list[str], mine: list[str], near: list[tuple[int, int]]) -> str:
    """Give a written line the indent that the text has for the nearest line as deep as it."""
    for written, place in near:
        if old[written].strip() and _indent(old[written]) == _indent(line):
            return _indent(mine[place]) + line.lstrip()
    raise EditError(UNKEPT)


def _indent(line: str) -> str:
    return line[: len(line) - len(line.lstrip())]


def _same_lines(old: list[str], mine: list[str]) -> dict[int, int]:
    """Find for each line of a written form the line of the text that says the same, spaces apart."""

    def bare(lines: list[str]) -> list[str]:
        return ["".join(line.split()) for line in lines]

    places: dict[int, int] = {}
    matcher = SequenceMatcher(None, bare(old), bare(mine), autojunk=False)
    for one, other, length in matcher.get_matching_blocks():
        places.update((one + i, other + i) for i in range(length))
    return places
