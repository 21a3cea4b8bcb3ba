"""The file of a baseline: findings that were there when a repository was taken over.

    baseline: 1
    findings:
      - file: "profiles/hut.yaml"
        rule: "cold-release-chatters"
        path: "protection.charge_cold.release_above_degC"
        severity: "review"
        value: 0.5
        limit: 2.0

`file` is relative to the folder of the baseline, with forward slashes. `path` calls entries of lists by their
names. `value` and `limit` are there where the rule gives both as numbers. An entry of severity `reject` has
a `reason` too, which a person writes; while it is empty the entry holds nothing back.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.finding import SEVERITIES
from bmslint.settings.files import load
from bmslint.settings.places import Position, Problem, problem_at, told
from bmslint.settings.tree import parse_all

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from bmslint.judge.finding import Severity

VERSION = 1
HEAD = """\
# Findings that were there when this repository was taken over. `bmslint check --baseline` holds them back.
# An entry of severity reject holds nothing back until a person writes its reason.
"""
TEXTS = ("file", "rule", "path", "severity")
NUMBERS = ("value", "limit")
KEYS = (*TEXTS, *NUMBERS, "reason")


class Entry(NamedTuple):
    """A finding that is held back; `value` and `limit` are None where the rule gives no numbers."""

    file: str
    rule: str
    path: str
    severity: Severity
    value: float | None = None
    limit: float | None = None
    reason: str = ""

    @property
    def counts(self) -> bool:
        """Whether the entry may hold anything back."""
        return self.severity != "reject" or bool(self.reason.strip())


class BaselineError(Exception):
    """A baseline cannot be used; `problems` says why, all at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Take the problems."""
        self.problems = tuple(problems)
        super().__init__("; ".join(each.message for each in self.problems))


def read_entries(path: Path) -> list[Entry]:
    """Read the entries of a baseline.

    Args:
        path: of its file.

    Returns:
        The entries in the order of the file.

    Raises:
        BaselineError: the file cannot be used.
    """
    text = load(path, str(path))
    if isinstance(text, Problem):
        raise BaselineError([replace(text, expected="a baseline")])
    trees = parse_all(text, str(path))
    faults = [each for tree in trees for each in tree.problems]
    if len(trees) > 1 and not faults:
        faults = [problem_at(trees[1].positions[""], "", "one document", "a second one", "take it out")]
    if faults:
        raise BaselineError(faults)
    reader = _Reader(trees[0].positions)
    entries = reader.entries(trees[0].data)
    if reader.problems:
        raise BaselineError(sorted(reader.problems))
    return entries


def written_entries(entries: Iterable[Entry]) -> str:
    """Write a baseline.

    Args:
        entries: in any order.

    Returns:
        The text of its file, the same for the same entries.
    """
    lines = [f"{HEAD}baseline: {VERSION}"]
    listed = sorted(entries, key=lambda each: each[:3])
    lines.append("findings:" if listed else "findings: []")
    for entry in listed:
        given = {key: getattr(entry, key) for key in KEYS}
        if entry.value is None or entry.limit is None:
            del given["value"], given["limit"]
        if entry.severity != "reject" and not entry.reason:
            del given["reason"]
        lines += [f"  {'-' if not i else ' '} {key}: {_scalar(given[key])}" for i, key in enumerate(given)]
    return "\n".join([*lines, ""])


def _scalar(value: object) -> str:
    """A number or a text in quotes, as YAML and JSON both write it."""
    return json.dumps(value, ensure_ascii=isinstance(value, str) and not value.isprintable())


class _Reader:
    """Holds plain data against the form of a baseline."""

    def __init__(self, positions: Mapping[str, Position]) -> None:
        self.positions = positions
        self.problems: list[Problem] = []

    def refuse(self, path: str, expected: str, came: str, advice: str = "") -> None:
        at = self.positions.get(path) or self.positions[""]
        self.problems.append(problem_at(at, path, expected, came, advice))

    def entries(self, data: Any) -> list[Entry]:
        if not isinstance(data, dict) or "baseline" not in data:
            self.refuse(
                "", f"`baseline: {VERSION}` and a list `findings`", told(data), "is it the right file?"
            )
            return []
        version = data["baseline"]
        if version != VERSION or isinstance(version, bool):
            newer = "a newer bmslint wrote it" if isinstance(version, int) and version > VERSION else ""
            self.refuse("baseline", f"the number {VERSION}", told(version), newer)
            return []
        for key in data.keys() - {"baseline", "findings"}:
            self.refuse(key, "the keys baseline and findings", f'"{key}"')
        listed = data.get("findings")
        if not isinstance(listed, list):
            self.refuse("findings", "a list", told(listed))
            return []
        return [entry for i, each in enumerate(listed) if (entry := self.entry(f"findings[{i}]", each))]

    def entry(self, path: str, data: Any) -> Entry | None:
        before = len(self.problems)
        if not isinstance(data, dict):
            self.refuse(path, f"a mapping with {', '.join(TEXTS)}", told(data))
            return None
        for key in data.keys() - set(KEYS):
            self.refuse(f"{path}.{key}", f"one of {', '.join(KEYS)}", f'the key "{key}"')
        for key in TEXTS:
            if not isinstance(data.get(key), str) or not data[key]:
                self.refuse(
                    f"{path}.{key}" if key in data else path, f"a text for {key}", told(data.get(key))
                )
        if isinstance(data.get("severity"), str) and data["severity"] not in SEVERITIES:
            self.refuse(f"{path}.severity", f"one of {', '.join(SEVERITIES)}", told(data["severity"]))
        for key in NUMBERS:
            value = data.get(key)
            if isinstance(value, bool) or not isinstance(value, int | float | None):
                self.refuse(f"{path}.{key}", "a number", told(value))
        if not isinstance(data.get("reason", ""), str):
            self.refuse(f"{path}.reason", "a text", told(data["reason"]))
        return Entry(**data) if len(self.problems) == before else None
