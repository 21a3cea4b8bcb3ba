"""What a rule held against what in one file, whether it spoke or not."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bmslint.judge.evaluate import judged_items, run

if TYPE_CHECKING:
    from bmslint.judge.expression import Expression
    from bmslint.judge.finding import Value
    from bmslint.judge.inputs import Inputs, Item, World
    from bmslint.judge.rule import Rule


class Compared(NamedTuple):
    """A value and its limit, in the rule's unit; None where the rule states none.

    `path` is the setting that the rule was evaluated for, empty for the file as a whole; the second pair is
    at the unfavourable end of the facts' ranges, equal to the first where nothing has a range.
    """

    path: str
    value: Value
    limit: Value
    unfavourable_value: Value
    unfavourable_limit: Value


def compared(rule: Rule, inputs: Inputs) -> tuple[Compared, ...]:
    """Evaluate value and limit of a rule wherever it was judged.

    Args:
        rule: the rule.
        inputs: what it was judged on.

    Returns:
        An entry for each setting that the rule was judged for, in file order; none for a rule that states
        no value.

    Raises:
        PackError: the rule is at fault.
    """
    if rule.value is None:
        return ()
    worlds = inputs.nominal, inputs.worst_world(reference.path for reference in rule.require.references)
    found = []
    for item in judged_items(rule, inputs):
        pairs = [
            (_plain(rule, "value", rule.value, world, item), _plain(rule, "limit", rule.limit, world, item))
            for world in worlds
        ]
        found.append(Compared(item.path if item is not None else "", *pairs[0], *pairs[1]))
    return tuple(found)


def _plain(rule: Rule, key: str, expression: Expression | None, world: World, item: Item | None) -> Value:
    """Evaluate to a plain value; None where there is none, as where an item lacks what others have."""
    result = None if expression is None else run(rule, key, expression, world, item)
    return result if isinstance(result, bool | float | str) else None
