"""Evaluates every rule of a pack over one file and makes findings of what fails."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from bmslint.judge.entry_names import about_entries
from bmslint.judge.evaluate import Evaluation, Failure, evaluate, run
from bmslint.judge.finding import SEVERITIES, Finding, NotJudged, Outcome, Place, Severity, Value
from bmslint.judge.identity import named_path
from bmslint.judge.inputs import Inputs, Item, World, weakest
from bmslint.judge.paths import Nothing, walk

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.judge.expression import Expression
    from bmslint.judge.pack import Pack
    from bmslint.judge.rule import Rule
    from bmslint.settings.reader import Document

UNFAVOURABLE = "With unfavourable properties: "
UNVERIFIED = " What it is held against is unverified ({}), so a person must look: ask the cell maker."


class Spoken(NamedTuple):
    """A finding with what it was made of."""

    finding: Finding
    rule: Rule
    failure: Failure


class Judgement(NamedTuple):
    """Every rule of a pack over one file, before suggestions are looked for."""

    inputs: Inputs
    spoken: tuple[Spoken, ...]
    not_judged: tuple[NotJudged, ...]
    outcomes: Mapping[str, Outcome]


def derive_inputs(document: Document) -> Inputs:
    """Derive limits and facts of a settings file.

    Args:
        document: a file without problems.

    Returns:
        What rules are judged on.
    """
    from bmslint.facts import derive
    from bmslint.limits import load_limits

    limits = load_limits(document.data)
    return Inputs(document.data, limits, derive(document.data, limits))


def derive_facts(document: Document) -> Facts:
    """Derive every fact of a settings file.

    Args:
        document: a file without problems.

    Returns:
        The facts, each with value, range, unit and basis, or why it could not be derived.
    """
    from bmslint.facts import derive
    from bmslint.limits import load_limits

    return derive(document.data, load_limits(document.data), whole=True)


def judge_rules(document: Document, pack: Pack) -> Judgement:
    """Evaluate every rule about settings; `entries.with_entries` adds those about a file's own entries.

    Args:
        document: a file without problems.
        pack: the rules.

    Returns:
        Findings sorted by severity, place and rule, without suggestions.

    Raises:
        PackError: a rule is at fault.
    """
    rules = [rule for rule in pack.rules if not about_entries(rule.each)]
    return evaluate_rules(rules, derive_inputs(document), document)


def evaluate_rules(rules: Sequence[Rule], inputs: Inputs, document: Document) -> Judgement:
    """Evaluate rules on what was derived.

    Args:
        rules: some of a pack.
        inputs: what they are judged on.
        document: the file, for places.

    Returns:
        Findings sorted by severity, place and rule, without suggestions.

    Raises:
        PackError: a rule is at fault.
    """
    evaluations = {rule.id: (rule, evaluate(rule, inputs)) for rule in rules}
    spoken = [
        Spoken(_finding(rule, failure, inputs, document), rule, failure)
        for rule, evaluation in evaluations.values()
        for failure in evaluation.failures
    ]
    kept = [each for each in spoken if not any(_silences(other, each) for other in spoken)]
    silenced = {each.rule.id for each in spoken} - {each.rule.id for each in kept}
    outcomes = {
        name: _outcome(name, evaluation, silenced, spoken) for name, (_, evaluation) in evaluations.items()
    }
    not_judged = tuple(
        NotJudged(rule.id, rule.title, rule.severity, evaluation.missing)
        for rule, evaluation in sorted(evaluations.values(), key=lambda pair: _rank(pair[0].severity))
        if evaluation.missing
    )
    return Judgement(inputs, tuple(sorted(kept, key=_order)), not_judged, outcomes)


def joined(one: Judgement, other: Judgement) -> Judgement:
    """Join what two sets of rules say of one file.

    Args:
        one: of the first rules.
        other: of the second, on inputs that hold the first's.

    Returns:
        Both, in the order that one set would have.
    """
    return Judgement(
        other.inputs,
        tuple(sorted((*one.spoken, *other.spoken), key=_order)),
        tuple(sorted((*one.not_judged, *other.not_judged), key=lambda each: _rank(each.severity))),
        {**one.outcomes, **other.outcomes},
    )


def _rank(severity: Severity) -> int:
    return SEVERITIES.index(severity)


def _order(each: Spoken) -> tuple[int, str, int, int, str, str]:
    it = each.finding
    return _rank(it.severity), it.file, it.line, it.column, it.rule, it.path


def _silences(one: Spoken, other: Spoken) -> bool:
    """Whether a finding explains another, so that one cause gives one finding."""
    if other.rule.id not in one.rule.covers or _rank(other.finding.severity) < _rank(one.finding.severity):
        return False
    here, there = one.failure.item, other.failure.item
    return here is None or there is None or here.path == there.path


def _outcome(name: str, evaluation: Evaluation, silenced: set[str], spoken: list[Spoken]) -> Outcome:
    if name not in silenced:
        return evaluation.outcome
    by = next(each.rule.id for each in spoken if name in each.rule.covers)
    return Outcome("does not apply", f"{by} speaks of the same cause")


def lowered(severity: Severity) -> Severity:
    """Give the severity of what fails at the unfavourable end only.

    Args:
        severity: the rule's.

    Returns:
        One step less severe.
    """
    return SEVERITIES[min(_rank(severity) + 1, len(SEVERITIES) - 1)]


def _finding(rule: Rule, failure: Failure, inputs: Inputs, document: Document) -> Finding:
    world = inputs.nominal
    if failure.unfavourable_only:
        world = inputs.worst_world(reference.path for reference in rule.require.references)
    item = failure.item
    extra: dict[str, object] = item.variables() if item is not None else {}
    value = _value(rule, "value", rule.value, world, item)
    limit = _value(rule, "limit", rule.limit, world, item)
    extra |= {"value": value, "limit": limit}

    def look_up(path: str) -> object:
        return world.look_up(path, extra)

    path = rule.at.fill(look_up)
    position = document.position(path)
    message = rule.says.fill(look_up)
    if failure.unfavourable_only:
        message = UNFAVOURABLE + message
    severity = lowered(rule.severity) if failure.unfavourable_only else rule.severity
    doubts = dict.fromkeys(title for each in rule.named() for title in inputs.unverified(_placed(each, item)))
    if doubts and rule.severity == "reject":
        severity, message = lowered("reject"), message + UNVERIFIED.format("; ".join(doubts))
    return Finding(
        rule=rule.id,
        title=rule.title,
        severity=severity,
        confidence=weakest(inputs.basis(_placed(each, item)) for each in rule.named()),
        path=path,
        file=position.file,
        line=position.line,
        column=position.column,
        value=value,
        limit=limit,
        unit=rule.unit,
        message=message,
        why=rule.why,
        remedy=rule.remedy,
        related=_related([each.fill(look_up) for each in rule.also_at], path, document),
        unfavourable_only=failure.unfavourable_only,
        assumed=tuple(sorted({name for each in rule.named() for name in inputs.assumed(each)})),
        named_path=named_path(path, document.data),
    )


def _placed(path: str, item: Item | None) -> str:
    return item.path if item is not None and path.split(".")[0].split("[")[0] == "item" else path


def _value(rule: Rule, key: str, expression: Expression | None, world: World, item: Item | None) -> Value:
    if expression is None:
        return None
    result = run(rule, key, expression, world, item)
    return result if isinstance(result, bool | float | str) else None


def _related(paths: list[str], at: str, document: Document) -> tuple[Place, ...]:
    places = []
    for path in dict.fromkeys(paths):
        if path != at and not isinstance(walk(document.data, path), Nothing):
            position = document.position(path)
            places.append(Place(path, position.file, position.line, position.column))
    return tuple(places)
