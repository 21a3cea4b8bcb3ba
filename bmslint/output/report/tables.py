"""The tables of the page: every setting, every derived quantity, what was not judged, what all rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from bmslint.facts.names import FACT_NAMES
from bmslint.facts.quantity import Missing, Quantity
from bmslint.judge.template import show
from bmslint.output.lacks import by_path
from bmslint.output.report.looked import rules_looking
from bmslint.output.report.markup import Markup, code, joined, prose, tag
from bmslint.output.report.words import quantity, span

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.judge.finding import NotJudged, Outcome
    from bmslint.judge.pack import Pack
    from bmslint.output.report.subject import Setting


STATES = {"spoke": "spoke", "passed": "hold", "does not apply": "do not apply", "not judged": "not judged"}
"""What became of rules, in the order in which a row tells it."""


def settings_table(
    settings: Sequence[Setting], pack: Pack, outcomes: Mapping[str, Outcome], anchors: Mapping[str, str]
) -> Markup:
    """Write every setting with its place and the rules that looked at it.

    Args:
        settings: in the order of the file.
        pack: the rules.
        outcomes: what became of each rule.
        anchors: by rule that spoke, the id of its finding on the page.

    Returns:
        A table, a group of rows for each section of the file.
    """
    looking = rules_looking([each.place.path for each in settings], pack)
    several = len({each.place.file for each in settings}) > 1
    groups = []
    for section, members in groupby(settings, key=lambda each: each.place.path.split(".")[0].split("[")[0]):
        rows: list[Markup] = []
        above: Sequence[str] = ()
        for each in members:
            rules = [rule for rule in looking[each.place.path] if rule in outcomes]
            rows.append(_setting(each, rules, above, outcomes, anchors, several))
            above = rules
        groups.append(tag("tbody", _group(section, 3), rows))
    return _table(
        "A rule that goes by a derived quantity looks at every setting that this is computed from; listed "
        "are the rules that name the setting itself.",
        ("Setting", "Value", "Rules that looked at it"),
        groups,
    )


def _setting(
    each: Setting, rules: Sequence[str], above: Sequence[str], outcomes: Mapping[str, Outcome],
    anchors: Mapping[str, str], several: bool,
) -> Markup:  # fmt: skip
    where = f"{each.place.file}, line {each.place.line}" if several else f"line {each.place.line}"
    looked: Markup | str = "none by name"
    if rules:
        looked = "the same as in the row above" if rules == above else _looked(rules, outcomes, anchors)
    return _row(
        joined(code(each.place.path), " ", tag("span", where, class_="line")),
        ("Value", tag("span", show(each.value), class_="strong")),
        ("Rules", looked if isinstance(looked, Markup) else tag("span", looked, class_="quiet")),
    )


def _looked(rules: Sequence[str], outcomes: Mapping[str, Outcome], anchors: Mapping[str, str]) -> Markup:
    """The rules by what became of them; those whose finding is on the page lead to it."""
    parts = []
    for state, told in STATES.items():
        ids = [rule for rule in rules if outcomes[rule].state == state]
        if ids:
            linked = [tag("a", rule, href=f"#{anchors[rule]}") if rule in anchors else rule for rule in ids]
            parts.append(tag("p", tag("span", f"{told}: ", class_="strong"), _listed(linked)))
    return joined(parts)


def _listed(parts: Sequence[Markup | str]) -> Markup:
    return joined(*(joined(part, ", " if i < len(parts) - 1 else "") for i, part in enumerate(parts)))


def facts_table(facts: Facts) -> Markup:
    """Write every derived quantity with range and basis.

    Args:
        facts: what was derived.

    Returns:
        A table, a group of rows for each group of facts.
    """
    groups = [
        tag("tbody", _group(group.replace("_", " "), 4), (_fact(group, *entry) for entry in entries.items()))
        for group, entries in facts.groups.items()
    ]
    return _table(
        "The range is over the properties' own ranges. The basis is the weakest that a value rests on.",
        ("Quantity", "Value", "Range", "Basis"),
        groups,
    )


def _fact(group: str, name: str, each: Quantity | Missing) -> Markup:
    named = joined(prose(FACT_NAMES[group][name][1]), " ", code(name))
    if isinstance(each, Missing):
        lacking = [path for path in each.paths if path not in each.reason]
        add = f"; add {', '.join(lacking)}" if lacking else ""
        told = joined("not derived: ", prose(each.reason), add)
        return _row(named, ("Value", told), ("Range", Markup("")), ("Basis", Markup("")))
    return _row(
        named,
        ("Value", tag("span", quantity(each), class_="strong")),
        ("Range", joined(span(each))),
        ("Basis", joined(each.basis)),
    )


def not_judged(rules: Sequence[NotJudged]) -> Iterator[Markup]:
    """Write what was not judged, by the setting to add.

    Args:
        rules: those that lack data.

    Yields:
        A list.
    """
    if not rules:
        return
    items = []
    for lack in by_path(rules):
        parts = [
            joined(
                tag("br"), f"{head}: ", *(joined(code(rule.rule), f" ({rule.severity}) ") for rule in group)
            )
            for head, group in (("lets be judged", lack.alone), ("with others", lack.among_others))
            if group
        ]
        items.append(tag("li", tag("span", code(lack.path), class_="strong"), parts))
    yield tag(
        "p", "What is not judged is not passed. Adding these settings lets the rules beside them be judged:"
    )
    yield tag("ul", items, class_="fine")


def _table(caption: str, heads: Sequence[str], groups: Sequence[Markup]) -> Markup:
    """A table that a phone shows row by row."""
    return tag(
        "table",
        tag("caption", caption),
        tag("thead", tag("tr", (tag("th", head, scope="col") for head in heads))),
        groups,
        class_=f"stack columns-{len(heads)}",
    )


def _group(name: str, columns: int) -> Markup:
    return tag("tr", tag("th", name, scope="rowgroup", colspan=columns), class_="group")


def _row(head: Markup, *cells: tuple[str, Markup]) -> Markup:
    return tag(
        "tr",
        tag("th", head, scope="row"),
        (tag("td", told, data_name=name if told else None) for name, told in cells),
    )
