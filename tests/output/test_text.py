"""The verdict for a person: what stands in it, at any width, with and without colour."""

import io
from pathlib import Path
from typing import IO

import pytest
from test_json import ENTRIES, FINDING, HARD, PACK, REJECTED, SOFT, UNUSABLE

from bmslint.judge.finding import NotJudged, Verdict
from bmslint.output.lacks import Lack, by_path
from bmslint.output.text_run import TextWriter
from bmslint.output.words import CAUTION
from bmslint.output.writers import Run


def written(*verdicts: Verdict, width: int = 80) -> str:
    page = io.StringIO()
    write(page, *verdicts, width=width)
    return page.getvalue()


def write(stream: IO[str], *verdicts: Verdict, width: int) -> None:
    writer = TextWriter(stream, Run(PACK, len(verdicts), "reject", Path()), width)
    for each in verdicts:
        writer.add(each)
    writer.end()


def unwrapped(text: str) -> str:
    return " ".join(text.split())


def test_a_whole_page() -> None:
    assert (
        written(REJECTED, UNUSABLE)
        == """\
b.yaml
REJECTED: do not flash (1 reject, 1 not judged, 1 taken on by a person)

Reject: Released too cold
  b.yaml:5:79  protection.charge_cold.release_above_degC
  The coldest cell is at -4.3 degC.
  Value: -4.3 degC, limit 0 degC
  Why: Because.
  Passes with: protection.charge_cold.release_above_degC: 17.5   (tried and
  judged again)
  To do: Mend it.
  Involved: b.yaml:9:3  heater.faces
  Rests on: default properties with a range
  Rule: cold

Default properties that findings rest on, each with its range:
  contact_pad_m2K_per_W

Taken on by a person, as the file says:
  soft: winter lay-up (by site engineer, until 2027-03-31, 126 days left); does
  not count
    Review, not counted: Soft
      b.yaml:5:79  protection.charge_cold.release_above_degC
      The coldest cell is at -4.3 degC.
  cold: seen (by (not given), until 2027-02-31); counts: rule, reason, by and
  until are all needed

Does not concern this pack, as the file says:
  load: no load; not judged, and not asked for
    lacks load.surge_A
  (not given): no load; the rule is asked for: rule and reason are both needed

Not judged, which is not passed. Add to the file:
  site.hottest_degC
    lets be judged warm (review)

4 rules: 1 hold, 1 spoke, 1 do not apply here, 1 not judged.

Caution: A clean result is not a certification. The cell maker's datasheet, the
applicable standards and local codes, and a qualified person decide. Physical
tests on cold or damaged cells can end in fire.

a.yaml
UNUSABLE: the file could not be read

  a.yaml:3:7  pack.series
    expected a whole number, came the text "eight"; write 8

Caution: A clean result is not a certification. The cell maker's datasheet, the
applicable standards and local codes, and a qualified person decide. Physical
tests on cold or damaged cells can end in fire.

2 files: 1 rejected, 1 unusable.
"""
    )


@pytest.mark.parametrize("word", ["accepted", "review", "rejected", "not judged"])
def test_the_caution_stands_under_every_verdict(word: str) -> None:
    text = written(Verdict("p.yaml", word))  # type: ignore[arg-type]
    assert text.splitlines()[1].startswith(word.upper() + ": ")
    assert unwrapped(text).endswith(CAUTION)


def test_forty_columns_lose_nothing() -> None:
    narrow, wide = written(REJECTED, width=40), written(REJECTED, width=200)
    assert unwrapped(narrow).replace(" ", "") == unwrapped(wide).replace(" ", "")
    places = [row for row in narrow.splitlines() if ".yaml:" in row]
    assert places == [
        "  b.yaml:5:79  protection.charge_cold.release_above_degC",
        "  Involved: b.yaml:9:3  heater.faces",
        "      b.yaml:5:79  protection.charge_cold.release_above_degC",
    ]
    assert [row for row in narrow.splitlines() if len(row) > 40] == [places[0], places[2]]


def test_nothing_ends_in_spaces_and_a_pipe_gets_no_colour() -> None:
    text = written(REJECTED)
    assert "\x1b" not in text
    assert [row for row in text.splitlines() if row != row.rstrip()] == []


def test_a_terminal_gets_colour_that_only_repeats_the_words(monkeypatch: pytest.MonkeyPatch) -> None:
    import re

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    page = Terminal()
    write(page, REJECTED, width=80)
    assert "\x1b[1;31mREJECTED: \x1b[0m" in page.getvalue()
    assert re.sub(r"\x1b\[[0-9;]*m", "", page.getvalue()) == written(REJECTED)


IN_BASE = HARD._replace(file="base.yaml", line=2, column=3, assumed=())
OTHER = "The coldest cell is at -9.0 degC."


def test_one_cause_in_a_base_is_told_once_with_the_files_that_it_reaches() -> None:
    told = written(
        Verdict("a.yaml", "rejected", (IN_BASE,)),
        Verdict("c.yaml", "rejected", (IN_BASE._replace(message=OTHER),)),
        width=300,
    )
    own = f"""\
{{}}.yaml
REJECTED: do not flash (1 reject)

Reject: Hard
  base.yaml:2:3  protection.charge_cold.release_above_degC
  Told once for all that it reaches, after the last file.

0 rules: 0 hold, 0 spoke, 0 do not apply here, 0 not judged.

Caution: {CAUTION}

"""
    at_the_end = """\
Set in a file that others extend:

Reject: Hard
  base.yaml:2:3  protection.charge_cold.release_above_degC
  The coldest cell is at -4.3 degC.
  The numbers are those of a.yaml; in others that it reaches they differ.
  Reaches: a.yaml, c.yaml
  Why: Because.
  To do: Mend it.
  Rests on: default properties with a range
  Rule: hard

2 files: 2 rejected.
"""
    assert told == own.format("a") + own.format("c") + at_the_end


