"""Whole stories: of findings, and of every way in which a rule does not speak."""

from datetime import date
from functools import cache
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.facts.course import Course, course
from bmslint.judge.examples import patched
from bmslint.judge.finding import Place
from bmslint.judge.judge import Judged, judged
from bmslint.judge.pack import load_pack, rule_files
from bmslint.output.glossary import GLOSSARY
from bmslint.output.story.finding import finding_story
from bmslint.output.story.form import Entry, Section, Story, texts
from bmslint.output.story.silence import silence_story
from bmslint.output.story.teller import Number
from bmslint.settings import Document, read
from bmslint.settings.tree import parse

PROFILES = rules_dir().parent / "profiles"
TODAY = date(2026, 7, 1)
pack = cache(load_pack)
FROM_THE_FILE = (
    "The limit is from the cell maker's data in the file: invented for this scenario (stated in the file)."
)
MEANS = {term.word: term for term in GLOSSARY}


@cache
def profile(stem: str) -> Document:
    return read(PROFILES / f"{stem}.yaml")


def judge(stem: str, changes: dict[str, Any] | None = None) -> Judged:
    document = profile(stem) if changes is None else patched(profile(stem), changes, ())
    assert document.problems == ()
    return judged(document, pack(), today=TODAY)


def of_finding(rule: str, result: Judged, courses: dict[str, Course] | None = None) -> Story:
    assert result.judgement is not None
    finding = next(each for each in result.verdict.findings if each.rule == rule)
    found = pack().rule(rule)
    assert found is not None
    return finding_story(finding, found, result.judgement.inputs, courses or {})


def of_silence(rule: str, result: Judged) -> Story:
    assert result.judgement is not None
    found = pack().rule(rule)
    assert found is not None
    lacks = next((each for each in result.verdict.not_judged if each.rule == rule), None)
    return silence_story(found, result.verdict.outcomes[rule], lacks, result.judgement.inputs, {})


def part(story: Story, name: str) -> Section:
    return next(each for each in story.sections if each.name == name)


def test_the_whole_story_of_a_finding_on_a_setting() -> None:
    file = str(PROFILES / "failing/another-chemistry.yaml")
    path = "protection.cell_overvoltage.trip_above_V"
    words = "over-voltage of one cell: acts above"
    assert of_finding("overvoltage-trip-above-cell", judge("failing/another-chemistry")) == Story(
        rule="overvoltage-trip-above-cell",
        title="Over-voltage trips above what a cell bears",
        state="spoke",
        severity="reject",
        says="do not flash these settings",
        lead="Charging stops only when a cell is above 4.2 V; the cell's limit is 3.65 V.",
        place=Place(path, file, 47, 36),
        sections=(
            Section("settings", "What the settings say", (), (Entry(words, "4.2 V", f"{file}:47:36", path),)),
            Section(
                "limit",
                "Which limit is crossed, and by how much",
                (FROM_THE_FILE,),
                (
                    Entry(words, "4.2 V", path=path),
                    Entry("limit: highest voltage of a cell", "3.65 V", path="limits.charge_max_V"),
                    Entry("beyond the limit by", "0.55 V"),
                ),
            ),
            Section(
                "harm",
                "What it does",
                (
                    "Above its limit the electrolyte oxidises, lithium plates on a negative electrode that "
                    "is full, and a nickel oxide gives up more lithium than its structure bears: gas, loss "
                    "of capacity, and in the end heat that the cell itself keeps up.",
                ),
            ),
            Section(
                "sure",
                "How sure this is",
                (
                    "It rests on the cell maker's data, as the file gives them.",
                    "The rule rests on: charge voltage limit of the cell, from its maker or the chemistry "
                    "table (common practice of the trade).",
                    "It is known to be wrong for: cells whose maker allows a higher voltage for a short "
                    "time.",
                ),
            ),
            Section(
                "change",
                "What to change",
                ("The changes of a single value that this rule knows were tried, and none holds here.",),
            ),
            Section("remedy", "What to do", ("Set the trip at or below the cell's limit.",)),
        ),
        numbers=(
            Number("4.2", "V", 4.2, path),
            Number("3.65", "V", 3.65, "limits.charge_max_V"),
            Number("0.55", "V", pytest.approx(0.55), ""),  # type: ignore[arg-type]
        ),
        terms=tuple(
            MEANS[word]
            for word in (
                "A, V, Ah, Wh, W", "electrode, electrolyte, separator", "over-voltage, under-voltage",
                "plating", "trip",
            )
        ),
    )  # fmt: skip


