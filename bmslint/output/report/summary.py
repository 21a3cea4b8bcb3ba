"""What stands first: verdict, caution, what the run was told, and the few numbers that matter most."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from bmslint.facts.quantity import Quantity
from bmslint.judge.finding import SEVERITIES
from bmslint.output.own import own_told
from bmslint.output.report.markup import Markup, tag
from bmslint.output.report.signs import sign, tone
from bmslint.output.report.words import quantity, span
from bmslint.output.words import CAUTION, TAKEN_ON, VERDICTS

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack

KEY_NUMBERS = (
    ("coldest_at_release_degC", "coldest point at release"),
    ("reading_at_release_degC", "the sensor then reads"),
    ("time_to_release_min", "time until release"),
    ("hottest_at_release_degC", "hottest point at release"),
)


def verdict_box(verdict: Verdict) -> Markup:
    """Write a verdict so that nobody misses it.

    Args:
        verdict: of one file.

    Returns:
        Sign, word, meaning and the numbers of findings.
    """
    return tag(
        "div",
        sign(verdict.word),
        tag("p", verdict.word.upper(), class_="word"),
        tag("p", meaning(verdict)),
        class_=f"verdict {tone(verdict.word)}",
    )


def meaning(verdict: Verdict) -> str:
    """Say what a verdict means, and how many findings it rests on.

    Args:
        verdict: of one file.

    Returns:
        A sentence or two.
    """
    leaning = verdict.word == "accepted" and any(map(verdict.taken, SEVERITIES))
    told = TAKEN_ON if leaning else VERDICTS[verdict.word]
    counts: dict[str, int] = {
        f"finding{'' if number == 1 else 's'} of severity {name}": number
        for name in SEVERITIES
        if (number := sum(each.severity == name for each in verdict.findings))
    }
    counts |= {
        "not judged": len(verdict.not_judged),
        "taken on by a person": sum(map(verdict.taken, SEVERITIES)),
    }
    parts = [f"{count} {name}" for name, count in counts.items() if count]
    rejects = verdict.taken("reject")
    allowed = (
        f" {rejects} of severity reject do not count, as a person took them on and this run allows that."
        if rejects
        else ""
    )
    return f"{told[0].upper()}{told[1:]}.{' ' + ', '.join(parts) + '.' if parts else ''}{allowed}"


def caution() -> Markup:
    """Write the caution that stands wherever a verdict stands.

    Returns:
        A paragraph.
    """
    return tag("p", tag("strong", "Caution. "), CAUTION, class_="caution")


def own_rules(pack: Pack) -> Iterator[Markup]:
    """Say what rules of one's own took part and what they changed.

    Args:
        pack: the rules.

    Yields:
        A paragraph for each folder and each change.
    """
    for head, text in own_told(pack.own):
        yield tag("p", tag("span", head, class_="strong"), text)


def key_numbers(facts: Facts) -> Markup:
    """Give the numbers of the release that matter most.

    Args:
        facts: what was derived.

    Returns:
        A list, empty where no warm-up was derived.
    """
    for group in ("heated_warmup", "ambient_warmup"):
        found = [(words, facts.find(f"{group}.{name}")) for name, words in KEY_NUMBERS]
        known = [(words, each) for words, each in found if isinstance(each, Quantity)]
        if len(known) == len(found):
            return tag("dl", (_number(words, each) for words, each in known), class_="key")
    return Markup("")


def _number(words: str, each: Quantity) -> Markup:
    told = span(each)
    return tag("div", tag("dt", words), tag("dd", quantity(each), tag("small", told) if told else ""))
