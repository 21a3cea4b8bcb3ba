"""Findings that a person took on, and rules that a file says do not concern it; inputs are stated."""

import itertools
import time
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from standins import FACTS, LIMITS, document, pack, rule

from bmslint.data import rules_dir
from bmslint.judge import entries
from bmslint.judge import judgement as room
from bmslint.judge.faults import PackError
from bmslint.judge.finding import Accepted, Finding, NotApplicable, NotJudged, Outcome, Verdict
from bmslint.judge.inputs import Inputs
from bmslint.judge.judge import judge
from bmslint.judge.pack import load_pack

TODAY = date(2026, 7, 1)
WHOLE = {"rule": "tried", "reason": "winter lay-up", "by": "site engineer", "until": "2027-03-31"}
TRIED = Finding(
    rule="tried",
    title="A rule of the tests",
    severity="review",
    confidence="declared",
    path="protection.charge_cold",
    file="pack.yaml",
    line=5,
    column=29,
    value=None,
    limit=None,
    unit="",
    message="It fails.",
    why="Because.",
    remedy="Mend it.",
)
UNKNOWN = rule(id="lacking", severity="reject", require="site.coldest_degC < 0.0")
ABOUT = tuple(each for each in load_pack().rules if each.each and each.each[0].startswith("entries."))


@pytest.fixture(autouse=True)
def _stated_inputs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "derive_inputs", lambda read: Inputs(read.data, LIMITS, FACTS))


def verdict(*rules: Any, today: date = TODAY, allow: bool = False, **sections: Any) -> Verdict:
    """Judge by some rules and by those of the built-in pack about entries."""
    return judge(document(sections), pack(*rules, *ABOUT), today=today, allow_accepted_rejects=allow)


def told(found: Verdict) -> tuple[str, list[str], list[tuple[str, int]]]:
    """The verdict, what counts, and for each entry its state and how many findings it takes."""
    return (
        found.word,
        [each.rule for each in found.findings],
        [(each.state, len(each.findings)) for each in found.accepted],
    )


def test_what_a_person_took_on_is_kept_and_does_not_count() -> None:
    found = verdict(rule(require="false"), accepted=[WHOLE])
    assert found == Verdict(
        file="pack.yaml",
        word="accepted",
        outcomes={
            "accepted-date-impossible": Outcome("passed"),
            "accepted-entry-incomplete": Outcome("passed"),
            "accepted-past-its-date": Outcome("passed"),
            "accepted-without-finding": Outcome("passed"),
            "entry-names-unknown-rule": Outcome("passed"),
            "not-applicable-not-needed": Outcome("does not apply", "there is no entries.not_applicable[*]"),
            "not-applicable-without-reason": Outcome(
                "does not apply", "there is no entries.not_applicable[*]"
            ),
            "tried": Outcome("spoke"),
        },
        accepted=(
            Accepted(
                rule="tried",
                reason="winter lay-up",
                by="site engineer",
                until="2027-03-31",
                days_left=273,
                state="holds",
                path="accepted[0]",
                file="pack.yaml",
                line=7,
                column=12,
                findings=(TRIED,),
            ),
        ),
    )
    assert found.counts() == {"passed": 5, "spoke": 1, "does_not_apply": 2, "not_judged": 0}
    assert [found.taken(each) for each in ("reject", "review", "note")] == [0, 1, 0]


@pytest.mark.parametrize("lacking", ["rule", "reason", "by", "until"])
def test_an_entry_that_lacks_one_of_the_four_takes_nothing(lacking: str) -> None:
    entry = {key: value for key, value in WHOLE.items() if key != lacking}
    found = verdict(rule(require="false"), accepted=[entry])
    assert told(found) == ("review", ["tried", "accepted-entry-incomplete"], [("incomplete", 0)])