def test_a_cold_release_is_told_minute_by_minute() -> None:
    result = judge("failing/skin-decides")
    assert result.judgement is not None
    line = course(result.judgement.inputs.data, result.judgement.inputs.limits, "heated_warmup")
    assert isinstance(line, Course)
    story = of_finding("cold-release-before-core", result, {"heated_warmup": line})
    happens = part(story, "happens")
    assert happens.paragraphs == (
        "The pack has stood at -15 degC so long that every cell is as cold as the air. A charger is there "
        "and the heater works by its own settings. Charging is blocked until the deciding sensor (skin) "
        "reads 5 degC.",
        "After 18 min that is so, and charging resumes. The sensor reads 5.0 degC; at the same moment the "
        "coldest point inside the cells is at -13.9 degC and the hottest at 5.4 degC. Left uncharged, the "
        "coldest point would be at 0 degC only after 154 min: charging resumes 136 min too early.",
        "In the two hours after that 59 Ah of charge pass while cells get more current than they bear at "
        "their temperature, at worst by 40 A. Of these, 53 Ah pass while a cell is colder than it may be "
        "charged at all. Two hours after charging resumed, the heater has used 156 Wh, 2.6 % of what the "
        "full pack holds.",
    )
    assert happens.table is not None
    assert happens.table.head == ("after", "sensor", "coldest", "hottest", "")
    assert happens.table.rows[1] == ("18 min", "5.0 degC", "-13.9 degC", "5.4 degC", "charging on")
    assert happens.table.rows[-1] == ("154 min", "8.3 degC", "0.0 degC", "8.4 degC", "warm enough")
    assert part(story, "limit").entries == (
        Entry(
            "coldest point inside any cell when charging is released",
            "-13.9 degC",
            path="facts.heated_warmup.coldest_at_release_degC",
        ),
        Entry("the same, with unfavourable properties", "-14.9 degC"),
        Entry(
            "limit: lowest temperature at which the cells may be charged",
            "0 degC",
            path="limits.charge_degC.min",
        ),
        Entry("beyond the limit by", "13.9 K"),
        Entry("beyond the limit by, with unfavourable properties", "14.9 K"),
    )
    assert part(story, "change") == Section(
        "change",
        "What to change",
        (
            "Each of these was tried on this file by itself and judged again: with it this finding is gone, "
            "and no other becomes worse.",
        ),
        (
            Entry(
                "stop of charging in the cold: waits after that reading",
                "8160 s (136 min)",
                path="protection.charge_cold.hold_s",
            ),
        ),
    )


def test_what_fails_at_the_unfavourable_end_only_says_so() -> None:
    story = of_finding("spread-while-heating", judge("ridge-hut"))
    assert (story.severity, story.says) == ("note", "worth knowing; it changes no verdict")
    assert part(story, "sure").paragraphs[0] == (
        "With the properties that are to be expected of this pack the rule holds. It fails only where "
        "several of them lie at the bad end of what is possible. That is why a rule that would otherwise "
        "say `review` says `note` here."
    )
    values = [(entry.label, entry.value) for entry in part(story, "limit").entries]
    assert values == [
        ("hottest less coldest point when charging is released", "9 K"),
        ("the same, with unfavourable properties", "18 K"),
        ("limit: most that the hottest and the coldest point of the cells lie apart at release", "10 K"),
        ("within the limit by", "1 K"),
        ("beyond the limit by, with unfavourable properties", "8 K"),
    ]
    assert "unfavourable end of their ranges" in part(story, "happens").paragraphs[-1]


def test_a_rule_that_held_tells_its_numbers_and_what_is_left() -> None:
    story = of_silence("undervoltage-trip-below-cell", judge("failing/another-chemistry"))
    assert (story.state, story.says, story.place) == ("passed", "the rule was judged and holds", None)
    assert story.lead == (
        "The rule looks for this: Under-voltage trips only below what a cell bears. It was judged on this "
        "file, and it is not so."
    )
    assert part(story, "limit") == Section(
        "limit",
        "What was compared, and what is left",
        (
            "The limit is from the cell maker's data in the file: invented for this scenario (stated in the "
            "file).",
        ),
        (
            Entry(
                "under-voltage of one cell: acts below",
                "3 V",
                path="protection.cell_undervoltage.trip_below_V",
            ),
            Entry("limit: lowest voltage of a cell", "2.5 V", path="limits.discharge_min_V"),
            Entry("within the limit by", "0.5 V"),
        ),
    )
    assert part(story, "sure").paragraphs == ("It rests on the cell maker's data, as the file gives them.",)


def test_of_many_settings_that_held_the_closest_are_told() -> None:
    story = of_silence("looks-like-kelvin", judge("ridge-hut"))
    looked = part(story, "limit")
    assert looked.paragraphs == ("These 3 of 10 settings come closest to their limit.",)
    assert [(entry.path, entry.value) for entry in looked.entries if entry.path] == [
        ("protection.board_hot.inhibit_above_degC", "80 degC"),
        ("protection.board_hot.release_below_degC", "70 degC"),
        ("protection.discharge_hot.inhibit_above_degC", "55 degC"),
    ]


