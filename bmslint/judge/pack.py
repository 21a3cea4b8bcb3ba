"""Loads a rule pack: every rule file of a folder, or every reason why it cannot be used."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bmslint.data import rules_dir
from bmslint.judge import engine
from bmslint.judge.faults import PackError, PackProblem, RuleError
from bmslint.judge.prepared import prepared_rule
from bmslint.judge.read import MOST_TOLD, read_rule
from bmslint.judge.rule import Faults, Rule, build_rule

if TYPE_CHECKING:
    from bmslint.judge.own.changes import OwnPack, Wanted
    from bmslint.judge.own.folder import OwnFolder

NOT_FAMILIES = frozenset({"chemistries", "retired"})


class Pack(NamedTuple):
    """Rules that are judged together.

    `digest` is a hash over every YAML file of the folder, as chemistry tables and default properties
    decide a verdict too. `own` are folders of one's own, each with its digest; their rules are in `rules`.
    """

    name: str
    digest: str
    rules: tuple[Rule, ...]
    own: tuple[OwnPack, ...] = ()

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
    return [folder / file for file in _yaml_files(folder) if _holds_rule(file)]


def _yaml_files(folder: Path) -> list[str]:
    """The YAML files below a folder, each as its path inside; sorted by folder and name."""
    found = []
    for above, _, names in os.walk(folder):
        inside = os.path.relpath(above, folder).replace(os.sep, "/") + "/"
        found += [(inside + name).removeprefix("./") for name in names if name.endswith(".yaml")]
    return sorted(found, key=lambda file: file.split("/"))


def _holds_rule(file: str) -> bool:
    family, _, name = file.partition("/")
    return "/" not in name and bool(name) and family not in NOT_FAMILIES


def load_pack(folder: Path | None = None, own: Sequence[Path] = (), installed: bool = False) -> Pack:
    """Load a pack.

    Args:
        folder: the folder with a folder for each family; the built-in one if left out.
        own: folders of one's own, whose rules are added and whose changes are made.
        installed: whether to add the folders that installed packages offer.

    Returns:
        The pack, its rules sorted by id.

    Raises:
        PackError: anything in it cannot be used; everything at fault is named at once.
    """
    root = rules_dir() if folder is None else folder
    name = "built-in" if folder is None else root.name
    loader = _Loader()
    if own or installed:
        loader.read_own([(path.as_posix(), path) for path in own], installed)
    digest = hashlib.sha256()
    for file in _yaml_files(root):
        with open(f"{root}/{file}", "rb", buffering=0) as opened:  # noqa: PTH123 - a path for each takes as long
            content = opened.read()
        digest.update(f"{file}\0{len(content)}\0".encode() + content)
        if _holds_rule(file):
            loader.load(file, content)
    if not loader.rules and not loader.problems:
        loader.problems.append(PackProblem(str(root), 1, 1, "there is no rule file in this folder"))
    return loader.complete(Pack(name, digest.hexdigest()[:16], ()))


class _Loader:
    """Collects rules and everything wrong with them."""

    def __init__(self) -> None:
        self.rules: dict[str, Rule] = {}
        self.problems: list[PackProblem] = []
        self.own: Sequence[OwnFolder] = ()
        self.wanted: Mapping[str, Wanted] = {}

    def read_own(self, folders: list[tuple[str, Path]], installed: bool) -> None:
        """Read folders of one's own; their rules are loaded after the built-in ones."""
        from bmslint.judge.own.changes import wanted_changes
        from bmslint.judge.own.folder import read_folders

        if installed:
            from bmslint.judge.own.installed import installed_folders

            folders += installed_folders(self.problems)
        self.own = read_folders(folders, self.problems)
        self.wanted = wanted_changes(self.own, self.problems)

    def load(self, file: str, content: bytes) -> None:
        """Load a rule file of the pack, or take its rule as it was read before."""
        family, _, name = file.partition("/")
        stem = name.removesuffix(".yaml")
        wanted = self.wanted.get(stem)
        if wanted is None or "parameters" not in wanted.data:
            rule = prepared_rule(content, family, file)
            if rule is not None and rule.id == stem:
                self.rules[stem] = rule
                return
        self.read(file, stem, family, content)

    def read(self, file: str, stem: str, family: str, content: bytes, *, own: bool = False) -> None:
        """Read a rule file; one of one's own may name only what there is."""
        document = read_rule(content, file)
        self.problems += document.problems
        if document.problems:
            return
        faults, wanted = Faults(), self.wanted.get(document.data["id"])
        replaced = wanted.data.get("parameters", {}) if wanted is not None else {}
        rule = build_rule(document.data, family, file, document.positions, faults, replaced)
        if rule.id != stem:
            faults.found.append(("id", RuleError(f"the id {rule.id} is not the file's name {stem}")))
        for key, expression in rule.expressions().items():
            if expression.text:
                faults.read(key, engine.compiled, expression.text, None)
        if own:
            from bmslint.judge.own.known import check_names

            check_names(rule, document.data, faults)
        for key, fault in faults.found[:MOST_TOLD]:
            line, column = document.place(key, fault.offset)
            self.problems.append(PackProblem(file, line, column, f"{key or 'rule'}: {fault.what}"))
        if len(faults.found) > MOST_TOLD:
            self.problems.append(PackProblem(file, 1, 1, f"and {len(faults.found) - MOST_TOLD} more faults"))
        if faults.found:
            return
        if rule.id in self.rules:
            what = f"a second rule {rule.id}; the first is in {self.rules[rule.id].file}"
            self.problems.append(PackProblem(rule.file, 1, 1, what))
        self.rules[rule.id] = rule

    def complete(self, pack: Pack) -> Pack:
        """Add rules and changes of one's own, and hold what is said between rules."""
        for folder in self.own:
            for each in folder.files:
                self.read(each.file, each.stem, each.family, each.content, own=True)
        self.problems += _check_covers(self.rules)
        rules = self.rules
        own: tuple[OwnPack, ...] = ()
        if self.own:
            from bmslint.judge.own.changes import own_packs

            rules, own = own_packs(self.rules, self.own, self.wanted, self.problems)
        if self.problems:
            raise PackError(self.problems)
        return pack._replace(rules=tuple(rules[each] for each in sorted(rules)), own=own)


def _check_covers(rules: Mapping[str, Rule]) -> list[PackProblem]:
    """Refuse unknown rules under `covers`, and two rules that would silence each other."""
    problems = []
    in_circles = _covered_in_circles(rules)
    for rule in rules.values():
        for i, other in enumerate(rule.covers):
            what = ""
            if other not in rules:
                what = f"covers {other}, which is not a rule of this pack"
            elif rule.id in in_circles.get(other, ()):
                what = f"covers {other}, which covers {rule.id} in turn"
            if what:
                problems.append(PackProblem(rule.file, *rule.place(f"covers[{i}]"), what))
    return problems


def _covered_in_circles(rules: Mapping[str, Rule]) -> dict[str, set[str]]:
    """What rules cover directly or through others, for those that may stand in a circle.

    Rules that cover none of those left cannot stand in one and are taken away, one after the other,
    so that nothing is followed to its end in a pack without circles, whatever a hostile one may hold.
    """
    left = {name: set(rule.covers) & rules.keys() for name, rule in rules.items() if rule.covers}
    while ends := {name for name, covered in left.items() if not covered & left.keys()}:
        left = {name: covered & left.keys() for name, covered in left.items() if name not in ends}
    for through in left:
        for covered in left.values():
            if through in covered:
                covered |= left[through]
    return left
