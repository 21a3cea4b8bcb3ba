"""What a file itself says about findings: those that a person took on, and rules that do not concern it.

The judge decides here which entry counts, and hands what it knows of each to the rules of the pack whose
`each` names `entries`; they say what is wrong with an entry. A rule that a pack switches off or makes
milder can therefore never make an entry count that should not.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.entry_names import about_entries
from bmslint.judge.finding import Accepted, NotApplicable, Outcome
from bmslint.judge.judgement import Judgement, evaluate_rules, joined

if TYPE_CHECKING:
    from datetime import date

    from bmslint.judge.finding import AcceptedState, NotApplicableState
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document

BECAME = {
    "passed": "it was judged and holds",
    "spoke": "it was judged and spoke",
    "does not apply": "it does not apply here by itself",
    "not judged": "another entry says so already",
    "": "it is unknown",
}


class Whole(NamedTuple):
    """Every rule over a file, those about its entries included, and what became of each entry."""

    judgement: Judgement
    accepted: tuple[Accepted, ...]
    not_applicable: tuple[NotApplicable, ...]


class _Entry(NamedTuple):
    """One entry of a list with its place, and whether a rule of its id judged settings."""

    given: Mapping[str, str]
    path: str
    place: tuple[str, int, int]
    known: bool
    lacks: tuple[str, ...]

    @property
    def rule(self) -> str:
        return self.given.get("rule", "")

    def facts(self) -> dict[str, Any]:
        """What rules may know of an entry of any list."""
        return {"path": self.path, "rule": self.rule, "lacks": ", ".join(self.lacks), "known": self.known}


def with_entries(
    judgement: Judgement, document: Document, pack: Pack, today: date, allow_rejects: bool = False
) -> Whole:
    """Let what a file says about findings count, and judge that too.

    Args:
        judgement: of the rules about settings.
        document: the file.
        pack: the rules.
        today: the day that dates are held against.
        allow_rejects: whether a person may take on findings of severity `reject`.

    Returns:
        All findings with those about entries. Rules that the file says do not concern it do not apply.

    Raises:
        PackError: a rule is at fault.
    """
    declared = _not_applicable(judgement, document)
    after = _without(judgement, declared)
    accepted = _accepted(after, document, today, allow_rejects)
    facts = {
        "accepted": [facts for _, facts in accepted],
        "not_applicable": [_declared_facts(entry, judgement, it) for entry, it in declared],
    }
    rules = [rule for rule in pack.rules if about_entries(rule.each)]
    about = evaluate_rules(rules, after.inputs.with_entries(facts), document)
    return Whole(joined(after, about), tuple(it for it, _ in accepted), tuple(it for _, it in declared))


def utc_today() -> date:
    """Give the day in UTC, so that the zone of a computer changes no verdict.

    Returns:
        The day.
    """
    from datetime import UTC, datetime

    return datetime.now(UTC).date()


def _entries(judgement: Judgement, document: Document, name: str, *keys: str) -> list[_Entry]:
    found = []
    for number, given in enumerate(document.data.get(name, ())):
        path = f"{name}[{number}]"
        at = document.position(path)
        lacks = tuple(key for key in keys if key not in given)
        known = given.get("rule", "") in judgement.outcomes
        found.append(_Entry(given, path, (at.file, at.line, at.column), known, lacks))
    return found


def _not_applicable(judgement: Judgement, document: Document) -> list[tuple[_Entry, NotApplicable]]:
    """The first entry of a rule that lacks data holds; one that speaks all the same does apply."""
    missing = {
        each.rule: each.missing
        for each in judgement.not_judged
        if judgement.outcomes[each.rule].state != "spoke"
    }
    found: list[tuple[_Entry, NotApplicable]] = []
    for entry in _entries(judgement, document, "not_applicable", "rule", "reason"):
        state: NotApplicableState
        if entry.lacks:
            state = "incomplete"
        elif not entry.known:
            state = "unknown rule"
        else:
            state = "holds" if entry.rule in missing else "not needed"
        paths = missing.pop(entry.rule) if state == "holds" else ()
        it = NotApplicable(entry.rule, entry.given.get("reason", ""), state, entry.path, *entry.place, paths)
        found.append((entry, it))
    return found


def _declared_facts(entry: _Entry, judgement: Judgement, it: NotApplicable) -> dict[str, Any]:
    outcome = judgement.outcomes.get(entry.rule)
    waits = any(each.rule == entry.rule for each in judgement.not_judged)
    needed = it.state == "holds" or (it.state == "incomplete" and waits)
    return {**entry.facts(), "needed": needed, "became": BECAME[outcome.state if outcome else ""]}


def _without(judgement: Judgement, declared: list[tuple[_Entry, NotApplicable]]) -> Judgement:
    """Take the rules that do not concern the file out of those not judged."""
    reasons = {it.rule: it.reason for _, it in declared if it.state == "holds"}
    if not reasons:
        return judgement
    outcomes = {
        name: Outcome("does not apply", f"the file says so: {reasons[name]}") if name in reasons else outcome
        for name, outcome in judgement.outcomes.items()
    }
    not_judged = tuple(each for each in judgement.not_judged if each.rule not in reasons)
    return judgement._replace(not_judged=not_judged, outcomes=outcomes)


def _accepted(
    judgement: Judgement, document: Document, today: date, allow_rejects: bool
) -> list[tuple[Accepted, dict[str, Any]]]:
    """Each entry as it is told, and as the rules see it; of two that could, the first takes a finding."""
    entries = _entries(judgement, document, "accepted", "rule", "reason", "by", "until")
    days = [_days_left(entry.given.get("until", ""), today) for entry in entries]
    takers: dict[str, str] = {}
    for entry, left in zip(entries, days, strict=True):
        if not entry.lacks and left is not None and left >= 0:
            takers.setdefault(entry.rule, entry.path)
    found = []
    for entry, left in zip(entries, days, strict=True):
        mine = [each.finding for each in judgement.spoken if each.rule.id == entry.rule]
        may = [each for each in mine if allow_rejects or each.severity != "reject"]
        taker = takers.get(entry.rule, "")
        takes = tuple(may) if taker == entry.path else ()
        open_to_it = mine if taker in ("", entry.path) else [each for each in mine if each not in may]
        judged = entry.known and judgement.outcomes[entry.rule].state != "not judged"
        state = _state(entry, left, len(open_to_it), judged, counts=len(open_to_it) > len(takes))
        reason, by, until = (entry.given.get(key, "") for key in ("reason", "by", "until"))
        it = Accepted(entry.rule, reason, by, until, left, state, entry.path, *entry.place, takes)
        facts: dict[str, Any] = {"until": until, "judged": judged, "found": bool(open_to_it)}
        facts |= {"possible": left is not None, "past": left is not None and left < 0}
        if left is not None:
            facts["days_left"] = float(left)
        found.append((it, entry.facts() | facts))
    return found


def _state(entry: _Entry, left: int | None, findings: int, judged: bool, counts: bool) -> AcceptedState:
    if entry.lacks:
        return "incomplete"
    if not entry.known:
        return "unknown rule"
    if left is None:
        return "impossible date"
    if not findings:
        return "no finding" if judged else "not judged"
    if left < 0:
        return "past its date"
    return "reject counts" if counts else "holds"


def _days_left(until: str, today: date) -> int | None:
    """Days to the last one; None where the calendar has no such day or none is given."""
    from datetime import date

    try:
        return (date.fromisoformat(until) - today).days
    except ValueError:
        return None
