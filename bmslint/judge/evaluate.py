"""One rule over one file's inputs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Literal, NamedTuple

from bmslint.judge import engine
from bmslint.judge.faults import PackError, PackProblem, RuleError
from bmslint.judge.finding import Outcome
from bmslint.judge.inputs import Inapplicable, Inputs, Item, Lacking, World
from bmslint.judge.needed import lacks, not_found
from bmslint.judge.paths import fixed_part

if TYPE_CHECKING:
    from bmslint.judge.expression import Expression, Reference
    from bmslint.judge.rule import Rule

State = Literal["passed", "spoke", "does not apply", "not judged"]
ORDER: tuple[State, ...] = ("spoke", "not judged", "passed", "does not apply")
"""What became of a rule is the first of these that became of one of its items."""


class Failure(NamedTuple):
    """A rule fails for one item, or for the file if it has none, at one end of the facts' ranges."""

    item: Item | None
    unfavourable_only: bool


class Evaluation(NamedTuple):
    """What a rule gives over a file: failures, settings that it misses, what became of it."""

    failures: tuple[Failure, ...]
    missing: tuple[str, ...]
    outcome: Outcome


PASSED = Evaluation((), (), Outcome("passed"))


def _not_judged(missing: Iterable[str]) -> Evaluation:
    return Evaluation((), tuple(dict.fromkeys(missing)), Outcome("not judged"))


def _does_not_apply(reason: str) -> Evaluation:
    return Evaluation((), (), Outcome("does not apply", reason))


def evaluate(rule: Rule, inputs: Inputs) -> Evaluation:
    """Evaluate a rule for each of its items, or once for the file if it has no `each`.

    Args:
        rule: the rule.
        inputs: settings, limits and facts.

    Returns:
        Failures in file order. A rule that speaks for one item and lacks data for another has both.

    Raises:
        PackError: the rule itself is at fault.
    """
    try:
        worlds = _worlds(rule, inputs)
        results = [_for_item(rule, inputs, item, worlds) for item in _items(rule, inputs)]
        return _joined(results) if results else _without_items(rule, inputs)
    except RuleError as error:
        raise PackError([_problem(rule, "require", error.what)]) from None


def _joined(results: Sequence[Evaluation]) -> Evaluation:
    """Put together what a rule gives for its items."""
    if len(results) == 1:
        return results[0]
    states = {each.outcome.state for each in results}
    state = next(each for each in ORDER if each in states)
    reason = results[0].outcome.reason if state == "does not apply" else ""
    return Evaluation(
        tuple(failure for each in results for failure in each.failures),
        tuple(dict.fromkeys(path for each in results for path in each.missing)),
        Outcome(state, reason),
    )


def judged_items(rule: Rule, inputs: Inputs) -> list[Item | None]:
    """Find what a rule was judged for.

    Args:
        rule: the rule.
        inputs: settings, limits and facts.

    Returns:
        In file order every match of its `each` that it applies to and lacks nothing for; one None for a
        rule about the file as a whole.

    Raises:
        PackError: the rule itself is at fault.
    """
    worlds = _worlds(rule, inputs)
    return [
        item
        for item in _items(rule, inputs)
        if _for_item(rule, inputs, item, worlds).outcome.state in ("passed", "spoke")
    ]


def _items(rule: Rule, inputs: Inputs) -> Iterable[Item | None]:
    if not rule.each:
        return (None,)
    return [item for pattern in rule.each for item in inputs.items(pattern)]


def _without_items(rule: Rule, inputs: Inputs) -> Evaluation:
    """Tell an empty collection from one that the file does not describe."""
    missing: list[str] = []
    for pattern in rule.each:
        found = inputs.resolve(fixed_part(pattern), None)
        if not isinstance(found, Lacking):
            return _does_not_apply(
                found.reason if isinstance(found, Inapplicable) else f"there is no {pattern}"
            )
        missing += found.paths
    return _not_judged(missing)


