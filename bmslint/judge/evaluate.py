"""One rule over one file's inputs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from bmslint.judge import engine
from bmslint.judge.expression import Expression, Reference
from bmslint.judge.faults import PackError, PackProblem, RuleError
from bmslint.judge.finding import Outcome
from bmslint.judge.inputs import Inapplicable, Inputs, Item, Lacking, World
from bmslint.judge.paths import fixed_part, joined, matches
from bmslint.judge.rule import Rule

State = Literal["passed", "spoke", "does not apply", "not judged"]


class Failure(NamedTuple):
    """A rule fails for one item, or for the file if it has none, at one end of the facts' ranges."""

    item: Item | None
    unfavourable_only: bool


class Evaluation(NamedTuple):
    """What a rule gives over a file: failures, settings that it misses, what became of it."""

    failures: tuple[Failure, ...]
    missing: tuple[str, ...]
    outcome: Outcome


class _Result(NamedTuple):
    state: State
    failure: Failure | None = None
    missing: tuple[str, ...] = ()
    reason: str = ""


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
        results = [_for_item(rule, inputs, item, worlds) for item in items(rule, inputs)]
        if not results:
            results = [_without_items(rule, inputs)]
    except RuleError as error:
        raise PackError([_problem(rule, "require", error.what)]) from None
    failures = tuple(each.failure for each in results if each.failure is not None)
    missing = tuple(dict.fromkeys(path for each in results for path in each.missing))
    states = {each.state for each in results}
    order: tuple[State, ...] = ("spoke", "not judged", "passed", "does not apply")
    state = next(each for each in order if each in states)
    reason = next((each.reason for each in results if each.reason), "")
    return Evaluation(failures, missing, Outcome(state, reason if state == "does not apply" else ""))


def items(rule: Rule, inputs: Inputs) -> Iterable[Item | None]:
    """Find what a rule is evaluated for.

    Args:
        rule: the rule.
        inputs: settings, limits and facts.

    Returns:
        Every match of its `each` in file order; one None for a rule about the file as a whole.
    """
    if not rule.each:
        return [None]
    roots = {**inputs.data, "limits": inputs.limits.data, "entries": inputs.entries}
    return [Item(value, key, path) for pattern in rule.each for path, key, value in matches(roots, pattern)]


def _without_items(rule: Rule, inputs: Inputs) -> _Result:
    """Tell an empty collection from one that the file does not describe."""
    missing: list[str] = []
    for pattern in rule.each:
        found = inputs.resolve(fixed_part(pattern), None)
        if not isinstance(found, Lacking):
            reason = found.reason if isinstance(found, Inapplicable) else f"there is no {pattern}"
            return _Result("does not apply", reason=reason)
        missing += found.paths
    return _Result("not judged", missing=tuple(dict.fromkeys(missing)))


def _for_item(rule: Rule, inputs: Inputs, item: Item | None, worlds: Sequence[World]) -> _Result:
    """Judge one item: at nominal properties, and in a second world at the unfavourable end."""
    lacking: list[str] = []
    applies: Sequence[bool] = [True] * len(worlds)
    if rule.applies is not None:
        reason, lacking = _ready(rule.applies.references, inputs, item)
        if reason is None and not lacking:
            truths = [_truth(rule, "applies", rule.applies, world, item) for world in worlds]
            lacking = _missing_paths(rule.applies.references, truths, inputs, item)
            applies = [truth is True for truth in truths]
        if reason is None and not any(applies):
            reason = f"it applies only where {rule.applies.text.strip()}"
        if reason is not None and not lacking:
            return _Result("does not apply", reason=reason)
    reason, more = _ready(rule.references, inputs, item)
    if reason is not None:
        return _Result("does not apply", reason=reason)
    if not lacking and not more:
        holds = [
            _truth(rule, "require", rule.require, world, item) if here else None
            for world, here in zip(worlds, applies, strict=True)
        ]
        lacking = _missing_paths(rule.references, holds, inputs, item)
        if not lacking:
            return _result(holds, item)
    return _Result("not judged", missing=tuple(dict.fromkeys([*lacking, *more])))


def _result(holds: Sequence[object], item: Item | None) -> _Result:
    """Say what follows from the condition in each world; None where the rule does not apply."""
    if holds[0] is False:
        return _Result("spoke", failure=Failure(item, unfavourable_only=False))
    if False in holds:
        return _Result("spoke", failure=Failure(item, unfavourable_only=True))
    if holds[0] is None:
        return _Result("does not apply", reason="it does not apply at nominal properties")
    return _Result("passed")


def _worlds(rule: Rule, inputs: Inputs) -> tuple[World, ...]:
    """Nominal properties, and the unfavourable end if the rule names a fact with a range.

    A note would be one step less severe than a note, so it is not tried.
    """
    references = rule.references + (rule.applies.references if rule.applies is not None else ())
    if rule.severity == "note" or not any(inputs.has_range(each.path) for each in references):
        return (inputs.nominal,)
    return inputs.nominal, inputs.unfavourable


def _truth(
    rule: Rule, key: str, expression: Expression, world: World, item: Item | None
) -> bool | engine.MissingKey:
    result = run(rule, key, expression, world, item)
    if isinstance(result, bool | engine.MissingKey):
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


def _ready(
    references: Iterable[Reference], inputs: Inputs, item: Item | None
) -> tuple[str | None, list[str]]:
    """Look for what the references lack: why the rule does not apply, or the missing settings.

    The engine would call `missing || true` true and `[].all(...)` true; so paths and empty collections
    are looked at before it is asked.
    """
    optional = {each.path for each in references if each.optional}
    missing: list[str] = []
    for each in references:
        path = each.path.rpartition(".")[0] if each.optional else each.path
        if path in optional or path in ("", "facts", "limits"):
            continue
        found = inputs.resolve(path, item)
        if isinstance(found, Inapplicable):
            return found.reason, []
        if isinstance(found, Lacking):
            missing += found.paths
        elif each.optional and found == "none":
            return f"{path} is none", []
        elif each.iterated and isinstance(found, list | dict) and not found:
            return f"{path} is empty", []
    return None, missing


def _missing_paths(
    references: Sequence[Reference], results: Iterable[object], inputs: Inputs, item: Item | None
) -> list[str]:
    """Name the settings that a macro or a computed index did not find."""
    keys = [each.key for each in results if isinstance(each, engine.MissingKey)]
    return list(dict.fromkeys(_missing_path(references, key, inputs, item) for key in keys))


def _missing_path(references: Sequence[Reference], key: str, inputs: Inputs, item: Item | None) -> str:
    for reference in references:
        found = inputs.resolve(reference.path, item)
        each = (
            enumerate(found) if isinstance(found, list) else found.items() if isinstance(found, dict) else ()
        )
        for name, value in each:
            if reference.iterated and isinstance(value, dict) and key not in value:
                return joined(joined(reference.path, name), key)
    return joined(references[0].path, key) if references else key