@pytest.mark.parametrize(
    ("until", "state", "left", "finding"),
    [
        ("2026-07-02", "holds", 1, None),
        ("2026-07-01", "holds", 0, None),
        ("2026-06-30", "past its date", -1, "accepted-past-its-date"),
        ("2025-07-01", "past its date", -365, "accepted-past-its-date"),
        ("2028-02-29", "holds", 608, None),
        ("2027-02-29", "impossible date", None, "accepted-date-impossible"),
        ("2027-02-31", "impossible date", None, "accepted-date-impossible"),
        ("2027-13-01", "impossible date", None, "accepted-date-impossible"),
        ("0000-01-01", "impossible date", None, "accepted-date-impossible"),
    ],
)
def test_an_entry_holds_to_the_end_of_its_last_day(
    until: str, state: str, left: int | None, finding: str | None
) -> None:
    """Days between dates are those of Python's calendar, the one that ISO 8601 uses."""
    found = verdict(rule(require="false"), accepted=[{**WHOLE, "until": until}])
    assert [(each.state, each.days_left) for each in found.accepted] == [(state, left)]
    assert [each.rule for each in found.findings] == (["tried", finding] if finding else [])
    assert found.word == ("review" if finding else "accepted")


def test_the_day_is_an_input_and_nothing_else_moves_a_verdict() -> None:
    words = [
        verdict(rule(require="false"), accepted=[WHOLE], today=day).word
        for day in (date(2027, 3, 30), date(2027, 3, 31), date(2027, 4, 1))
    ]
    assert words == ["accepted", "accepted", "review"]


def test_a_day_that_is_not_given_is_that_of_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    from bmslint.judge import judge as module

    monkeypatch.setattr(module, "utc_today", lambda: date(2027, 3, 30))
    found = judge(document({"accepted": [WHOLE]}), pack(rule(require="false")))
    assert [each.days_left for each in found.accepted] == [1]


def utc_day() -> str:
    return time.strftime("%Y-%m-%d", time.gmtime())


@pytest.mark.parametrize("zone", ["EAST-14", "WEST+12"])
def test_the_clock_is_read_in_utc(monkeypatch: pytest.MonkeyPatch, zone: str) -> None:
    """At any hour it is another day in one of the two zones, which are named as POSIX has it."""
    with monkeypatch.context() as patch:
        patch.setenv("TZ", zone)
        time.tzset()
        days = utc_day(), entries.utc_today().isoformat(), utc_day()
    time.tzset()
    assert days[1] in (days[0], days[2])  # they differ if midnight passes in between


HARD = rule(severity="reject", require="false")


def test_a_reject_is_taken_on_only_where_the_run_allows_it() -> None:
    assert told(verdict(HARD, accepted=[WHOLE])) == ("rejected", ["tried"], [("reject counts", 0)])
    allowed = verdict(HARD, accepted=[WHOLE], allow=True)
    assert told(allowed) == ("accepted", [], [("holds", 1)])
    assert allowed.taken("reject") == 1


def test_what_fails_only_with_unfavourable_properties_is_a_review_that_may_be_taken_on() -> None:
    soft = rule(severity="reject", require="facts.run.coldest_degC > 0.0")
    assert told(verdict(soft, accepted=[WHOLE])) == ("accepted", [], [("holds", 1)])


def test_of_two_severities_of_one_rule_only_the_reject_counts() -> None:
    mixed = rule(
        severity="reject",
        each="sensors.*",
        at="{here}",
        require="key == 'skin' ? facts.run.coldest_degC > 0.0 : false",
    )
    found = verdict(mixed, accepted=[WHOLE])
    assert told(found) == ("rejected", ["tried"], [("reject counts", 1)])
    assert [each.path for each in (*found.findings, *found.accepted[0].findings)] == [
        "sensors.core",
        "sensors.skin",
    ]
    assert told(verdict(mixed, accepted=[WHOLE], allow=True)) == ("accepted", [], [("holds", 2)])


