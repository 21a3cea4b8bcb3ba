"""The rules of a pack for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
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
        lines.append(family)
        lines += [
            f"  {rule.id:<{width}}  {rule.severity:<6}  {rule.title}"
            for rule in pack.rules
            if rule.family == family
        ]
    return "\n".join([*lines, f"{len(pack.rules)} rules", ""])


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
    return "\n".join([f"{rule.id}: {rule.title}", "", *shown, *sources, ""])
