"""Findings and the verdict of a file; derived inputs are replaced where a test says what they are."""

from typing import Any

import pytest
from standins import FACTS, LIMITS, document, pack, rule

from bmslint.facts import Facts, Quantity
from bmslint.judge import judgement as room
from bmslint.judge.finding import Change, Finding, NotJudged, Outcome, Place, Verdict
from bmslint.judge.inputs import Inputs
from bmslint.judge.judge import judge
from bmslint.judge.judgement import judge_rules
from bmslint.settings import Document


@pytest.fixture(autouse=True)
def _stated_inputs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "derive_inputs", lambda read: Inputs(read.data, LIMITS, FACTS))


RELEASE = "protection.charge_cold.release_above_degC"
COLD = {
    "id": "cold",
    "title": "Released too cold",
    "severity": "reject",
    "require": f"facts.run.coldest_degC >= limits.charge_degC.min && {RELEASE} > -300.0",
    "value": "facts.run.coldest_degC",
    "limit": "limits.charge_degC.min",
    "unit": "degC",
    "at": RELEASE,
    "also_at": ["protection.charge_cold.sensors", "heater.faces"],
    "says": "The coldest cell is at {value:.1f} degC, its limit is {limit:.1f} degC; "
    "heater: {heater.power_W}.",
}


UNKNOWN = {"severity": "reject", "require": "site.coldest_degC < 0.0"}


def verdict(*rules: Any, data: dict | None = None) -> Verdict:
    return judge(document(data), pack(*rules))


def spoke(found: Verdict | room.Judgement) -> list[tuple[str, str, str]]:
    findings = found.findings if isinstance(found, Verdict) else [each.finding for each in found.spoken]
    return [(each.rule, each.severity, each.path) for each in findings]


def test_a_finding_tells_everything() -> None:
    found = verdict(rule(**COLD))
    assert found == Verdict(
        file="pack.yaml",
        word="review",
        findings=(
            Finding(
                rule="cold",
                title="Released too cold",
                severity="review",
                confidence="default",
                path=RELEASE,
                file="pack.yaml",
                line=5,
                column=79,
                value=-3.0,
                limit=0.0,
                unit="degC",
                message="With unfavourable properties: The coldest cell is at -3.0 degC, "
                "its limit is 0.0 degC; heater: (not given).",
                why="Because.",
                remedy="Mend it.",
                related=(Place("protection.charge_cold.sensors", "pack.yaml", 5, 95),),
                unfavourable_only=True,
                assumed=("contact_pad_m2K_per_W",),
            ),
        ),
        outcomes={"cold": Outcome("spoke")},
    )


@pytest.mark.parametrize(
    ("severity", "require", "expected"),
    [
        ("reject", "facts.run.coldest_degC > 3.0", "reject"),
        ("reject", "facts.run.coldest_degC > 0.0", "review"),
        ("review", "facts.run.coldest_degC > 0.0", "note"),
        ("note", "facts.run.coldest_degC > 3.0", "note"),
        ("note", "facts.run.coldest_degC > 0.0", None),
        ("reject", "facts.run.coldest_degC > -4.0", None),
    ],
)
def test_what_fails_at_the_unfavourable_end_only_is_one_step_less_severe(
    severity: str, require: str, expected: str | None
) -> None:
    found = verdict(rule(severity=severity, require=require))
    assert [each.severity for each in found.findings] == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("rules", "word"),
    [
        ([], "accepted"),
        ([{"severity": "note", "require": "false"}], "accepted"),
        ([{"severity": "review", "require": "false"}], "review"),
        ([{"severity": "reject", "require": "false"}], "rejected"),
        ([{"severity": "review", "require": "site.coldest_degC < 0.0"}], "accepted"),
        ([UNKNOWN], "not judged"),
        ([UNKNOWN, {"severity": "review", "require": "false"}], "not judged"),
        ([UNKNOWN, {"severity": "reject", "require": "false"}], "rejected"),
    ],
)
def test_the_verdict_is_the_worst_that_holds(rules: list[dict], word: str) -> None:
    assert verdict(*(rule(id=f"r{i}", **parts) for i, parts in enumerate(rules))).word == word


