"""Which rules looked at which settings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bmslint.judge.expression import SETTINGS_ROOTS

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.judge.rule import Rule

_NUMBER = re.compile(r"\[\d+\]")
_STEP = re.compile(r"\.|(?=\[)")
# The file's own limits of the cell are what `limits` names where the file gives them.
_DECLARED = "pack.cell.limits."


def rules_looking(paths: Sequence[str], pack: Pack) -> dict[str, list[str]]:
    """Find the rules that name a setting in their condition, or point at it when they speak.

    Args:
        paths: the settings of a file.
        pack: the rules.

    Returns:
        Ids of rules, sorted, by path.
    """
    # By the section that a pattern begins with, so that a setting is held against few of them.
    named: dict[str, dict[tuple[str, ...], set[str]]] = {}
    for rule in pack.rules:
        for pattern in _patterns(rule):
            parts = _parts(pattern)
            named.setdefault(parts[0], {}).setdefault(parts, set()).add(rule.id)
    found = {}
    for path in paths:
        parts = _parts(_NUMBER.sub("[*]", path))
        rules = [ids for pattern, ids in named.get(parts[0], {}).items() if _meets(pattern, parts)]
        found[path] = sorted(set().union(*rules))
    return found


def _patterns(rule: Rule) -> set[str]:
    """The paths that a rule names, below the settings, with `*` for every item."""
    found: set[str] = set()
    for path in (*rule.named(), *_pointed_at(rule)):
        root, _, rest = path.partition(".")
        bare = root.split("[")[0]
        if bare == "item":
            found |= {each + path.removeprefix("item") for each in rule.each}
        elif root == "limits":
            found.add(_DECLARED + rest)
        elif bare in SETTINGS_ROOTS:
            found.add(path)
    return {_NUMBER.sub("[*]", path) for path in found | set(rule.each)}


def _pointed_at(rule: Rule) -> list[str]:
    """The paths that a rule's findings point at, where they are the same for each finding."""
    return [template.texts[0] for template in (rule.at, *rule.also_at) if not template.fields]


def _parts(path: str) -> tuple[str, ...]:
    return tuple(part for part in _STEP.split(path) if part)


def _meets(pattern: tuple[str, ...], path: tuple[str, ...]) -> bool:
    """Whether a rule that names a pattern looks at a setting, at all around it, or at something in it."""
    return all(a == b or "*" in (a, b) for a, b in zip(pattern, path, strict=False))
