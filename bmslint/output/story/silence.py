"""Why a rule did not speak: it held, it does not apply, or what it needs is not in the file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from bmslint.judge.compared import compared
from bmslint.judge.inputs import weakest
from bmslint.output.glossary import terms_in
from bmslint.output.story.doubt import sure_part
from bmslint.output.story.form import Entry, Section, Story, texts
from bmslint.output.story.labels import label
from bmslint.output.story.parts import happens_part, limit_part, named_values
from bmslint.output.story.teller import Teller

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bmslint.facts.course import Course
    from bmslint.judge.finding import NotJudged, Outcome
    from bmslint.judge.inputs import Inputs
    from bmslint.judge.rule import Rule

OF_AN_ENTRY = frozenset({"item", "key", "here", "entries"})
"""Roots of paths that a rule names in an entry that it is evaluated for."""

SAYS = {
    "passed": "the rule was judged and holds",
    "does not apply": "the rule does not concern this file",
    "not judged": "what the rule needs is not in the file, and that is not passed",
}
"""What each state means."""

_ONLY_WHERE = re.compile(r"it applies only where (?P<condition>.+)", re.DOTALL)
_SAME_CAUSE = re.compile(r"(?P<rule>[a-z0-9-]+) speaks of the same cause")


def silence_story(
    rule: Rule,
    outcome: Outcome,
    lacks: NotJudged | None,
    inputs: Inputs,
    courses: Mapping[str, Course],
) -> Story:
    """Tell why a rule did not speak.

    Args:
        rule: the rule.
        outcome: what became of it; anything but that it spoke.
        lacks: what it lacks, if it was not judged.
        inputs: what the file was judged on.
        courses: the warm-ups over time, by group of facts.

    Returns:
        The story.
    """
    teller = Teller(inputs)
    looks = " ".join(rule.title.split())
    if outcome.state == "passed":
        lead = f"The rule looks for this: {looks}. It was judged on this file, and it is not so."
        parts = _passed(teller, rule, inputs, courses)
    elif outcome.state == "not judged":
        lead = f"The rule looks for this: {looks}. Whether it is so cannot be told from this file."
        parts = _not_judged(lacks.missing if lacks is not None else ())
    else:
        why, parts = _does_not_apply(teller, rule, outcome.reason)
        lead = f"The rule looks for this: {looks}. {why}"
    story = Story(
        rule=rule.id,
        title=rule.title,
        state=outcome.state,
        severity=rule.severity,
        says=SAYS[outcome.state],
        lead=lead,
        place=None,
        sections=tuple(each for each in (_asks(rule), *parts) if each is not None),
        numbers=tuple(teller.told),
        terms=(),
    )
    return story._replace(terms=terms_in(texts(story)))


def _asks(rule: Rule) -> Section:
    """What the fault would do that the rule looks for."""
    return Section("asks", "Why the rule looks for that", (" ".join(rule.why.split()),))


def _passed(
    teller: Teller, rule: Rule, inputs: Inputs, courses: Mapping[str, Course]
) -> tuple[Section | None, ...]:
    happens = happens_part(teller, rule, courses)
    looked = limit_part(teller, rule, compared(rule, inputs), spoke=False)
    values = () if looked is not None else named_values(teller, rule)
    if values:
        looked = Section("looked", "What was looked at", entries=values)
    named = [path for path in rule.named() if path.split(".")[0].split("[")[0] not in OF_AN_ENTRY]
    confidence = weakest(inputs.basis(path) for path in named)
    notes = sorted({note for path in named for note in inputs.assumed(path)})
    return happens, looked, sure_part(confidence, notes)


def _not_judged(missing: tuple[str, ...]) -> tuple[Section, ...]:
    entries = tuple(Entry(label(path), "not in the file", path=path) for path in missing)
    told = (
        "Add these to the settings file and judge it again. What the pack truly does not have is written as "
        "`none`, and the rule then knows that.",
    )
    return (Section("missing", "What is missing", told, entries),)


def _does_not_apply(teller: Teller, rule: Rule, reason: str) -> tuple[str, tuple[Section | None, ...]]:
    same = _SAME_CAUSE.fullmatch(reason)
    if same is not None:
        other = same["rule"]
        why = (
            f"It is so, but the rule {other} speaks of the same cause, and one cause gives one finding. "
            f"Mend what {other} says, and this rule is judged by itself."
        )
        return why, ()
    only = _ONLY_WHERE.fullmatch(reason)
    if only is None:
        return f"That does not concern this pack: {reason}.", ()
    condition = " ".join(only["condition"].split())
    references = rule.applies.references if rule.applies is not None else ()
    asked = rule._replace(references=tuple(references))
    entries = named_values(teller, asked)
    why = "It is a rule for packs that meet a condition, and this one does not."
    return why, (Section("looked", "The condition", (f"It asks for `{condition}`.",), entries),)