def test_what_is_not_judged_is_told_the_most_severe_first() -> None:
    found = verdict(
        rule(id="a", title="A", require="site.coldest_degC < 0.0"),
        rule(id="b", title="B", severity="reject", require="facts.run.energy_Wh > load.surge_A"),
        rule(id="c", title="C", require="heater.power_W > 0.0"),
    )
    assert found.not_judged == (
        NotJudged("b", "B", "reject", ("heater.power_W", "site.coldest_degC", "load.surge_A")),
        NotJudged("a", "A", "review", ("site.coldest_degC",)),
    )
    assert found.outcomes == {
        "a": Outcome("not judged"),
        "b": Outcome("not judged"),
        "c": Outcome("does not apply", "heater is none"),
    }
    assert found.counts() == {"passed": 0, "spoke": 0, "does_not_apply": 1, "not_judged": 2}


def test_findings_are_sorted_by_severity_then_place() -> None:
    found = verdict(
        rule(id="a", require="false", at="sensors.skin"),
        rule(id="b", require="false", at="protection"),
        rule(id="c", severity="reject", require="false", at="charge_current"),
        rule(id="d", severity="note", require="false", at="pack"),
        rule(id="e", require="false", at="protection"),
    )
    assert spoke(found) == [
        ("c", "reject", "charge_current"),
        ("a", "review", "sensors.skin"),
        ("b", "review", "protection"),
        ("e", "review", "protection"),
        ("d", "note", "pack"),
    ]


def test_one_cause_gives_one_finding() -> None:
    found = verdict(rule(id="cause", require="false", covers=["effect"]), rule(id="effect", require="false"))
    assert spoke(found) == [("cause", "review", "protection.charge_cold")]
    assert found.outcomes == {
        "cause": Outcome("spoke"),
        "effect": Outcome("does not apply", "cause speaks of the same cause"),
    }


def test_a_less_severe_finding_silences_nothing_more_severe() -> None:
    found = verdict(
        rule(id="cause", require="false", covers=["effect"]),
        rule(id="effect", severity="reject", require="false"),
    )
    assert spoke(found) == [
        ("effect", "reject", "protection.charge_cold"),
        ("cause", "review", "protection.charge_cold"),
    ]


def test_between_rules_of_items_only_the_same_item_is_silenced() -> None:
    found = verdict(
        rule(id="cause", each="sensors.*", at="{here}", require="key != 'skin'", covers=["effect"]),
        rule(id="effect", each="sensors.*", at="{here}.place", require="false"),
    )
    assert spoke(found) == [("cause", "review", "sensors.skin"), ("effect", "review", "sensors.core.place")]
    assert found.outcomes["effect"] == Outcome("spoke")


@pytest.mark.parametrize(
    ("parts", "confidence"),
    [
        ({"require": "pack.series > 9.0"}, "declared"),
        ({"require": "pack.series > 9.0", "limit": "limits.charge_degC.min"}, "cell maker"),
        ({"require": "pack.series > 9.0", "limit": "limits.charge_max_V"}, "chemistry table"),
        ({"require": "pack.series > 9.0", "needs": ["limits.charge_degC"]}, "chemistry table"),
        ({"require": "facts.run.certain_degC > 9.0"}, "declared"),
        ({"require": "facts.run.coldest_degC > limits.charge_max_V"}, "default"),
        ({"each": "limits.charge_degC.*", "require": "item > 99.0", "at": "pack.chemistry"}, "cell maker"),
        ({"require": "false"}, "declared"),
    ],
)
def test_confidence_is_the_weakest_of_what_the_judgement_rests_on(parts: dict, confidence: str) -> None:
    assert verdict(rule(**parts)).findings[0].confidence == confidence


def test_texts_from_the_file_cannot_move_the_cursor_or_the_reading_order() -> None:
    sensors = {"sk\x1b[2Jin\u202e": {"place": "board"}}
    named = rule(each="sensors.*", at="{here}", require="false", says="{key} decides.")
    found = judge_rules(Document("p", {"sensors": sensors}, {}, {}, (), tree=document().tree), pack(named))
    assert [each.finding.message for each in found.spoken] == ["sk<U+001B>[2Jin<U+202E> decides."]