def test_a_reject_that_counts_keeps_both_of_two_entries_needed() -> None:
    states = [("reject counts", 0), ("reject counts", 0)]
    assert told(verdict(HARD, accepted=[WHOLE, WHOLE])) == ("rejected", ["tried"], states)


def test_other_rules_count_as_before() -> None:
    found = verdict(rule(require="false"), rule(id="other", require="false", at="pack"), accepted=[WHOLE])
    assert told(found) == ("review", ["other"], [("holds", 1)])


def test_of_two_entries_the_first_that_counts_takes_the_finding() -> None:
    past = {**WHOLE, "until": "2026-06-30"}
    found = verdict(rule(require="false"), accepted=[past, WHOLE, WHOLE])
    assert told(found) == (
        "review",
        ["accepted-without-finding", "accepted-without-finding"],
        [("no finding", 0), ("holds", 1), ("no finding", 0)],
    )
    assert [each.path for each in found.findings] == ["accepted[0]", "accepted[2]"]


def test_an_entry_without_a_finding_is_a_finding() -> None:
    found = verdict(rule(require="true"), accepted=[WHOLE])
    assert told(found) == ("review", ["accepted-without-finding"], [("no finding", 0)])
    assert found.findings == (
        Finding(
            rule="accepted-without-finding",
            title="A finding is taken on that there is not",
            severity="review",
            confidence="declared",
            path="accepted[0]",
            file="pack.yaml",
            line=7,
            column=12,
            value="tried",
            limit=None,
            unit="",
            message="accepted[0] takes on what tried finds, and there is no such finding that no other "
            "entry takes.",
            why=found.findings[0].why,
            remedy="Take the entry out.",
            named_path="accepted[rule=tried]",
        ),
    )


def test_whether_an_entry_is_needed_is_open_while_its_rule_is_not_judged() -> None:
    found = verdict(UNKNOWN, accepted=[{**WHOLE, "rule": "lacking"}])
    assert told(found) == ("not judged", [], [("not judged", 0)])


def test_an_entry_of_an_unknown_rule_is_a_finding() -> None:
    found = verdict(rule(require="false"), accepted=[{**WHOLE, "rule": "tired"}])
    assert told(found) == ("review", ["tried", "entry-names-unknown-rule"], [("unknown rule", 0)])


def test_what_is_wrong_with_an_entry_cannot_be_taken_on() -> None:
    wrong = {**WHOLE, "rule": "accepted-without-finding"}
    found = verdict(rule(require="true"), accepted=[WHOLE, wrong])
    assert told(found) == (
        "review",
        ["accepted-without-finding", "entry-names-unknown-rule"],
        [("no finding", 0), ("unknown rule", 0)],
    )


def test_without_the_rules_about_entries_an_entry_that_is_past_still_takes_nothing() -> None:
    past = [{**WHOLE, "until": "2026-06-30"}]
    found = judge(document({"accepted": past}), pack(rule(require="false")), today=TODAY)
    assert told(found) == ("review", ["tried"], [("past its date", 0)])


def test_an_entry_does_not_keep_a_way_out_from_being_offered() -> None:
    """A file that is mended needs the entry no more, which speaks against the entry and not the mending."""
    series = rule(require="pack.series > 9.0", suggest=[{"set": "pack.series", "to": "12.0"}])
    found = verdict(series, accepted=[WHOLE])
    (taken,) = found.accepted[0].findings
    assert [(each.set, each.to) for each in taken.suggest] == [("pack.series", 12.0)]


UNTIL = [{"until": day} for day in ("2026-06-30", "2026-07-01", "2027-02-31")] + [{}]
SOME = [
    {"rule": name, "reason": "a trial", "by": "site engineer", **until}
    for name in ("tried", "hard", "unheard-of")
    for until in UNTIL
]


