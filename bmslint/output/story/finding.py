"""The story of a finding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.compared import compared
from bmslint.judge.finding import Place
from bmslint.output.glossary import terms_in
from bmslint.output.story.doubt import HOW, sure_part
from bmslint.output.story.form import Entry, Section, Story, texts
from bmslint.output.story.labels import label
from bmslint.output.story.parts import happens_part, limit_part, settings_part
from bmslint.output.story.teller import Teller
from bmslint.output.story.values import shown_setting
from bmslint.output.words import SEVERITIES_SAID

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bmslint.facts.course import Course
    from bmslint.judge.compared import Compared
    from bmslint.judge.finding import Finding
    from bmslint.judge.inputs import Inputs
    from bmslint.judge.rule import Rule

NOMINAL = (
    "These are the numbers with the properties that are to be expected of this pack. The finding is about "
    "the unfavourable end of their ranges; see how sure it is."
)


def finding_story(finding: Finding, rule: Rule, inputs: Inputs, courses: Mapping[str, Course]) -> Story:
    """Tell a finding.

    Args:
        finding: the finding, with its proven suggestions.
        rule: its rule.
        inputs: what it was judged on.
        courses: the warm-ups over time, by group of facts.

    Returns:
        The story.
    """
    teller = Teller(inputs)
    places = {each.path: place_told(each) for each in finding.related}
    place = Place(finding.path, finding.file, finding.line, finding.column)
    pairs = compared(rule, inputs)
    here = [each for each in pairs if _about(finding.path, each.path)]
    happens = happens_part(teller, rule, courses)
    if happens is not None:
        told = (NOMINAL,) if finding.unfavourable_only else ()
        heading = "What then happens in this pack"
        happens = happens._replace(heading=heading, paragraphs=(*happens.paragraphs, *told))
    parts = (
        settings_part(
            teller,
            [finding.path, *(each.path for each in finding.related)],
            {**places, finding.path: place_told(place)},
        ),
        happens,
        limit_part(teller, rule, here, spoke=True, unfavourable_only=finding.unfavourable_only),
        Section("harm", "What it does", (_one_line(finding.why),)),
        _sure(finding, rule, here),
        _change(finding, rule),
        Section("remedy", "What to do", (_one_line(finding.remedy),)),
    )
    story = Story(
        rule=rule.id,
        title=finding.title,
        state="spoke",
        severity=finding.severity,
        says=SEVERITIES_SAID[finding.severity],
        lead=finding.message,
        place=place,
        sections=tuple(each for each in parts if each is not None),
        numbers=tuple(teller.told),
        terms=(),
    )
    return story._replace(terms=terms_in(texts(story)))


def _about(path: str, entry: str) -> bool:
    """Whether a setting is an entry that a rule was judged for, or stands in it; "" is the whole file."""
    return entry in ("", path) or path.startswith((f"{entry}.", f"{entry}["))


def place_told(place: Place) -> str:
    """Write a place as file, line and column."""
    return f"{place.file}:{place.line}:{place.column}"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _sure(finding: Finding, rule: Rule, here: list[Compared]) -> Section:
    paragraphs = []
    ranged = any(each.value != each.unfavourable_value for each in here)
    if finding.unfavourable_only:
        paragraphs.append(
            "With the properties that are to be expected of this pack the rule holds. It fails only where "
            "several of them lie at the bad end of what is possible. That is why a rule that would "
            f"otherwise say `{rule.severity}` says `{finding.severity}` here."
        )
    elif ranged:
        paragraphs.append(
            "It fails already with the properties that are to be expected of this pack, and not only at the "
            "unfavourable end of their ranges."
        )
    return sure_part(finding.confidence, finding.assumed, paragraphs, sources_told(rule))


def sources_told(rule: Rule) -> tuple[str, ...]:
    """Say what a rule itself rests on, and where it is known to be wrong.

    Args:
        rule: the rule.

    Returns:
        Paragraphs; none for a rule that states neither.
    """
    sources = "; ".join(
        f"{_one_line(', '.join(filter(None, (each.title, each.clause))))} ({HOW.get(each.how, each.how)})"
        for each in rule.sources
    )
    wrong = _one_line(rule.known_false_alarms)
    told = (
        f"The rule rests on: {sources}." if sources else "",
        f"It is known to be wrong for: {wrong}." if wrong else "",
    )
    return tuple(filter(None, told))


def _change(finding: Finding, rule: Rule) -> Section | None:
    """The changes that were proven."""
    if not rule.suggest:
        return None
    told = "The changes of a single value that this rule knows were tried, and none holds here."
    if finding.suggest:
        told = (
            "Each of these was tried on this file by itself and judged again: with it this finding is gone, "
            "and no other becomes worse."
        )
    entries = [
        Entry(label(each.set), shown_setting(each.set, each.to), path=each.set) for each in finding.suggest
    ]
    return Section("change", "What to change", (told,), tuple(entries))
