"""Reads the YAML documents of a rule file, with the place of every value."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

from bmslint.judge.faults import PackProblem


@dataclass(frozen=True, slots=True)
class RuleDocument:
    """The data of one YAML document, the places of its values, and what is wrong with it."""

    data: dict[str, Any]
    places: dict[str, tuple[int, int]]
    lines: tuple[str, ...]
    problems: tuple[PackProblem, ...]

    def place(self, path: str, offset: int = 0) -> tuple[int, int]:
        """Find a character of a value.

        Args:
            path: the value's path.
            offset: characters from the start of the value's text.

        Returns:
            Line and column, counted from 1; the value's start where its text is folded over lines.
        """
        line, column = self.places.get(path, (1, 1))
        text = self.data.get(path)
        source = self.lines[line - 1][column - 1 :] if line <= len(self.lines) else ""
        if not isinstance(text, str) or "\n" in text:
            return line, column
        quoted = source[:1] in ("'", '"')
        return (line, column + offset + quoted) if source[quoted:].startswith(text) else (line, column)


def read_document(content: bytes, file: str) -> RuleDocument:
    from ruamel.yaml import YAML

    from bmslint.judge.rulefile import RuleFile

    docs = list(YAML(typ="safe", pure=True).load_all(io.BytesIO(content)))
    rule = RuleFile.model_validate({"rule": docs[0]}).rule.model_dump(exclude_none=True)
    return RuleDocument(rule, {}, tuple(content.decode().splitlines()), ())
