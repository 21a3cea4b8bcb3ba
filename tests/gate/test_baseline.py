"""A baseline holds back what was there, and nothing that is new, worse, or not judged."""

import json
from dataclasses import astuple
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bmslint.gate.baseline import Baseline, Size, name_of, taken_over
from bmslint.gate.baseline_file import BaselineError, Entry, read_entries, written_entries
from bmslint.judge.finding import Finding, NotJudged, Outcome, Verdict

FINDING = Finding(
    "cold", "Cold", "review", "declared", "a.b", "base.yaml", 5, 7, 3.0, 5.0, "degC",
    "It is cold.", "So.", "Mend.",
)  # fmt: skip
HARD = FINDING._replace(
    rule="hard", severity="reject", value=None, limit=None, path="c[1].d", named_path="c[name=x].d"
)
LACKS = NotJudged("open", "Open", "reject", ("site",))


def verdict(*findings: Finding, file: str = "p.yaml", not_judged: tuple[NotJudged, ...] = ()) -> Verdict:
    severities = {each.severity for each in findings}
    word = "rejected" if "reject" in severities else "review" if "review" in severities else "accepted"
    return Verdict(file, word, findings, not_judged, {"cold": Outcome("spoke")})  # type: ignore[arg-type]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("p.yaml", "q.yaml"):
        (tmp_path / name).write_text("format: 1\n", encoding="utf-8")
    return tmp_path


def baseline(*entries: Entry) -> Baseline:
    path = Path("known.yaml")
    path.write_text(written_entries(entries), encoding="utf-8")
    return Baseline(path)


KNOWN = Entry("p.yaml", "cold", "a.b", "review", 3.0, 5.0)
KNOWN_HARD = Entry("p.yaml", "hard", "c[name=x].d", "reject", reason="vehicles in the field")


def test_what_was_there_is_held_back_and_the_rest_counts(folder: Path) -> None:
    new = FINDING._replace(path="other")
    known = baseline(KNOWN, KNOWN_HARD)
    moved = FINDING._replace(line=99, column=1, file="elsewhere.yaml", message="It is cold, in other words.")
    found = known.without_known(verdict(HARD, moved, new))
    assert found == verdict(HARD, moved, new)._replace(
        word="review", findings=(new,), held_back=(HARD, moved)
    )
    assert known.size() == Size(entries=2, held_back=2, waiting=0, gone=0)
    assert known.shrunk() == written_entries([KNOWN, KNOWN_HARD])


def test_nothing_new_is_accepted_with_what_is_held_back_beside_it(folder: Path) -> None:
    found = baseline(KNOWN).without_known(verdict(FINDING))
    assert (found.word, found.findings, found.held_back) == ("accepted", (), (FINDING,))


def test_what_is_not_judged_is_not_held_back(folder: Path) -> None:
    known = baseline(KNOWN, Entry("p.yaml", "open", "site", "reject", reason="x"))
    found = known.without_known(verdict(FINDING, not_judged=(LACKS,)))
    assert (found.word, found.not_judged, found.held_back) == ("not judged", (LACKS,), (FINDING,))
    assert known.size() == Size(2, 1, 0, 0)  # whether that finding is gone nobody knows


def test_a_reject_without_a_reason_holds_nothing_back(folder: Path) -> None:
    for reason in ("", "  \n"):
        known = baseline(KNOWN_HARD._replace(reason=reason))
        assert known.without_known(verdict(HARD)) == verdict(HARD)
        assert known.size() == Size(1, 0, 1, 0)


@pytest.mark.parametrize(
    ("finding", "held"),
    [
        (FINDING._replace(value=2.9), False),
        (FINDING._replace(value=3.1), True),
        (FINDING._replace(value=2.9985), True),  # within a thousandth of the distance
        (FINDING._replace(value=2.9975), False),
        (FINDING._replace(limit=5.1), False),
        (FINDING._replace(limit=4.0), True),
        (FINDING._replace(severity="reject"), False),
        (FINDING._replace(severity="note"), True),
        (FINDING._replace(value=None), True),
        (FINDING._replace(value=7.0), True),  # as far off on the other side
        (FINDING._replace(rule="another"), False),
        (FINDING._replace(path="a"), False),
        (FINDING._replace(named_path="a[name=b]"), False),
    ],
)
def test_a_finding_that_became_worse_counts_again(folder: Path, finding: Finding, held: bool) -> None:
    found = baseline(KNOWN).without_known(verdict(finding))
    assert (found.findings, found.held_back) == (((), (finding,)) if held else ((finding,), ()))


