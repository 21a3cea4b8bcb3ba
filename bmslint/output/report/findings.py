"""The findings of a file: what, where, how much, why it hurts, what would pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from bmslint.judge.template import show
from bmslint.output.report.markup import Markup, code, joined, outside, prose, tag
from bmslint.output.report.signs import sign, tone
from bmslint.output.report.words import amount
from bmslint.output.words import ACCEPTED, CONFIDENCES, NOT_APPLICABLE

if TYPE_CHECKING:
    from bmslint.judge.finding import Accepted, Finding, NotApplicable, Place
    from bmslint.judge.pack import Pack
    from bmslint.output.report.heads import Heads

NOT_GIVEN = "(not given)"


def finding(each: Finding, name: str, heads: Heads, pack: Pack, counted: bool = True) -> Markup:
    """Write one finding.

    Args:
        each: the finding.
        name: id of its article on the page.
        heads: what headings are to be written as.
        pack: the rules, for the sources.
        counted: whether it counts for the verdict.

    Returns:
        An article.
    """
    severity = each.severity.capitalize() + ("" if counted else ", not counted")
    return tag(
        "article",
        tag("p", sign(each.severity), " ", severity, class_="severity"),
        heads.below(each.title, id=f"{name}-head"),
        tag("p", place(each), " ", code(each.path), class_="place fine"),
        tag("p", prose(each.message)),
        _held(each),
        tag("p", tag("span", "Why. ", class_="strong"), prose(each.why)),
        tag("p", tag("span", "What to do. ", class_="strong"), prose(each.remedy)),
        _passes(each),
        _details(each, pack),
        class_=f"finding {tone(each.severity)}",
        id=name,
        aria_labelledby=f"{name}-head",
    )


def place(where: Finding | Place | Accepted | NotApplicable) -> Markup:
    """Write where something stands.

    Args:
        where: what has a place.

    Returns:
        File and line; the column is of no use on paper.
    """
    return joined(outside(where.file), f", line {where.line}")


def _held(each: Finding) -> Markup:
    """Value and limit, where both are numbers."""
    if not isinstance(each.value, float) or not isinstance(each.limit, float):
        return Markup("")
    rows = (("found", each.value), ("limit", each.limit))
    return tag(
        "dl",
        (tag("div", tag("dt", name), tag("dd", amount(value, each.unit))) for name, value in rows),
        class_="held",
    )


def _passes(each: Finding) -> Markup:
    if not each.suggest:
        return Markup("")
    ways = (
        tag("li", code(change.set), ": ", tag("span", show(change.to), class_="strong"))
        for change in each.suggest
    )
    return joined(tag("p", "Tried, judged again with every rule, and passing:"), tag("ul", ways))


def _details(each: Finding, pack: Pack) -> Markup:
    """What stands behind a finding: settings involved, what it rests on, the rule and its sources."""
    rows: list[tuple[str, Markup]] = []
    if each.related:
        involved = [joined(code(other.path), f" (line {other.line})") for other in each.related]
        rows.append(("settings involved", _listed(involved)))
    rests = CONFIDENCES[each.confidence]
    if each.assumed:
        rests += "; the defaults are listed under what the numbers rest on"
    rows.append(("rests on", joined(rests)))
    rows.append(("rule", code(each.rule)))
    rule = pack.rule(each.rule)
    if rule is not None:
        sources = [
            joined(source.title, f", {source.clause}" if source.clause else "", f" ({source.how})")
            for source in rule.sources
        ]
        rows.append(("sources", _listed(sources)))
    return tag(
        "dl",
        (joined(tag("dt", name), tag("dd", told)) for name, told in rows if told),
        class_="pairs fine",
    )


def _listed(parts: Sequence[Markup]) -> Markup:
    return joined(*(joined(part, "; " if i < len(parts) - 1 else "") for i, part in enumerate(parts)))


def taken_on(entries: Sequence[Accepted], name: str, heads: Heads, pack: Pack) -> Iterator[Markup]:
    """Write what a person took on.

    Args:
        entries: those of the file.
        name: beginning of the ids.
        heads: what headings are to be written as.
        pack: the rules.

    Yields:
        A paragraph for each entry, and its findings that do not count.
    """
    for number, entry in enumerate(entries, 1):
        told = ("reason", entry.reason), ("by", entry.by), ("until", _until(entry))
        parts = [joined(f"{key}: ", outside(text or NOT_GIVEN), "; ") for key, text in told]
        yield tag("p", code(entry.rule or NOT_GIVEN), ": ", *parts, f"{ACCEPTED[entry.state]}.")
        for count, each in enumerate(entry.findings, 1):
            yield finding(each, f"{name}-{number}-{count}", heads, pack, counted=False)


def _until(entry: Accepted) -> str:
    if entry.days_left is None:
        return entry.until
    days = abs(entry.days_left)
    told = "1 day" if days == 1 else f"{days} days"
    return f"{entry.until}, {told} {'left' if entry.days_left >= 0 else 'ago'}"


def not_applicable(entries: Sequence[NotApplicable]) -> Iterator[Markup]:
    """Write which rules do not concern the pack, as the file says.

    Args:
        entries: those of the file.

    Yields:
        A paragraph for each.
    """
    for entry in entries:
        lacks = [joined("; lacks ", _listed([code(path) for path in entry.missing]))] if entry.missing else []
        reason = outside(entry.reason or NOT_GIVEN)
        yield tag(
            "p", code(entry.rule or NOT_GIVEN), ": ", reason, f"; {NOT_APPLICABLE[entry.state]}", *lacks, "."
        )
