"""Loads a rule pack: every rule file of a folder, or every reason why it cannot be used."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from bmslint.data import rules_dir
from bmslint.judge import engine
from bmslint.judge.faults import PackError, PackProblem, RuleError
from bmslint.judge.read import read_rule
from bmslint.judge.rule import Faults, Rule, build_rule

NOT_FAMILIES = frozenset({"chemistries", "retired"})


class Pack(NamedTuple):
    """Rules that are judged together.

    `digest` is a hash over every YAML file of the folder, as chemistry tables and default properties
    decide a verdict too.
    """

    name: str
    digest: str
    rules: tuple[Rule, ...]

    def rule(self, name: str) -> Rule | None:
        """Find a rule.

        Args:
            name: the rule's id.

        Returns:
            The rule, None if the pack has no such one.
        """
        return next((each for each in self.rules if each.id == name), None)


def rule_files(folder: Path) -> list[Path]:
    """Find the rule files of a pack.

    Args:
        folder: the folder with a folder for each family.

    Returns:
        The files, sorted by family and name.
    """
    return [path for path in sorted(folder.rglob("*.yaml")) if _holds_rule(path, folder)]


def _holds_rule(path: Path, root: Path) -> bool:
    family = path.parent
    return family.parent == root and family.name not in NOT_FAMILIES


def load_pack(folder: Path | None = None) -> Pack:
    """Load a pack.

    Args:
        folder: the folder with a folder for each family; the built-in one if left out.

    Returns:
        The pack, its rules sorted by id.

    Raises:
        PackError: anything in it cannot be used; everything at fault is named at once.
    """
    built_in = folder is None
    root = rules_dir() if folder is None else folder
    problems: list[PackProblem] = []
    rules: dict[str, Rule] = {}
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.yaml")):
        content, file = path.read_bytes(), path.relative_to(root).as_posix()
        digest.update(f"{file}\0{len(content)}\0".encode() + content)
        rule = _load_rule(path, file, content, problems) if _holds_rule(path, root) else None
        if rule is None:
            continue
        if rule.id in rules:
            what = f"a second rule {rule.id}; the first is in {rules[rule.id].file}"
            problems.append(PackProblem(rule.file, 1, 1, what))
        rules[rule.id] = rule
    if not rules and not problems:
        problems.append(PackProblem(str(root), 1, 1, "there is no rule file in this folder"))
    problems += _check_covers(rules)
    if problems:
        raise PackError(problems)
    name = "built-in" if built_in else root.name
    return Pack(name, digest.hexdigest()[:16], tuple(rules[each] for each in sorted(rules)))


def _load_rule(path: Path, file: str, content: bytes, problems: list[PackProblem]) -> Rule | None:
    document = read_rule(content, file)
    before = len(problems)
    problems += document.problems
    if len(problems) > before:
        return None
    faults = Faults()
    rule = build_rule(document.data, path.parent.name, file, document.positions, faults)
    if rule.id != path.stem:
        faults.found.append(("id", RuleError(f"the id {rule.id} is not the file's name {path.stem}")))
    for key, expression in _expressions(rule).items():
        if expression:
            faults.read(key, engine.compiled, expression, None)
    for key, fault in faults.found:
        line, column = document.place(key, fault.offset)
        problems.append(PackProblem(file, line, column, f"{key or 'rule'}: {fault.what}"))
    return None if faults.found else rule


def _expressions(rule: Rule) -> Mapping[str, str]:
    named = {"applies": rule.applies, "require": rule.require, "value": rule.value, "limit": rule.limit}
    named.update({f"suggest[{i}].to": each.to for i, each in enumerate(rule.suggest)})
    return {key: expression.text for key, expression in named.items() if expression is not None}


def _check_covers(rules: Mapping[str, Rule]) -> list[PackProblem]:
    """Refuse unknown rules under `covers`, and two rules that would silence each other."""
    problems = []
    for rule in rules.values():
        for i, other in enumerate(rule.covers):
            line, column = rule.place(f"covers[{i}]")
            if other not in rules:
                what = f"covers {other}, which is not a rule of this pack"
                problems.append(PackProblem(rule.file, line, column, what))
            elif rule.id in _covered(rules, other):
                what = f"covers {other}, which covers {rule.id} in turn"
                problems.append(PackProblem(rule.file, line, column, what))
    return problems


def _covered(rules: Mapping[str, Rule], name: str) -> set[str]:
    """Every rule that `name` covers, directly or through others."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        rule = rules.get(waiting.pop())
        new = set(rule.covers) - found if rule is not None else set()
        found |= new
        waiting += new
    return found
