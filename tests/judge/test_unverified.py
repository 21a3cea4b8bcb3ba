"""No `reject` rests on a limit that nobody verified: its finding is a review that says so."""

from standins import rule

from bmslint.data import rules_dir
from bmslint.judge.examples import patched
from bmslint.judge.judgement import judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import read

PROFILES = rules_dir().parent / "profiles"
HARM = {
    "id": "trip-below-harm",
    "severity": "reject",
    "require": "protection.cell_undervoltage.trip_below_V >= limits.harm_below_V + 5.0",
    "says": "Too low.",
}


def said(profile: str, removed: tuple[str, ...] = (), pack: Pack | None = None) -> list[tuple[str, str, str]]:
    document = patched(read(PROFILES / f"{profile}.yaml"), {}, removed)
    spoken = judge_rules(document, pack or load_pack()).spoken
    return [(each.finding.rule, each.finding.severity, each.finding.message) for each in spoken]


def tried(**parts: str) -> Pack:
    return Pack("tried", "0" * 16, (rule(**{**HARM, **parts}),))


def test_an_unverified_row_asks_for_a_review_and_says_what_it_rests_on() -> None:
    doubt = " What it is held against is unverified ({}), so a person must look: ask the cell maker."
    assert said("research-buoy", pack=tried()) == [
        (
            "trip-below-harm",
            "review",
            "Too low." + doubt.format("well below the end of discharge; no maker figure at hand"),
        )
    ]
    assert said("snow-gauge", pack=tried()) == [
        (
            "trip-below-harm",
            "review",
            "Too low."
            + doubt.format(
                "judgement, well below the end of discharge of every kind; cells with aluminium foil on both "
                "sides may bear less"
            ),
        )
    ]


def test_common_practice_rejects() -> None:
    assert said("ridge-hut", pack=tried()) == [("trip-below-harm", "reject", "Too low.")]


def test_a_review_and_a_note_stay_what_they_are_and_say_nothing_of_it() -> None:
    for severity in ("review", "note"):
        assert said("research-buoy", pack=tried(severity=severity)) == [
            ("trip-below-harm", severity, "Too low.")
        ]


def test_currents_by_temperature_count_by_the_weakest_row_and_only_without_the_makers() -> None:
    """A rule that comes to the currents through a fact names them under `needs`."""
    changes = {"charge_current.steps": [{"from_degC": -16, "max_A": 40}]}
    declared = patched(read(PROFILES / "research-buoy.yaml"), changes, ())
    table = patched(read(PROFILES / "research-buoy.yaml"), changes, ("pack.cell.limits.charge_current",))
    ids = ("brought-in-current-above-cell", "step-above-cell")
    severities = [
        sorted(
            {each.finding.severity for each in judge_rules(file, load_pack()).spoken if each.rule.id in ids}
        )
        for file in (declared, table)
    ]
    assert severities == [["reject"], ["review"]]


def test_every_rejecting_rule_that_comes_to_the_currents_by_a_fact_names_them() -> None:
    """These facts hold the allowed current against the limit (`bmslint/facts/charging.py`)."""
    facts = (
        "charge_steps.excess_A",
        "charge_steps.allowed_A",
        "warmup.excess_current_A",
        "warmup.above_allowed_Ah",
    )
    lacking = [
        each.id
        for each in load_pack().rules
        if each.severity == "reject"
        and any(path.endswith(facts) for path in each.named())
        and "limits.charge_current" not in each.named()
    ]
    assert lacking == []