def _for_item(rule: Rule, inputs: Inputs, item: Item | None, worlds: Sequence[World]) -> Evaluation:
    """Judge one item: at nominal properties, and in a second world at the unfavourable end."""
    lacking: Sequence[str] = ()
    applies: Sequence[object] = (True,) * len(worlds)
    if rule.applies is not None:
        reason, lacking = lacks(rule.applies.references, inputs, item)
        if reason is not None:
            return _does_not_apply(reason)
        if not lacking:
            applies = _truths(rule, "applies", rule.applies, worlds, item)
            lacking = not_found(rule.applies.references, applies, inputs, item)
        if True not in applies and not lacking:
            return _does_not_apply(f"it applies only where {rule.applies.text.strip()}")
    reason, more = lacks(rule.references, inputs, item)
    if reason is not None:
        return _does_not_apply(reason)
    if lacking or more:
        return _not_judged((*lacking, *more))
    holds = _truths(rule, "require", rule.require, worlds, item, applies)
    missing = not_found(rule.references, holds, inputs, item)
    return _not_judged(missing) if missing else _result(holds, item)


def _result(holds: Sequence[object], item: Item | None) -> Evaluation:
    """Say what follows from the condition in each world; None where the rule does not apply."""
    if False in holds:
        failure = Failure(item, unfavourable_only=holds[0] is not False)
        return Evaluation((failure,), (), Outcome("spoke"))
    if holds[0] is None:
        return _does_not_apply("it does not apply at nominal properties")
    return PASSED


@cache
def _facts(*named: tuple[Reference, ...]) -> tuple[str, ...]:
    """The facts among the paths that expressions read."""
    return tuple(dict.fromkeys(each.path for part in named for each in part if each.path[:6] == "facts."))


def _worlds(rule: Rule, inputs: Inputs) -> tuple[World, ...]:
    """Nominal properties, and the unfavourable end if the rule names a fact with a range.

    A note would be one step less severe than a note, so it is not tried.
    """
    if rule.severity != "note":
        facts = _facts(rule.references, rule.applies.references if rule.applies is not None else ())
        if not inputs.ranged.isdisjoint(facts):
            return inputs.nominal, inputs.unfavourable
    return (inputs.nominal,)


def _truths(
    rule: Rule,
    key: str,
    expression: Expression,
    worlds: Sequence[World],
    item: Item | None,
    where: Sequence[object] = (True, True),
) -> list[object]:
    """Evaluate a condition in each world where the rule applies; None where it does not.

    Worlds differ in facts only, so that what names none is asked once.
    """
    found: list[object] = []
    for world, here in zip(worlds, where, strict=False):
        if here is not True:
            found.append(None)
        elif found and found[0] is not None and "facts" not in expression.text:
            found.append(found[0])
        else:
            found.append(_truth(rule, key, expression, world, item))
    return found


def _truth(
    rule: Rule, key: str, expression: Expression, world: World, item: Item | None
) -> bool | engine.MissingKey:
    result = run(rule, key, expression, world, item)
    if result is True or result is False or isinstance(result, engine.MissingKey):
        return result
    raise PackError([_problem(rule, key, f"gives {result!r}, not true or false")])


def run(
    rule: Rule, key: str, expression: Expression, world: World, item: Item | None
) -> engine.Result | engine.MissingKey:
    """Evaluate one expression of a rule.

    Args:
        rule: the rule.
        key: where the expression stands in the rule file.
        expression: the expression.
        world: the variables.
        item: the match that the rule is evaluated for.

    Returns:
        What the engine gives.

    Raises:
        PackError: the expression is at fault.
    """
    try:
        return engine.evaluate(expression.text, world.values(item))
    except RuleError as fault:
        raise PackError([_problem(rule, key, fault.what)]) from None


def _problem(rule: Rule, key: str, what: str) -> PackProblem:
    line, column = rule.place(key)
    return PackProblem(rule.file, line, column, f"rule {rule.id}, {key}: {what}")
