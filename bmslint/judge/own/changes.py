"""Applies what folders of one's own change in rules, and keeps what was changed to be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.faults import PackProblem

if TYPE_CHECKING:
    from bmslint.judge.own.folder import OwnFolder
    from bmslint.judge.read import RuleDocument
    from bmslint.judge.rule import Rule

SWITCHED_OFF = "switched off"


class RuleChange(NamedTuple):
    """One change of a rule: `what` is `severity` or `parameters.name`, `was` and `now` are in `unit`."""

    rule: str
    what: str
    was: str | float
    now: str | float
    unit: str
    reason: str


class OwnPack(NamedTuple):
    """A folder of one's own as it took part in a run: how many rules it added, and what it changed."""

    name: str
    digest: str
    rules: int
    changes: tuple[RuleChange, ...]


class Wanted(NamedTuple):
    """What one folder wants of one rule."""

    folder: OwnFolder
    document: RuleDocument
    data: Mapping[str, Any]

    def problem(self, rule: str, key: str, what: str) -> PackProblem:
        """Tell what is wrong with it.

        Args:
            rule: the rule's id.
            key: the key of the change, "" for all of it.
            what: what is wrong.

        Returns:
            The problem at its place.
        """
        path = f"rules.{rule}.{key}" if key else f"rules.{rule}"
        line, column = self.document.place(path)
        return PackProblem(f"{self.folder.name}/changes.yaml", line, column, f"{path}: {what}")


def wanted_changes(folders: Sequence[OwnFolder], problems: list[PackProblem]) -> dict[str, Wanted]:
    """Collect what folders want changed.

    Args:
        folders: the folders.
        problems: collects changes that say nothing or two things, and rules that two folders change.

    Returns:
        The changes by the rule's id.
    """
    wanted: dict[str, Wanted] = {}
    for folder in folders:
        document = folder.changes
        if document is None:
            continue
        for rule, given in document.data.get("rules", {}).items():
            data = {key: value for key, value in given.items() if value is not None}
            each = Wanted(folder, document, data)
            what = _senseless(data)
            if rule in wanted:
                what = f"{wanted[rule].folder.name} changes this rule already; change it in one folder"
            if what:
                problems.append(each.problem(rule, "", what))
            else:
                wanted[rule] = each
    return wanted


def _senseless(data: Mapping[str, Any]) -> str:
    if data.keys() == {"reason"}:
        return "nothing is changed; give severity, parameters or switched_off"
    if "switched_off" in data and data.keys() != {"reason", "switched_off"}:
        return "a rule that is switched off has nothing else to change"
    return ""


def own_packs(
    rules: Mapping[str, Rule],
    folders: Sequence[OwnFolder],
    wanted: Mapping[str, Wanted],
    problems: list[PackProblem],
) -> tuple[dict[str, Rule], tuple[OwnPack, ...]]:
    """Change severities, take out what is switched off, and note every change.

    Args:
        rules: every rule by its id, its parameters replaced already.
        folders: the folders of one's own.
        wanted: the changes by the rule's id.
        problems: collects changes of what is not there.

    Returns:
        The rules that are left, and what each folder added and changed, sorted by rule.
    """
    left = dict(rules)
    made: list[tuple[OwnFolder, RuleChange]] = []
    for name in sorted(wanted):
        each, rule = wanted[name], rules.get(name)
        if rule is None:
            problems.append(each.problem(name, "", f"there is no such rule{_nearest(name, rules)}"))
            continue
        made += [(each.folder, change) for change in _replaced(rule, each, problems)]
        now = SWITCHED_OFF if "switched_off" in each.data else each.data.get("severity")
        if now is not None:
            change = RuleChange(name, "severity", rule.severity, now, "", each.data["reason"])
            made.append((each.folder, change))
        if now == SWITCHED_OFF:
            del left[name]
        elif now is not None:
            left[name] = rule._replace(severity=each.data["severity"])
    if rules and not left:
        what = "every rule is switched off, so nothing is left to judge"
        problems.append(PackProblem(folders[0].name, 1, 1, what))
    packs = [
        OwnPack(each.name, each.digest, len(each.files), tuple(change for by, change in made if by is each))
        for each in folders
    ]
    return left, tuple(packs)


def _replaced(rule: Rule, wanted: Wanted, problems: list[PackProblem]) -> list[RuleChange]:
    """The parameters of a rule that are replaced."""
    changes = []
    for key, value in wanted.data.get("parameters", {}).items():
        known = rule.parameters.get(key)
        if known is None:
            has = f"its parameters are {', '.join(rule.parameters)}" if rule.parameters else "it has none"
            what = f"the rule has no such parameter; {has}"
            problems.append(wanted.problem(rule.id, f"parameters.{key}", what))
            continue
        what, reason = f"parameters.{key}", wanted.data["reason"]
        changes.append(RuleChange(rule.id, what, known.stated, float(value), known.unit, reason))
    return changes


def _nearest(name: str, known: Mapping[str, object]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name[:60], sorted(known), n=1)
    return f"; did you mean {near[0]}?" if near else ""