def test_each_entry_holds_one_finding_back(folder: Path) -> None:
    twice = verdict(FINDING, FINDING._replace(line=6))
    assert len(baseline(KNOWN).without_known(twice).held_back) == 1
    assert len(baseline(KNOWN, KNOWN).without_known(twice).held_back) == 2


def test_a_file_is_known_by_its_place_from_the_baseline(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "sub").mkdir()
    known = baseline(KNOWN)
    assert known.without_known(verdict(FINDING, file="sub/p.yaml")).held_back == ()
    assert known.without_known(verdict(FINDING, file=str(folder / "p.yaml"))).held_back == (FINDING,)
    monkeypatch.chdir(folder / "sub")
    again = Baseline(Path("../known.yaml"))
    assert again.without_known(verdict(FINDING, file="../p.yaml")).held_back == (FINDING,)
    assert name_of("../p.yaml", Path("../known.yaml")) == "p.yaml"
    assert name_of("../p.yaml", Path("other.yaml")) == "../p.yaml"


def test_what_is_gone_is_dropped_and_nothing_is_added(folder: Path) -> None:
    gone = KNOWN._replace(path="mended")
    unjudged = KNOWN._replace(rule="open", path="site")
    other = KNOWN._replace(file="q.yaml")
    deleted = KNOWN._replace(file="deleted.yaml")
    known = baseline(KNOWN, gone, unjudged, other, deleted, KNOWN_HARD)
    new = FINDING._replace(path="new")
    known.without_known(verdict(FINDING, new, not_judged=(LACKS,)))
    assert known.size() == Size(entries=6, held_back=1, waiting=0, gone=3)
    assert known.shrunk() == written_entries([KNOWN, unjudged, other])


def test_a_file_that_cannot_be_read_keeps_its_entries(folder: Path) -> None:
    known = baseline(KNOWN)
    broken = Verdict("p.yaml", "unusable")
    assert known.without_known(broken) == broken
    assert (known.size(), known.shrunk()) == (Size(1, 0, 0, 0), written_entries([KNOWN]))


@pytest.mark.parametrize(
    ("finding", "left"),
    [
        (FINDING._replace(value=4.0), KNOWN._replace(value=4.0)),
        (FINDING._replace(severity="note"), KNOWN._replace(severity="note")),
        (FINDING._replace(value=2.0), KNOWN),  # worse: it counts, and the entry stays as tight as it was
        (FINDING._replace(value=2.9985), KNOWN),  # a little worse, time after time, is worse
        (FINDING._replace(severity="note", value=2.9985), KNOWN._replace(severity="note")),
    ],
)
def test_an_entry_becomes_tighter_and_never_looser(folder: Path, finding: Finding, left: Entry) -> None:
    known = baseline(KNOWN)
    known.without_known(verdict(finding))
    assert known.shrunk() == written_entries([left])


def test_a_repository_is_taken_over(folder: Path) -> None:
    verdicts = [verdict(FINDING._replace(value=1 / 3), HARD), Verdict("q.yaml", "accepted")]
    entries = taken_over(verdicts, Path("known.yaml"))
    assert entries == [
        KNOWN._replace(value=0.333333),
        KNOWN_HARD._replace(reason=""),
    ]
    assert taken_over(verdicts, Path("known.yaml"), "as agreed")[1] == KNOWN_HARD._replace(reason="as agreed")
    odd = [verdict(FINDING, file="p\udc80.yaml")]
    assert taken_over(odd, Path("known.yaml")) == []  # no text holds that name, so it counts


WRITTEN = """\
# Findings that were there when this repository was taken over. `bmslint check --baseline` holds them back.
# An entry of severity reject holds nothing back until a person writes its reason.
baseline: 1
findings:
  - file: "p.yaml"
    rule: "cold"
    path: "a.b"
    severity: "review"
    value: 3.0
    limit: 5.0
  - file: "p.yaml"
    rule: "hard"
    path: "c[name=x].d"
    severity: "reject"
    reason: "vehicles in the field"
"""