def test_an_unusable_file_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    from bmslint.settings import read_text

    unusable = read_text("format: 1\npack: {series: eight}\n", "p.yaml")
    assert judge(unusable, pack(rule())) == Verdict("p.yaml", "unusable", errors=unusable.problems)
    assert len(unusable.problems) >= 1


# Ways out: stated facts that follow the release setting, so that a change can be proven or refuted.


def stated(release: float) -> Facts:
    """The coldest cell is 6 K below the release, at the unfavourable end 8 K; the film follows it."""
    coldest = Quantity(release - 6.0, release - 8.0, release - 5.0, "degC", "default", "low")
    safe = Quantity(6.0, 5.0, 8.0, "degC", "default", "high")
    film = Quantity(release * 4.0, release * 4.0, release * 4.0, "degC", "declared", None)
    return Facts({"run": {"coldest_degC": coldest, "safe_degC": safe, "film_degC": film}})


def ways_out(monkeypatch: pytest.MonkeyPatch, *others: Any, **parts: Any) -> tuple[Change, ...]:
    def derive(read: Document) -> Inputs:
        release = read.data["protection"]["charge_cold"]["release_above_degC"]
        return Inputs(read.data, LIMITS, stated(release))

    monkeypatch.setattr(room, "derive_inputs", derive)
    failing = {
        "id": "cold",
        "severity": "reject",
        "require": "facts.run.coldest_degC >= 0.0",
        "at": RELEASE,
        "suggest": [{"set": RELEASE, "to": "facts.run.safe_degC"}],
        **parts,
    }
    found = judge(document(), pack(rule(**failing), *others))
    return next(each for each in found.findings if each.rule == "cold").suggest


def test_a_way_out_at_unfavourable_properties_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    assert ways_out(monkeypatch) == (Change(RELEASE, 8.0),)


def test_the_nominal_way_out_is_taken_where_the_other_breaks_something(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    film = rule(id="film", require="facts.run.film_degC <= 30.0")
    assert ways_out(monkeypatch, film) == (Change(RELEASE, 6.0),)


def test_a_way_out_that_breaks_something_is_not_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    film = rule(id="film", require="facts.run.film_degC <= 20.0")
    assert ways_out(monkeypatch, film) == ()


def test_a_note_does_not_refute_a_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    film = rule(id="film", severity="note", require="facts.run.film_degC <= 20.0")
    assert ways_out(monkeypatch, film) == (Change(RELEASE, 8.0),)


@pytest.mark.parametrize(
    "suggestion",
    [
        {"set": RELEASE, "to": "facts.run.safe_degC - 4.0"},  # does not hold at nominal
        {"set": RELEASE, "to": "'warm'"},  # is not a valid setting
        {"set": RELEASE, "to": "site.coldest_degC"},  # has no value
        {"set": "heater.power_W", "to": "50.0"},  # leads through `none`
        {"set": "protection.charge_cold.hold_s", "to": "600.0"},  # changes nothing here
    ],
)
def test_what_cannot_be_proven_is_not_offered(monkeypatch: pytest.MonkeyPatch, suggestion: dict) -> None:
    assert ways_out(monkeypatch, suggest=[suggestion]) == ()


def test_a_way_out_that_only_stops_the_judging_is_not_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    out = [{"set": RELEASE, "to": "20.0"}]
    assert ways_out(monkeypatch, suggest=out) == (Change(RELEASE, 20.0),)
    assert ways_out(monkeypatch, suggest=out, applies=f"{RELEASE} < 10.0") == ()


def test_a_change_that_two_findings_ask_for_is_judged_once(monkeypatch: pytest.MonkeyPatch) -> None:
    from bmslint.judge import suggest

    judged = []

    def counted(read: Document, rules: Any) -> room.Judgement:
        judged.append(read.data["protection"]["charge_cold"]["release_above_degC"])
        return judge_rules(read, rules)

    monkeypatch.setattr(suggest, "judge_rules", counted)
    twin = rule(
        id="twin",
        severity="reject",
        require="facts.run.coldest_degC >= 0.0",
        at="heater",
        suggest=[{"set": RELEASE, "to": "facts.run.safe_degC"}],
    )
    assert ways_out(monkeypatch, twin) == (Change(RELEASE, 8.0),)
    assert judged == [8.0]
