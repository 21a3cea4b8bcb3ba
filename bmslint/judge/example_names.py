"""Names of the examples that a shipped rule carries, for pages that a person reads."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from bmslint.data import rules_dir
from bmslint.judge.pack import rule_files
from bmslint.settings.tree import parse


def example_names(folder: Path | None = None) -> Mapping[str, Mapping[str, list[str]]]:
    """Read the names of every rule's examples.

    Args:
        folder: the pack's folder; the built-in one if left out.

    Returns:
        By rule, by what is expected (`fail`, `pass`, `does_not_apply`, `not_judged`): the names, in the
        order of the file.
    """
    root = rules_dir() if folder is None else folder
    names: dict[str, dict[str, list[str]]] = {}
    for path in rule_files(root):
        by_state = names.setdefault(path.stem, {})
        for each in parse(path.read_bytes(), path.name, document=1).data["examples"]:
            by_state.setdefault(each["expect"], []).append(each["name"])
    return names