def test_a_cause_that_stands_at_its_own_file_is_not_told_again() -> None:
    files = [Verdict(f"{number:02}.yaml", "rejected", (IN_BASE,)) for number in range(12)]
    told = written(*files, Verdict("base.yaml", "rejected", (IN_BASE,)))
    assert told.count("Why: Because.") == 1
    assert unwrapped(told.partition("Set in a file that others extend:")[2]) == (
        "Reject: Hard base.yaml:2:3 protection.charge_cold.release_above_degC Reaches: "
        + ", ".join(f"{number:02}.yaml" for number in range(10))
        + " and 2 more The rest of it stands above, under base.yaml. 13 files: 13 rejected."
    )


def test_one_file_by_itself_tells_what_stands_in_its_base_where_it_stands() -> None:
    told = written(Verdict("a.yaml", "rejected", (IN_BASE,)))
    assert (told.count("Why: Because."), told.count("Reaches")) == (1, 0)


def test_texts_from_a_file_are_shown_and_not_obeyed() -> None:
    spoilt = FINDING._replace(file="a\x1b]0;x\x07.yaml", title="[bold red]a[/] \u202eb :smile:")
    text = written(Verdict("a\x1b[2J.yaml", "rejected", (spoilt,)))
    assert "a<U+001B>[2J.yaml\n" in text
    assert "  a<U+001B>]0;x<U+0007>.yaml:5:79  protection" in text
    assert "Reject: [bold red]a[/] <U+202E>b :smile:\n" in text


def test_what_is_not_judged_is_grouped_by_the_setting_that_helps_most() -> None:
    def lacks(rule: str, severity: str, *missing: str) -> NotJudged:
        return NotJudged(rule, rule, severity, missing)  # type: ignore[arg-type]

    a, b = lacks("a", "reject", "site.coldest_degC", "pack.fuse"), lacks("b", "review", "load", "pack.fuse")
    c, d = lacks("c", "review", "load"), lacks("d", "note", "storage")
    e = lacks("e", "review", "site.coldest_degC")
    f = lacks("f", "reject", "site.floor_degC")
    assert by_path([d, a, b, c, e, f]) == [
        Lack("site.floor_degC", (f,), ()),
        Lack("site.coldest_degC", (e,), (a,)),
        Lack("pack.fuse", (), (a, b)),
        Lack("load", (c,), (b,)),
        Lack("storage", (d,), ()),
    ]


def test_a_setting_gives_the_section_that_it_stands_in() -> None:
    section = NotJudged("a", "A", "review", ("balancing",))
    key = NotJudged("b", "B", "review", ("balancing.current_mA",))
    both = NotJudged("c", "C", "reject", ("balancing", "balancing.current_mA"))
    step = NotJudged("d", "D", "note", ("charge_current.steps[0].max_A", "charge_current.steps"))
    other = NotJudged("e", "E", "note", ("balancing_", "charge_current"))
    assert by_path([section, key, both, step, other]) == [
        Lack("balancing.current_mA", (section, key, both), ()),
        Lack("balancing", (section,), (both,)),
        Lack("charge_current.steps[0].max_A", (step,), (other,)),
        Lack("charge_current.steps", (), (step, other)),
        Lack("balancing_", (), (other,)),
        Lack("charge_current", (), (other,)),
    ]


def test_settings_that_help_only_together_are_told_so() -> None:
    rules = (
        NotJudged("a", "A", "reject", ("site.coldest_degC", "pack.fuse")),
        NotJudged("b", "B", "review", ("pack.fuse",)),
    )
    told = written(Verdict("p.yaml", "not judged", not_judged=rules))
    assert told.partition("Add to the file:\n")[2].partition("\n\n")[0] == (
        "  pack.fuse\n    lets be judged b (review)\n    with others a (reject)\n"
        "  site.coldest_degC\n    with others a (reject)"
    )


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (2, "until 2027-03-31, 2 days left"),
        (1, "until 2027-03-31, 1 day left"),
        (0, "until 2027-03-31, today"),
        (-1, "until 2027-03-31, 1 day ago"),
        (-40, "until 2027-03-31, 40 days ago"),
        (None, "until 2027-03-31"),
    ],
)
def test_days_are_told_for_a_person(days: int | None, told: str) -> None:
    entry = ENTRIES[0]._replace(days_left=days)
    assert f"(by site engineer, {told}); " in written(Verdict("p", "accepted", accepted=(entry,)), width=200)


def test_the_verdict_says_that_a_reject_was_taken_on() -> None:
    one = ENTRIES[0]._replace(findings=(HARD,))
    two = ENTRIES[0]._replace(findings=(HARD, HARD, SOFT))
    begins = "p ACCEPTED: every rule that applies holds, or a person took on what it found "
    assert [
        unwrapped(written(Verdict("p", "accepted", accepted=(entry,)))).partition(" Taken on")[0]
        for entry in (one, two, ENTRIES[0])
    ] == [
        begins + "(1 taken on by a person). A finding `reject` does not count, as a person took on such"
        " findings and this run allows that.",
        begins + "(3 taken on by a person). 2 findings `reject` do not count, as a person took on such"
        " findings and this run allows that.",
        begins + "(1 taken on by a person)",
    ]


def test_every_state_of_an_entry_is_told() -> None:
    from typing import get_args

    from bmslint.judge.finding import AcceptedState, NotApplicableState
    from bmslint.output.words import ACCEPTED, NOT_APPLICABLE

    assert set(ACCEPTED) == set(get_args(AcceptedState))
    assert set(NOT_APPLICABLE) == set(get_args(NotApplicableState))
