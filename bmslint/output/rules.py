"""The rules of a pack for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.template import show, visible
from bmslint.output.own import own_told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bmslint.judge.pack import Pack
    from bmslint.judge.parameters import Parameter
    from bmslint.judge.retired import Retired
    from bmslint.judge.rule import Rule
    from bmslint.judge.template import Template


def rule_list(pack: Pack, retired: Sequence[Retired]) -> str:
    """List a pack.

    Args:
        pack: the rules.
        retired: the rules that are no longer run.

    Returns:
        A heading for each family and a line for each rule: id, severity, title.
    """
    width = max(len(name) for name in [*(rule.id for rule in pack.rules), *(rule.id for rule in retired)])
    lines = []
    for family in sorted({rule.family for rule in pack.rules}):
        lines.append(visible(family))
        lines += [
            f"  {rule.id:<{width}}  {rule.severity:<6}  {visible(rule.title)}"
            for rule in pack.rules
            if rule.family == family
        ]
    if retired:
        lines.append("no longer run")
        lines += [f"  {rule.id:<{width}}  {rule.severity:<6}  {visible(rule.title)}" for rule in retired]
    changed = [f"{head}{visible(text)}" for head, text in own_told(pack.own)]
    return "\n".join([*lines, f"{len(pack.rules)} rules", *changed, ""])


def rule_text(rule: Rule) -> str:
    """Show one rule.

    Args:
        rule: the rule.

    Returns:
        A paragraph for each part of the rule.
    """
    shown = [f"{name}: {text}" for name, text in rule_parts(rule)]
    return "\n".join([*map(visible, [f"{rule.id}: {rule.title}", "", *shown]), ""])


def rule_parts(rule: Rule) -> list[tuple[str, str]]:
    """Give the parts of a rule that it has.

    Args:
        rule: the rule.

    Returns:
        Name and text of each, the text without line breaks of its own.
    """
    parts = {
        "Severity": rule.severity,
        "Family": rule.family,
        "For each": ", ".join(rule.each),
        "Applies where": rule.applies.text.strip() if rule.applies is not None else "",
        "Requires": rule.require.text.strip(),
        "Speaks of": ", ".join(map(_template, (rule.at, *rule.also_at))),
        "Says": _template(rule.says),
        "Why": rule.why,
        "To do": rule.remedy,
        "Does not apply to": rule.does_not_apply_to,
        "Known false alarms": rule.known_false_alarms,
        "Tries": ", ".join(f"{_template(way.set)} = {way.to.text}" for way in rule.suggest),
        "Also silences": ", ".join(rule.covers),
    }
    sources = [
        (f"Source ({each.how})", f"{each.title}{', ' if each.clause else ''}{each.clause}")
        for each in rule.sources
    ]
    shown = [
        *((name, text) for name, text in parts.items() if text),
        *map(_parameter, rule.parameters.items()),
    ]
    return [(name, " ".join(text.split())) for name, text in (*shown, *sources)]


def retired_text(rule: Retired) -> str:
    """Show a rule that is no longer run.

    Args:
        rule: the rule.

    Returns:
        A paragraph for what it said, why it is gone and what speaks of the same now.
    """
    shown = [f"{name}: {text}" for name, text in retired_parts(rule)]
    return "\n".join([*map(visible, [f"{rule.id}: {rule.title}", "", *shown]), ""])


def retired_parts(rule: Retired) -> list[tuple[str, str]]:
    """Give the parts of a rule that is no longer run.

    Args:
        rule: the rule.

    Returns:
        Name and text of each, the text without line breaks of its own.
    """
    parts = {
        "Severity": rule.severity,
        "Why": rule.why,
        "No longer run since": rule.retired_in,
        "Because": rule.retired_because,
        "Instead": ", ".join(rule.instead),
    }
    return [(name, " ".join(text.split())) for name, text in parts.items() if text]


def _template(template: Template) -> str:
    """Show a template with the paths of its fields in braces, without their number format."""
    fields = [f"{{{path}}}" for path, _ in template.fields]
    return "".join(text + field for text, field in zip(template.texts, [*fields, ""], strict=True))


def _parameter(named: tuple[str, Parameter]) -> tuple[str, str]:
    name, (value, unit, means, stated) = named
    was = f", {show(stated)} in the rule file" if value != stated else ""
    number = f"{show(value)} {unit}".strip()
    return f"Parameter {name} ({number}{was})", means