def test_a_rule_without_numbers_that_held_tells_what_it_looked_at() -> None:
    story = of_silence("fuse-missing", judge("ridge-hut"))
    assert part(story, "looked") == Section(
        "looked",
        "What was looked at",
        entries=(Entry("the fuse", "rated 200 A, melting 80000 A2s", path="pack.fuse"),),
    )


def test_a_rule_that_does_not_apply_tells_why() -> None:
    result = judge("failing/another-chemistry")
    story = of_silence("cold-release-before-core", result)
    assert (story.state, story.lead) == (
        "does not apply",
        "The rule looks for this: Charging resumes while cells inside the heated pack are still too cold. "
        "That does not concern this pack: the pack has no heater.",
    )
    assert [each.name for each in story.sections] == ["asks"]
    story = of_silence("float-where-none-is-wanted", result)
    assert story.lead.endswith("It is a rule for packs that meet a condition, and this one does not.")
    assert part(story, "looked") == Section(
        "looked",
        "The condition",
        ("It asks for `!has(limits.float_max_V)`.",),
        (Entry("highest float voltage of a cell", "3.4 V", path="limits.float_max_V"),),
    )


def test_a_rule_that_another_one_covers_names_that_one() -> None:
    changes = {"protection.charge_cold.sensors": ["skin"], "heater.sensors": ["skin"]}
    story = of_silence("cold-sensor-under-heater", judge("ridge-hut", changes))
    assert (story.state, story.lead) == (
        "does not apply",
        "The rule looks for this: Only sensors on a heated face decide whether it is warm enough to charge. "
        "It is so, but the rule cold-release-before-core speaks of the same cause, and one cause gives one "
        "finding. Mend what cold-release-before-core says, and this rule is judged by itself.",
    )


def test_a_rule_that_was_not_judged_names_what_is_missing() -> None:
    story = of_silence("balancing-too-slow", judge("failing/another-chemistry"))
    assert (story.state, story.lead) == (
        "not judged",
        "The rule looks for this: Balancing is too weak for a pack of this capacity. Whether it is so "
        "cannot be told from this file.",
    )
    assert part(story, "missing").entries == (
        Entry("balancing: current bled from a cell", "not in the file", path="balancing.current_mA"),
    )


def test_a_rule_with_several_entries_tells_of_the_one_that_it_speaks_of() -> None:
    result = judge("failing/fahrenheit-release")
    assert result.judgement is not None
    rule = pack().rule("looks-like-fahrenheit")
    assert rule is not None
    found = [each for each in result.verdict.findings if each.rule == rule.id]
    told = [finding_story(each, rule, result.judgement.inputs, {}) for each in found]
    assert [[(e.path, e.value) for e in part(story, "limit").entries] for story in told] == [
        [("protection.charge_cold.inhibit_below_degC", "37 degC"), ("", "30 degC"), ("", "7 K")],
        [("protection.charge_cold.release_above_degC", "43 degC"), ("", "30 degC"), ("", "13 K")],
    ]


def test_a_sensor_is_not_taken_for_another_whose_name_begins_alike() -> None:
    changes = {"sensors.core.lag_s": 300, "sensors.core2": {"place": "cell_face", "lag_s": 400}}
    result = judge("ridge-hut", changes)
    assert result.judgement is not None
    rule = pack().rule("sensor-lags")
    assert rule is not None
    found = [each for each in result.verdict.findings if each.rule == rule.id]
    told = [part(finding_story(each, rule, result.judgement.inputs, {}), "limit").entries for each in found]
    assert [[entry.value for entry in entries] for entries in told] == [
        ["5 min", "2 min", "3 min"], ["7 min", "2 min", "5 min"],
    ]  # fmt: skip


def _first_failures() -> list[Any]:
    """The first failing example of the first and the last rule of each family."""
    by_family: dict[str, list[Any]] = {}
    for path in rule_files(rules_dir()):
        examples = parse(path.read_bytes(), path.name, document=1).data["examples"]
        fails = next(each for each in examples if each["expect"] == "fail")
        by_family.setdefault(path.parent.name, []).append(pytest.param(path.stem, fails, id=path.stem))
    return [param for params in by_family.values() for param in (params[0], params[-1])]


@pytest.mark.parametrize(("rule", "example"), _first_failures())
def test_findings_of_every_family_can_be_told(rule: str, example: dict[str, Any]) -> None:
    document = patched(profile(example["on"]), example.get("set", {}), example.get("remove", ()))
    result = judged(document, pack(), today=TODAY)
    story = of_finding(rule, result)
    names = [each.name for each in story.sections]
    order = ["settings", "happens", "limit", "harm", "sure", "change", "remedy"]
    assert names == [name for name in order if name in names]
    assert {"settings", "harm", "sure", "remedy"} <= set(names)
    for text in texts(story):
        assert text == text.strip()
        assert not {"{", "}", "\n"} & set(text), text
        assert "None" not in text.split()
    assert {entry.path for entry in part(story, "settings").entries} >= {
        story.place.path if story.place else ""
    }
