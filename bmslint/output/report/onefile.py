"""What is told of one settings file, part by part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from bmslint.output.report.figures.block import block, sections_worth_drawing
from bmslint.output.report.figures.currents import currents
from bmslint.output.report.figures.ladder import ladder, rungs
from bmslint.output.report.figures.warmup import warmup
from bmslint.output.report.findings import Told, finding, not_applicable, taken_on
from bmslint.output.report.heads import Heads
from bmslint.output.report.live import live
from bmslint.output.report.markup import Markup, code, joined, outside, prose, tag
from bmslint.output.report.summary import key_numbers
from bmslint.output.report.tables import facts_table, not_judged, settings_table

if TYPE_CHECKING:
    from bmslint.output.report.subject import Occasion, Subject
    from bmslint.output.story.form import Entry

Part = tuple[str, str, Sequence[Markup]]
"""Id, heading and content of a part of the page."""


def parts(subject: Subject, occasion: Occasion, name: str, heads: Heads) -> list[Part]:
    """Make every part of what is told of one file; a part without content is left out.

    Args:
        subject: the file.
        occasion: the rules, the day, the version.
        name: beginning of every id of this file.
        heads: what the parts' headings are written as.

    Returns:
        The parts in order.
    """
    verdict = subject.verdict
    anchors = {
        each.rule: f"{name}-finding-{number}"
        for number, each in reversed(list(enumerate(verdict.findings, 1)))
    }
    told = Told(f"{name}-defaults")
    found = [
        finding(subject.stories[each], f"{name}-finding-{number}", heads, told)
        for number, each in enumerate(verdict.findings, 1)
    ]
    taken = taken_on(verdict.accepted, subject.stories, f"{name}-taken", heads, told)
    every: list[Part] = [
        ("problems", "What is wrong with the file", list(_problems(subject))),
        ("findings", "Findings", found),
        ("pictures", "What happens in this pack", list(_pictures(subject, name))),
        ("try", "Try another release", list(_trying(subject, name))),
        (
            "taken-on",
            "Taken on by a person",
            list(taken),
        ),
        (
            "no-concern",
            "Does not concern this pack, as the file says",
            list(not_applicable(verdict.not_applicable)),
        ),
        ("not-judged", "Not judged", list(not_judged(verdict.not_judged))),
    ]
    if subject.facts is not None:
        table = settings_table(subject.settings, occasion.pack, verdict.outcomes, anchors)
        every += [
            ("settings", "Every setting", [_folded(f"{len(subject.settings)} settings", table)]),
            (
                "facts",
                "Every derived quantity",
                [
                    _folded(
                        f"{sum(map(len, subject.facts.groups.values()))} quantities",
                        facts_table(subject.facts),
                    )
                ],
            ),
            ("defaults", "Default properties", list(_defaults(subject))),
        ]
    every.append(("basis", "What this rests on", list(_basis(subject, occasion))))
    return [(f"{name}-{part}", title, content) for part, title, content in every if content]


def _folded(summary: str, content: Markup) -> Markup:
    """Content that a reader opens, and that stands open on paper."""
    return tag("details", tag("summary", summary), content)


def _problems(subject: Subject) -> Iterator[Markup]:
    """What is wrong with a file that cannot be used."""
    if subject.verdict.errors:
        items = []
        for each in subject.verdict.errors:
            where = joined(outside(each.file), f", line {each.line}, column {each.column}: ")
            items.append(tag("li", where, outside(each.message)))
        yield tag("ul", items)


def _pictures(subject: Subject, name: str) -> Iterator[Markup]:
    """The drawings that the file gives data for, and the numbers that matter most."""
    drawn = []
    for course in subject.courses:
        drawn.append(warmup(f"{name}-{course.run}", course))
        if course is subject.courses[0]:
            drawn += [
                block(f"{name}-block-{number}", course, section)
                for number, section in enumerate(sections_worth_drawing(course), 1)
            ]
    if subject.currents is not None:
        drawn.append(currents(f"{name}-currents", subject.currents))
    steps = rungs(subject.data, subject.limits)
    if len(steps) > 1:
        drawn.append(ladder(f"{name}-ladder", steps))
    if subject.facts is not None:
        yield key_numbers(subject.facts)
    if drawn:
        yield tag("div", drawn, class_="figures")


def _trying(subject: Subject, name: str) -> Iterator[Markup]:
    """What another release, hold time or sensor would give."""
    if subject.responses:
        yield tag(
            "p",
            "How cold is the coldest point of the cells when charging is released, if the release, the hold "
            "time or the place of the sensor were another? Answered at nominal properties; at the "
            "unfavourable end of their ranges it may be kelvins colder. Judge the changed file before "
            "anything is flashed.",
        )
        yield live(f"{name}-live", subject.responses, subject.facts)


def _defaults(subject: Subject) -> Iterator[Markup]:
    """The default properties that findings rest on, each with its range."""
    stories = subject.stories.values()
    assumed = {
        entry: None
        for story in stories
        for part in story.sections
        if part.name == "sure"
        for entry in part.entries
    }
    if assumed:
        yield tag(
            "p",
            "The file does not say these, so usual ones were taken, each with a range. Declaring one narrows "
            "what can be said.",
        )
        yield tag("dl", map(_default, sorted(assumed)), class_="pairs fine")


def _default(entry: Entry) -> Markup:
    declare = [tag("span", "; ", entry.place, class_="quiet")] if entry.place else []
    return joined(tag("dt", prose(entry.label)), tag("dd", prose(entry.value), *declare))


def _basis(subject: Subject, occasion: Occasion) -> Iterator[Markup]:
    """Versions, rules, day, and what was read."""
    counts = subject.verdict.counts()
    pack = occasion.pack
    rows: list[tuple[str, Markup]] = [
        ("program", joined(f"bmslint {occasion.version}")),
        ("rules", joined(f"{pack.name}, {len(pack.rules)} rules, digest ", code(pack.digest))),
        *(
            (f"rules of {own.name}", joined(f"{own.rules} rules, digest ", code(own.digest)))
            for own in pack.own
        ),
        ("day", joined(f"{occasion.today.isoformat()}, for the dates of what a person took on")),
    ]
    if not subject.verdict.errors:
        told = (
            f"{sum(counts.values())} in all: {counts['passed']} hold, {counts['spoke']} spoke, "
            f"{counts['does_not_apply']} do not apply here, {counts['not_judged']} not judged"
        )
        rows.append(("outcome of the rules", joined(told)))
    rows += [
        (
            f"SHA-256 of {'the file' if number == 0 else 'a file it extends'}",
            joined(outside(file), " ", code(digest)),
        )
        for number, (file, digest) in enumerate(subject.digests)
    ]
    yield tag(
        "dl", (joined(tag("dt", key), tag("dd", told, class_="hash")) for key, told in rows), class_="pairs"
    )