def test_the_file_is_the_same_for_the_same_entries() -> None:
    assert written_entries([KNOWN, KNOWN_HARD]) == written_entries([KNOWN_HARD, KNOWN]) == WRITTEN
    assert written_entries([]).splitlines()[2:] == ["baseline: 1", "findings: []"]


ENTRY = st.builds(
    Entry,
    st.text(min_size=1),
    st.text(min_size=1),
    st.text(min_size=1),
    st.sampled_from(["reject", "review", "note"]),
    st.none() | st.floats(allow_nan=False, allow_infinity=False),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(),
)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.lists(ENTRY, max_size=3))
def test_what_is_written_reads_back_the_same(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry]
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.yaml"
    entries = [each if each.value is not None else each._replace(limit=None) for each in entries]
    path.write_bytes(written_entries(entries).encode("utf-8"))
    assert read_entries(path) == sorted(entries, key=lambda each: each[:3])


def problems(folder: Path, text: str) -> list[tuple[Any, ...]]:
    path = folder / "known.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BaselineError) as told:
        read_entries(Path("known.yaml"))
    return [(*astuple(each)[:5], each.came) for each in told.value.problems]


WHOLE = 'file: "p", rule: r, path: a, severity: review'


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(1, 1, "", "a document", "an empty file")]),
        ("[]", [(1, 1, "", "`baseline: 1` and a list `findings`", "a list")]),
        ("format: 1", [(1, 1, "", "`baseline: 1` and a list `findings`", "a mapping")]),
        ("baseline: 2\nfindings: []", [(1, 11, "baseline", "the number 1", "2")]),
        ("baseline: true\nfindings: []", [(1, 11, "baseline", "the number 1", "true")]),
        ("baseline: 1", [(1, 1, "findings", "a list", "nothing")]),
        ("baseline: 1\nfindings: []\n---\na: 1", [(4, 1, "", "one document", "a second one")]),
        (
            "baseline: 1\nfindings: []\nother: 1",
            [(3, 8, "other", "the keys baseline and findings", '"other"')],
        ),
        (
            "baseline: 1\nfindings:\n  - 7\n"
            "  - {file: 3, rule: r, severity: bad, value: x, reason: 1, more: 2}",
            [
                (3, 5, "findings[0]", "a mapping with file, rule, path, severity", "7"),
                (4, 5, "findings[1]", "a text for path", "nothing"),
                (4, 12, "findings[1].file", "a text for file", "3"),
                (4, 34, "findings[1].severity", "one of reject, review, note", 'the text "bad"'),
                (4, 46, "findings[1].value", "a number", 'the text "x"'),
                (4, 57, "findings[1].reason", "a text", "1"),
                (
                    4,
                    66,
                    "findings[1].more",
                    "one of file, rule, path, severity, value, limit, reason",
                    'the key "more"',
                ),
            ],
        ),
        (
            f"baseline: 1\nfindings: [{{{WHOLE}, limit: .inf}}]",
            [(2, 67, "findings[0].limit", "a finite number", ".inf")],
        ),
    ],
)
def test_what_is_wrong_in_it_is_told_all_at_once(
    folder: Path, text: str, expected: list[tuple[Any, ...]]
) -> None:
    assert problems(folder, text) == [("known.yaml", *each) for each in expected]


def test_a_baseline_that_is_not_there_is_told(folder: Path) -> None:
    with pytest.raises(BaselineError) as told:
        read_entries(Path("gone.yaml"))
    assert str(told.value) == "expected a baseline, came no such file; check the path"


SCALAR = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
KEY = st.sampled_from(
    ["baseline", "findings", "file", "rule", "path", "severity", "value", "limit", "reason", "x"]
)
TREE = st.recursive(
    SCALAR, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEY, inner, max_size=4), max_leaves=8
)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.binary(max_size=40) | TREE.map(lambda tree: f"baseline: 1\nfindings: {json.dumps(tree)}".encode()))
def test_whatever_a_baseline_holds_is_read_or_told(
    tmp_path_factory: pytest.TempPathFactory, text: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "whatever.yaml"
    path.write_bytes(text)
    problems: tuple[Any, ...] = ()
    entries = None
    try:
        entries = read_entries(path)
    except BaselineError as error:
        problems = error.problems
    assert (entries is None) == bool(problems)
    assert all(each.line >= 1 and each.came for each in problems)
