"""Every number of a story is that of the facts as a program reads them, of a setting, a limit or the course.

Stories of all profiles are told for all rules, whatever became of them.
"""

import json
import re
from functools import cache

import pytest

from bmslint.data import rules_dir
from bmslint.facts.course import Course, course
from bmslint.judge.entries import utc_today
from bmslint.judge.judge import judged
from bmslint.judge.judgement import Judgement, derive_facts
from bmslint.judge.pack import Pack, load_pack
from bmslint.judge.paths import walk
from bmslint.output.facts import facts_json
from bmslint.output.story.finding import finding_story
from bmslint.output.story.form import Story
from bmslint.output.story.silence import silence_story
from bmslint.output.story.teller import Number
from bmslint.settings import read

FOLDER = rules_dir().parent / "profiles"
FILES = sorted(path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.yaml"))

# How much of the unit that a fact has is one of the unit that it is told in.
LONGER = {("min", "h"): 60.0, ("s", "min"): 60.0, ("s", "h"): 3600.0, ("us", "ms"): 1e3, ("Wh", "kWh"): 1e3}
SAID = {"d": "days", "%/month": "% a month", "%/h": "% an hour", "1/h": "times an hour"}


class Told:
    """One profile: what was judged, its stories, and what a program reads of it."""

    def __init__(self, stem: str) -> None:
        path = FOLDER / f"{stem}.yaml"
        self.document = read(path)
        verdict, judgement = judged(self.document, pack(), today=utc_today())
        assert judgement is not None
        self.judgement: Judgement = judgement
        runs = ("heated_warmup", "ambient_warmup")
        found = {run: course(self.document.data, judgement.inputs.limits, run) for run in runs}  # type: ignore[arg-type]
        self.courses = {run: line for run, line in found.items() if isinstance(line, Course)}
        self.facts = json.loads(facts_json(derive_facts(self.document), path.name))["facts"]
        findings = [*verdict.findings, *(each for entry in verdict.accepted for each in entry.findings)]
        lacks = {each.rule: each for each in verdict.not_judged}
        self.stories = [
            finding_story(each, _rule(each.rule), judgement.inputs, self.courses) for each in findings
        ]
        self.stories += [
            silence_story(_rule(name), outcome, lacks.get(name), judgement.inputs, self.courses)
            for name, outcome in verdict.outcomes.items()
            if outcome.state != "spoke"
        ]


@cache
def pack() -> Pack:
    return load_pack()


def _rule(name: str):  # type: ignore[no-untyped-def]
    return pack().rule(name)


@cache
def told(stem: str) -> Told:
    return Told(stem)


def expected(profile: Told, number: Number) -> tuple[float, str] | None:
    """What a program reads at a number's source, in the unit that it is told in; None for what it cannot."""
    source = number.source.removesuffix("!worst")
    root, _, rest = source.partition(".")
    if root == "facts":
        group, _, name = rest.partition(".")
        fact = profile.facts[group][name]
        value, unit = fact["value"], fact["unit"]
        if number.source.endswith("!worst"):
            ends = [fact[end] for end in ("low", "high")]
            shown = number.value * LONGER.get((unit, number.unit), 1.0)
            assert any(shown == pytest.approx(end, rel=1e-9, abs=1e-9) for end in (value, *ends)), number
            value = shown
        if number.unit in (unit, SAID.get(unit)):
            return value, number.unit
        return value / LONGER[unit, number.unit], number.unit
    if root == "limits":
        return walk(profile.judgement.inputs.limits.data, rest), number.unit
    if source in ("", "course", "value", "limit"):
        return None
    value = walk(profile.document.data, source)
    base = next((base for base, shown in LONGER if shown == number.unit and source.endswith(f"_{base}")), "")
    return value / LONGER.get((base, number.unit), 1.0), number.unit


@pytest.mark.parametrize("stem", FILES)
def test_the_numbers_of_a_story_are_those_of_the_facts(stem: str) -> None:
    profile = told(stem)
    for story in profile.stories:
        for number in story.numbers:
            known = expected(profile, number)
            if known is not None:
                assert number.value == pytest.approx(known[0], rel=1e-9, abs=1e-9), (story.rule, number)
            decimals = len(number.text.partition(".")[2])
            # Shown is the number itself, rounded where its digits end; three digits at least.
            step = 10.0**-decimals if decimals else max(1.0, 10.0 ** (len(number.text.lstrip("-")) - 3))
            assert abs(float(number.text) - number.value) <= 0.5 * step * (1 + 1e-6), (story.rule, number)


# Of the facts' own definitions.
FREE = re.compile(r"within 10 s at 25 degC|the cells at 25 degC|a pack at 20 degC")


def filled_in(story: Story) -> list[str]:
    """The texts of a story that hold nothing but its own words and numbers that were filled in."""
    found = []
    for section in story.sections:
        if section.name == "happens":
            found += list(section.paragraphs)
            found += [cell for row in section.table.rows for cell in row] if section.table else []
        if section.name == "limit":
            found += [
                entry.value for entry in section.entries if re.fullmatch(r"-?[\d.]+( \D.*)?", entry.value)
            ]
    return found


@pytest.mark.parametrize("stem", FILES)
def test_no_number_of_a_story_comes_from_elsewhere(stem: str) -> None:
    """What is told of a run is made of the numbers that the story names with their sources."""
    profile = told(stem)
    reasons = [
        str(fact["value"])
        for group in profile.facts.values()
        for name, fact in group.items()
        if name == "never_releases_because" and "value" in fact
    ]
    for story in profile.stories:
        named = {str(number) for number in story.numbers} | {number.text for number in story.numbers}
        for text in filled_in(story):
            for reason in filter(None, reasons):
                text = text.replace(reason, "")
            text = FREE.sub("", text)
            for shown in sorted(named, key=len, reverse=True):
                text = re.sub(rf"(?<![\d.]){re.escape(shown)}(?![\d.]*\d)", "", text)
            assert re.findall(r"\d+", text) == [], (story.rule, text)


@pytest.mark.parametrize("stem", FILES)
def test_release_and_warmth_stand_in_the_table_as_the_facts_have_them(stem: str) -> None:
    profile = told(stem)
    seen = 0
    for story in profile.stories:
        for section in story.sections:
            if section.table is None:
                continue
            marked = {row[-1]: row for row in section.table.rows if row[-1]}
            group = "heated_warmup" if _about(story, "heated_warmup") else "ambient_warmup"
            facts = profile.facts[group]
            if "charging on" in marked:
                row, seen = marked["charging on"], seen + 1
                names = ("reading_at_release_degC", "coldest_at_release_degC", "hottest_at_release_degC")
                assert [float(cell.removesuffix(" degC")) for cell in row[1:4]] == pytest.approx(
                    [facts[name]["value"] for name in names], abs=0.05 + 1e-6
                )
                assert _minutes(row[0]) == pytest.approx(facts["time_to_release_min"]["value"], abs=3.0)
            if "warm enough" in marked:
                warm = facts["coldest_warm_after_min"]["value"]
                assert _minutes(marked["warm enough"][0]) == pytest.approx(warm, abs=3.0)
    assert seen > 0 or stem in ("failing/fahrenheit-release",)


def _about(story: Story, group: str) -> bool:
    rule = _rule(story.rule)
    paths = (*rule.named(), *(path for path, _ in rule.says.fields))
    return any(path.startswith(f"facts.{group}") for path in paths)


def _minutes(text: str) -> float:
    """Three minutes are half the last digit of a time in hours."""
    value, unit = text.split()
    return float(value) * (60.0 if unit == "h" else 1.0)
