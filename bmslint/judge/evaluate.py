"""One rule over one file's inputs."""

from __future__ import annotations

from collections.abc import Iterable
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
        results = [_for_item(rule, inputs, item) for item in _items(rule, inputs)]
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


def _items(rule: Rule, inputs: Inputs) -> Iterable[Item | None]:
    if not rule.each:
        return [None]
    roots = {**inputs.data, "limits": inputs.limits.data}
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


def _for_item(rule: Rule, inputs: Inputs, item: Item | None) -> _Result:
    applies, lacking = rule.applies, list[str]()
    if applies is not None:
        reason, lacking = _ready(applies.references, inputs, item)
        if reason is None and not lacking and not _applies_anywhere(rule, applies, inputs, item):
            reason = f"it applies only where {applies.text.strip()}"
        if reason is not None:
            return _Result("does not apply", reason=reason)
    needs = [Reference(path, optional=False, iterated=False) for path in rule.needs]
    for expression in rule.expressions():
        needs += expression.references
    reason, more = _ready(needs, inputs, item)
    if reason is not None:
        return _Result("does not apply", reason=reason)
    if lacking or more:
        return _Result("not judged", missing=tuple(dict.fromkeys([*lacking, *more])))
    return _judged(rule, inputs, item)


def _judged(rule: Rule, inputs: Inputs, item: Item | None) -> _Result:
    nominal = _holds(rule, inputs.nominal, item)
    if isinstance(nominal, engine.MissingKey):
        return _Result("not judged", missing=(_missing_path(rule, nominal.key, inputs, item),))
    if nominal is False:
        return _Result("spoke", failure=Failure(item, unfavourable_only=False))
    if rule.severity != "note" and _ranged(rule, inputs):
        unfavourable = _holds(rule, inputs.unfavourable, item)
        if unfavourable is False:
            return _Result("spoke", failure=Failure(item, unfavourable_only=True))
    if nominal is None:
        return _Result("does not apply", reason="it does not apply at nominal properties")
    return _Result("passed")


def _ranged(rule: Rule, inputs: Inputs) -> bool:
    applies = rule.applies.references if rule.applies is not None else ()
    return any(inputs.has_range(path) for path in (*rule.named(), *(ref.path for ref in applies)))


def _applies_anywhere(rule: Rule, applies: Expression, inputs: Inputs, item: Item | None) -> bool:
    if run(rule, "applies", applies, inputs.nominal, item) is not False:
        return True
    ranged = any(inputs.has_range(reference.path) for reference in applies.references)
    return ranged and run(rule, "applies", applies, inputs.unfavourable, item) is True


def _holds(rule: Rule, world: World, item: Item | None) -> bool | engine.MissingKey | None:
    """Whether the rule's condition holds; None where the rule does not apply."""
    if rule.applies is not None:
        applies = _truth(rule, "applies", rule.applies, world, item)
        if applies is not True:
            return None if applies is False else applies
    return _truth(rule, "require", rule.require, world, item)


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


def _missing_path(rule: Rule, key: str, inputs: Inputs, item: Item | None) -> str:
    """Name the setting that a macro or a computed index did not find."""
    references = [ref for expression in rule.expressions() for ref in expression.references]
    for reference in references:
        found = inputs.resolve(reference.path, item)
        each = (
            enumerate(found) if isinstance(found, list) else found.items() if isinstance(found, dict) else ()
        )
        for name, value in each:
            if reference.iterated and isinstance(value, dict) and key not in value:
                return joined(joined(reference.path, name), key)
    return joined(references[0].path, key) if references else key
