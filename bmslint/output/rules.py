"""The rules of a pack for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.template import show, visible
from bmslint.output.own import own_told

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.judge.parameters import Parameter
    from bmslint.judge.rule import Rule


def rule_list(pack: Pack) -> str:
    """List a pack.

    Args:
        pack: the rules.

    Returns:
        A heading for each family and a line for each rule: id, severity, title.
    """
    width = max(len(rule.id) for rule in pack.rules)
    lines = []
    for family in sorted({rule.family for rule in pack.rules}):
        lines.append(visible(family))
        lines += [
            f"  {rule.id:<{width}}  {rule.severity:<6}  {visible(rule.title)}"
            for rule in pack.rules
            if rule.family == family
        ]
    changed = [f"{head}{visible(text)}" for head, text in own_told(pack.own)]
    return "\n".join([*lines, f"{len(pack.rules)} rules", *changed, ""])


def rule_text(rule: Rule) -> str:
    """Show one rule.

    Args:
        rule: the rule.

    Returns:
        A paragraph for each part of the rule.
    """
    parts = {
        "Severity": rule.severity,
        "Family": rule.family,
        "For each": ", ".join(rule.each),
        "Applies where": rule.applies.text.strip() if rule.applies is not None else "",
        "Requires": rule.require.text.strip(),
        "Why": rule.why,
        "To do": rule.remedy,
        "Does not apply to": rule.does_not_apply_to,
        "Known false alarms": rule.known_false_alarms,
        "Also silences": ", ".join(rule.covers),
    }
    sources = [
        f"Source ({each.how}): {each.title}{', ' if each.clause else ''}{each.clause}"
        for each in rule.sources
    ]
    shown = [f"{name}: {' '.join(text.split())}" for name, text in parts.items() if text]
    lines = [f"{rule.id}: {rule.title}", "", *shown, *map(_parameter, rule.parameters.items()), *sources]
    return "\n".join([*map(visible, lines), ""])


def _parameter(named: tuple[str, Parameter]) -> str:
    name, (value, unit, means, stated) = named
    was = f", {show(stated)} in the rule file" if value != stated else ""
    number = f"{show(value)} {unit}".strip()
    return f"Parameter {name} ({number}{was}): {' '.join(means.split())}"