@pytest.mark.parametrize("allow", [False, True])
def test_no_entries_lose_or_double_a_finding(allow: bool) -> None:
    """Every pair of entries: what is found counts or is taken once, by an entry that holds, as it is."""
    rules = (rule(require="false"), rule(id="hard", severity="reject", require="false"))
    without = set(verdict(*rules).findings)
    assert len(without) == 2
    for pair in itertools.product(SOME, repeat=2):
        found = verdict(*rules, accepted=list(pair), allow=allow)
        about_settings = [each for each in found.findings if each.rule in ("tried", "hard")]
        taken = [(entry, each) for entry in found.accepted for each in entry.findings]
        assert sorted([*about_settings, *(each for _, each in taken)]) == sorted(without)
        assert {(entry.rule, entry.state) for entry, _ in taken} <= {("tried", "holds"), ("hard", "holds")}
        assert {entry.until for entry, _ in taken} <= {"2026-07-01"}
        assert allow or "hard" not in {each.rule for _, each in taken}
        assert all(entry.state == "holds" for entry in found.accepted if entry.findings)
        settled = {entry.path for entry in found.accepted if entry.state in ("holds", "reject counts")}
        assert {each.path.split(".")[0] for each in found.findings} - {"protection"} == {
            entry.path for entry in found.accepted if entry.path not in settled
        }
        severe = {each.severity for each in found.findings}
        word = "rejected" if "reject" in severe else "review" if severe else "accepted"
        assert found.word == word


def test_a_rule_that_does_not_concern_the_pack_keeps_no_way_out_from_being_offered() -> None:
    series = rule(require="pack.series > 9.0", suggest=[{"set": "pack.series", "to": "12.0"}])
    found = verdict(series, UNKNOWN, not_applicable=[DECLARED])
    assert [(each.set, each.to) for each in found.findings[0].suggest] == [("pack.series", 12.0)]


DECLARED = {"rule": "lacking", "reason": "the pack stays in the house"}


def test_a_rule_that_does_not_concern_the_pack_keeps_no_file_from_being_accepted() -> None:
    assert verdict(UNKNOWN).word == "not judged"
    found = verdict(UNKNOWN, not_applicable=[DECLARED])
    assert (found.word, found.findings, found.not_judged) == ("accepted", (), ())
    assert found.outcomes["lacking"] == Outcome(
        "does not apply", "the file says so: the pack stays in the house"
    )
    assert found.not_applicable == (
        NotApplicable(
            rule="lacking",
            reason="the pack stays in the house",
            state="holds",
            path="not_applicable[0]",
            file="pack.yaml",
            line=7,
            column=18,
            missing=("site.coldest_degC",),
        ),
    )


@pytest.mark.parametrize(
    ("entry", "state", "finding"),
    [
        ({"rule": "lacking"}, "incomplete", "not-applicable-without-reason"),
        ({"reason": "the pack stays in the house"}, "incomplete", "not-applicable-without-reason"),
        ({**DECLARED, "rule": "lackign"}, "unknown rule", "entry-names-unknown-rule"),
        ({**DECLARED, "rule": "holding"}, "not needed", "not-applicable-not-needed"),
        ({"rule": "holding"}, "incomplete", "not-applicable-not-needed"),
    ],
)
def test_an_entry_that_does_not_hold_is_a_finding_and_the_rule_is_asked_for(
    entry: dict[str, str], state: str, finding: str
) -> None:
    found = verdict(UNKNOWN, rule(id="holding"), not_applicable=[entry])
    assert (found.word, [each.rule for each in found.findings]) == ("not judged", [finding])
    assert [each.state for each in found.not_applicable] == [state]
    assert found.not_judged == (
        NotJudged("lacking", "A rule of the tests", "reject", ("site.coldest_degC",)),
    )


def test_a_rule_is_said_not_to_concern_the_pack_once() -> None:
    found = verdict(UNKNOWN, not_applicable=[DECLARED, DECLARED])
    assert [(each.state, each.missing) for each in found.not_applicable] == [
        ("holds", ("site.coldest_degC",)),
        ("not needed", ()),
    ]
    assert [each.message for each in found.findings] == [
        "not_applicable[1] says that lacking does not concern this pack; another entry says so already."
    ]


