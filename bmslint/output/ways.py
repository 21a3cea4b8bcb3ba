"""Ways to a better verdict for a person: what to set otherwise, what it costs, what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from bmslint.facts.quantity import Quantity
from bmslint.judge.template import show, visible
from bmslint.output.digits import rounded
from bmslint.output.page import Page
from bmslint.output.text import COLOURS
from bmslint.output.words import CAUTION, VERDICTS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bmslint.facts import Facts
    from bmslint.judge.judgement import Judgement
    from bmslint.judge.ways import Setting, Way, Ways


class Cost(NamedTuple):
    """What a way changes beside the settings, before and after, each with its unit or in words."""

    what: str
    before: str
    after: str


COSTS = (
    ("heated_warmup.time_to_release_min", "heated from the coldest start, charging resumes after", "never"),
    ("heated_warmup.energy_Wh", "the heater takes", "not known"),
    ("heated_warmup.current_at_release_A", "charging then begins with", "no current"),
    ("ambient_warmup.time_to_release_min", "brought into warm air, charging resumes after", "never"),
    ("ambient_warmup.current_at_release_A", "charging in warm air begins with", "no current"),
)
"""Facts that a person pays with: the fact, in words, and what it is where it is not defined."""


def write_ways(page: Page, found: Ways, place: Callable[[str], str]) -> None:
    """Write what `bmslint suggest` found.

    Args:
        page: where to.
        found: the ways.
        place: gives where a setting stands, by its path.
    """
    word = found.verdict.word
    page.line((found.verdict.file, "bold"))
    page.paragraph(f"{word.upper()}: ", VERDICTS[word] + ".", COLOURS[word], indent=0)
    page.gap()
    if not found.ways:
        page.paragraph("", _no_way(found), indent=0)
    for number, way in enumerate(found.ways, 1):
        _write_way(page, place, found.judgement, number, way)
    if found.ways:
        if all(way.moves_a_sensor for way in found.ways):
            page.paragraph("", "No way was found without moving a sensor.", indent=0)
        page.paragraph(
            "",
            f"Every way was judged by all rules on the changed settings; {found.tried} changed files were "
            "judged in all. --diff shows the first way in the file, --write sets it; --way chooses another.",
            indent=0,
        )
    page.gap()
    page.paragraph("Caution: ", CAUTION, indent=0)


def _no_way(found: Ways) -> str:
    if found.verdict.word == "accepted":
        return "There is nothing to change."
    if found.verdict.word == "not judged" and not any(
        each.severity != "note" for each in found.verdict.findings
    ):
        return "No setting is at fault; what decides is not described. `bmslint check` tells what to add."
    return (
        f"No way was found; {found.tried} changed files were judged. What speaks describes the pack, its "
        "parts or its surroundings, or asks for what it does not have: `bmslint explain` tells more."
    )


def _write_way(
    page: Page, place: Callable[[str], str], before: Judgement | None, number: int, way: Way
) -> None:
    word = way.verdict.word
    work = (
        "moves a sensor"
        if way.moves_a_sensor
        else "changes a part"
        if way.changes_a_part
        else "settings only"
    )
    page.paragraph(f"Way {number}: ", f"leads to {word.upper()} ({work})", COLOURS[word], indent=0)
    for setting in way.settings:
        page.paragraph("Set ", f"{setting.path}: {told(setting)}   ({place(setting.path)})")
    if before is not None:
        for cost in costs(before, way.judgement):
            page.paragraph("Effect: ", f"{cost.what} {cost.after} (until now {cost.before})")
    for finding in way.verdict.findings:
        page.paragraph("Still there: ", f"{finding.severity}, {finding.title} ({finding.rule})")
    page.gap()


def told(setting: Setting) -> str:
    """Tell what a setting was and becomes.

    Args:
        setting: one of a way.

    Returns:
        Both values as a settings file writes them.
    """
    was = "not given" if setting.was is None else _value(setting.was)
    return f"{was} -> {_value(setting.to)}"


def _value(value: object) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return show(value) if isinstance(value, bool | float | str) else visible(str(value))


def costs(before: Judgement, after: Judgement) -> Iterator[Cost]:
    """Give what a way costs or gains.

    Args:
        before: the file as it is.
        after: the changed file.

    Yields:
        Each cost that differs as it is shown.
    """
    for path, what, undefined in COSTS:
        was, now = (_shown(each.inputs.facts, path, undefined) for each in (before, after))
        if was != now:
            yield Cost(what, was, now)
    most = [_most_A(each.inputs.data) for each in (before, after)]
    if most[0] != most[1]:
        yield Cost("the largest charging current is", *(f"{show(amperes)} A" for amperes in most))


def _shown(facts: Facts, path: str, undefined: str) -> str:
    fact = facts.find(path)
    if not isinstance(fact, Quantity) or not isinstance(fact.value, float):
        return undefined
    low, high = (end if isinstance(end, float) else fact.value for end in (fact.low, fact.high))
    return f"{rounded(fact.value, low, high)} {fact.unit}"


def _most_A(data: dict[str, object]) -> float:
    steps = data.get("charge_current")
    rows = steps.get("steps", []) if isinstance(steps, dict) else []
    return max((row["max_A"] for row in rows if "max_A" in row), default=0.0)
