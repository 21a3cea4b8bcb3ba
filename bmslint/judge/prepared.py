"""Rules that were read and checked before; `python -m bmslint.judge.prepared` writes them anew.

Parsing some hundred rule files takes longer than all the rest of the judging. The first document of
each built-in rule file is therefore kept as it was read, under the hash of its text: a rule file that
was changed is simply not found and is read again. A test holds that the file is current.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

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


@cache
def prepared() -> Mapping[str, dict[str, Any]]:
    """Give every rule that was prepared.

    Returns:
        Validated data of the rules by `key_of` their file.
    """
    found: dict[str, dict[str, Any]] = json.loads(PREPARED.read_bytes())
    return found


def prepare() -> str:
    """Read every built-in rule file.

    Returns:
        The text of `prepared.json`.

    Raises:
        ValueError: a rule file cannot be used.
    """
    from bmslint.data import rules_dir
    from bmslint.judge.pack import rule_files
    from bmslint.judge.read import read_anew

    found = {}
    for path in rule_files(rules_dir()):
        document = read_anew(path.read_bytes(), path.name)
        if document.problems:
            raise ValueError(f"{path.name}: {document.problems[0].message}")
        found[key_of(path.read_bytes())] = document.data
    return json.dumps(dict(sorted(found.items())), ensure_ascii=False, indent=0, sort_keys=True) + "\n"


if __name__ == "__main__":
    PREPARED.write_text(prepare(), encoding="utf-8")