def test_a_rule_that_speaks_does_concern_the_pack() -> None:
    """It has the data for one sensor and lacks them for another."""
    partly = rule(severity="reject", each="sensors.*", at="{here}", require="item.accuracy_K > 9.0")
    found = verdict(partly, not_applicable=[{**DECLARED, "rule": "tried"}])
    assert (found.word, [each.rule for each in found.findings]) == (
        "rejected",
        ["tried", "not-applicable-not-needed"],
    )
    assert [each.rule for each in found.not_judged] == ["tried"]


def test_a_rule_that_does_not_concern_the_pack_finds_nothing_to_take_on() -> None:
    entry = {**WHOLE, "rule": "lacking"}
    found = verdict(UNKNOWN, accepted=[entry], not_applicable=[DECLARED])
    assert told(found) == ("review", ["accepted-without-finding"], [("no finding", 0)])


@pytest.mark.parametrize(
    ("parts", "what"),
    [
        (
            {"each": "entries.other[*]"},
            "entries.other[*] is or stands beside no list of entries; those are entries.accepted[*] and "
            "entries.not_applicable[*]",
        ),
        (
            {"each": ["entries.accepted[*]", "sensors.*"]},
            "sensors.* is or stands beside no list of entries; those are entries.accepted[*] and "
            "entries.not_applicable[*]",
        ),
        (
            {"each": "entries.accepted[*]", "suggest": [{"set": "pack.series", "to": "12.0"}]},
            "a rule about entries suggests nothing: what a person took on is not for a program to change",
        ),
    ],
)
def test_what_a_rule_about_entries_may_not_do_is_refused(parts: dict, what: str) -> None:
    from bmslint.judge.rule import Faults, build_rule
    from bmslint.settings.places import Position

    data = {"id": "t", "title": "T", "severity": "review", "require": "true", "says": "S.", "why": "W",
            "remedy": "R", **parts}  # fmt: skip
    faults = Faults()
    build_rule(data, "tests", "t.yaml", {"": Position("t.yaml", 1, 1)}, faults)
    assert [fault.what for _, fault in faults.found] == [what]


def test_what_rules_may_name_is_what_the_judge_hands_over() -> None:
    from bmslint.judge.entry_names import ENTRIES

    read = document({"accepted": [WHOLE], "not_applicable": [DECLARED]})
    handed = entries.with_entries(room.judge_rules(read, pack(UNKNOWN)), read, pack(UNKNOWN), TODAY)
    assert {
        f"entries.{name}[*]": [set(each) for each in lists]
        for name, lists in handed.judgement.inputs.entries.items()
    } == {pattern: [set(names)] for pattern, names in ENTRIES.items()}


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ("require: item.lacks == ''", "require: item.reason != ''",
         "5:10: require: there is no item.reason in entries.accepted[*]"),
        ("{item.path} lacks {value}", "{item.file} lacks {value}",
         "8:7: says: there is no item.file in entries.accepted[*]"),
        ("each: entries.accepted[*]", 'each: ["entries.not_applicable[*]", "entries.accepted[*]"]', None),
        ("lacks == ''", "until == ''", None),
    ],
)  # fmt: skip
def test_a_rule_of_one_s_own_about_entries_names_what_there_is(
    tmp_path: Path, old: str, new: str, problem: str | None
) -> None:
    shipped = (rules_dir() / "consistency" / "accepted-entry-incomplete.yaml").read_text(encoding="utf-8")
    assert old in shipped
    text = shipped.replace(old, new).replace("id: accepted-entry-incomplete", "id: own")
    (tmp_path / "own.yaml").write_text(text, encoding="utf-8")
    try:
        load_pack(own=[tmp_path])
        told: tuple[str, ...] = ()
    except PackError as error:
        told = tuple(str(each) for each in error.problems)
    assert told == ((f"{tmp_path}/own.yaml:{problem}",) if problem else ())
