"""The findings of a file: what, where, how much, what then happens, what it does, what would pass."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from bmslint.output.report.markup import Markup, code, joined, outside, prose, tag
from bmslint.output.report.signs import sign, tone
from bmslint.output.words import ACCEPTED, NOT_APPLICABLE

if TYPE_CHECKING:
    from bmslint.judge.finding import Accepted, Finding, NotApplicable, Place
    from bmslint.output.report.heads import Heads
    from bmslint.output.story.form import Entry, Section, Story, Table

NOT_GIVEN = "(not given)"
OPEN, FOLDED = ("happens", "harm", "change", "remedy"), ("settings", "sure")
"""Sections of a story that are read at once, and those that a reader opens."""


class Told:
    """What was told already on the page, so that it is not told twice.

    Args:
        defaults: id of the part of the page that lists default properties.
    """

    def __init__(self, defaults: str) -> None:
        self.defaults = defaults
        self._known: dict[object, str] = {}

    def before(self, section: Section, name: str) -> str | None:
        """Note a section of a finding.

        Args:
            section: the section.
            name: id of the finding.

        Returns:
            Id of the finding under which the same was told; None if it is new.
        """
        known = self._known.setdefault((section.name, section.paragraphs, section.table), name)
        return None if known == name else known


def finding(story: Story, name: str, heads: Heads, told: Told, counted: bool = True) -> Markup:
    """Write one finding.

    Args:
        story: the finding's.
        name: id of its article on the page.
        heads: what the headings of the part are written as.
        told: what was told already.
        counted: whether it counts for the verdict.

    Returns:
        An article.
    """
    severity = (
        f"{story.severity.capitalize()}: {story.says}"
        if counted
        else f"{story.severity.capitalize()}, not counted"
    )
    below = heads.deeper().deeper()
    known = {section.name: section for section in story.sections}
    shown = [_section(known[each], name, below, told) for each in OPEN if each in known]
    folded = [_section(known[each], name, below, told) for each in FOLDED if each in known]
    where = joined(place(story.place), " ", code(story.place.path)) if story.place else joined()
    return tag(
        "article",
        tag("p", sign(story.severity), " ", severity, class_="severity"),
        heads.below(story.title, id=f"{name}-head"),
        tag("p", where, class_="place fine"),
        tag("p", prose(story.lead), class_="lead"),
        _limit(known.get("limit")),
        shown,
        tag(
            "details",
            tag("summary", "The settings involved, and how sure this is"),
            folded,
            tag("p", "Rule ", code(story.rule), "."),
        ),
        class_=f"finding {tone(story.severity)}",
        id=name,
        aria_labelledby=f"{name}-head",
    )


def place(where: Place | Accepted | NotApplicable) -> Markup:
    """Write where something stands.

    Args:
        where: what has a place.

    Returns:
        File and line; the column is of no use on paper.
    """
    return joined(outside(where.file), f", line {where.line}")


def _limit(section: Section | None) -> Markup:
    """The values that were held against each other."""
    if section is None:
        return joined()
    return joined(
        tag("dl", map(_pair, section.entries), class_="held") if section.entries else "",
        (tag("p", prose(each), class_="quiet fine") for each in section.paragraphs),
    )


def _pair(entry: Entry) -> Markup:
    return tag("div", tag("dt", prose(entry.label)), tag("dd", prose(entry.value)))


def _section(section: Section, name: str, heads: Heads, told: Told) -> Markup:
    parts: list[Markup] = [heads.head(section.heading)]
    before = told.before(section, name) if section.name == "happens" else None
    if before is not None:
        same = tag("a", "the finding above", href=f"#{before}")
        return joined(*parts, tag("p", "The same as told under ", same, "."))
    parts += [tag("p", prose(each)) for each in section.paragraphs]
    if section.table is not None:
        parts.append(_table(section.table))
    if section.name == "sure" and section.entries:
        listed = tag("a", "default properties", href=f"#{told.defaults}")
        parts.append(tag("p", f"{len(section.entries)} of them; they are listed under ", listed, "."))
    elif section.entries:
        parts.append(tag("dl", map(_setting, section.entries), class_="pairs fine"))
    return joined(parts)


def _setting(entry: Entry) -> Markup:
    where = [tag("span", "; ", outside(entry.place), class_="quiet")] if entry.place else []
    return joined(
        tag("dt", prose(entry.label)), tag("dd", tag("span", prose(entry.value), class_="strong"), *where)
    )


def _table(table: Table) -> Markup:
    head = (tag("th", text, scope="col") if text else tag("td") for text in table.head)
    rows = (
        tag("tr", tag("th", prose(row[0]), scope="row"), (tag("td", prose(cell)) for cell in row[1:]))
        for row in table.rows
    )
    inside = tag(
        "table",
        tag("caption", table.caption),
        tag("thead", tag("tr", head)),
        tag("tbody", rows),
        class_="minutes",
    )
    # On a phone it is wider than the page and scrolls by itself, with the keyboard too.
    return tag("div", inside, class_="scroll", role="group", aria_label=table.caption, tabindex=0)


def taken_on(
    entries: Sequence[Accepted], stories: Mapping[Finding, Story], name: str, heads: Heads, told: Told
) -> Iterator[Markup]:
    """Write what a person took on.

    Args:
        entries: those of the file.
        stories: of each finding.
        name: beginning of the ids.
        heads: what headings are to be written as.
        told: what was told already.

    Yields:
        A paragraph for each entry, and its findings that do not count.
    """
    for number, entry in enumerate(entries, 1):
        given = ("reason", entry.reason), ("by", entry.by), ("until", _until(entry))
        parts = [joined(f"{key}: ", outside(text or NOT_GIVEN), "; ") for key, text in given]
        yield tag("p", code(entry.rule or NOT_GIVEN), ": ", *parts, f"{ACCEPTED[entry.state]}.")
        for count, each in enumerate(entry.findings, 1):
            yield finding(stories[each], f"{name}-{number}-{count}", heads, told, counted=False)


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
        lacks = (
            [joined("; lacks ", (joined(code(path), " ") for path in entry.missing))] if entry.missing else []
        )
        reason = outside(entry.reason or NOT_GIVEN)
        yield tag(
            "p", code(entry.rule or NOT_GIVEN), ": ", reason, f"; {NOT_APPLICABLE[entry.state]}", *lacks, "."
        )
