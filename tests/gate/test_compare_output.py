"""What a comparison writes, whole: its exit status, text and Markdown, and what it makes of hostile names."""

import html
import io
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from markdown_it import MarkdownIt

import bmslint
from bmslint.commands.compare import status_of
from bmslint.gate.changes import SettingChange
from bmslint.gate.compare import Comparison, FileComparison, Stayed
from bmslint.gate.facts_changed import AMOUNTS, FactChange
from bmslint.judge.finding import SEVERITIES, Finding, NotJudged, Verdict
from bmslint.judge.pack import Pack
from bmslint.judge.template import visible
from bmslint.output.comparison.json import OF_A_FINDING, comparison_json
from bmslint.output.comparison.markdown import comparison_markdown
from bmslint.output.comparison.once import told_once
from bmslint.output.comparison.text import write_comparison
from bmslint.output.comparison.words import arrow, fact_told
from bmslint.output.marked import code, prose
from bmslint.output.words import CAUTION
from bmslint.settings.places import Position, Problem

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "compare.schema.json").read_bytes())

FINDING = Finding(
    "too-cold", "Released too cold", "reject", "declared", "protection.charge_cold", "b.yaml", 5, 7, -4.3,
    0.0, "degC", "The coldest cell is at -4.3 degC.", "Because.", "Mend it.",
)  # fmt: skip
MILD = FINDING._replace(rule="mild", title="Released early", severity="review")
LACKS = NotJudged("warm", "Too warm", "reject", ("site.hottest_degC",))
CHANGE = SettingChange(
    "protection.charge_cold.delay_s",
    2.0,
    None,
    "less safe",
    "the current goes on",
    Position("b.yaml", 9, 3),
    True,
)
TITLE = CHANGE._replace(path="title", was="a", now="b", direction="no effect", in_new=False)
FACT = FactChange(
    "heated_warmup.coldest_at_release_degC", "Coldest point when charging is released.", "degC", "worse", 2.1,
    -4.0, 1.0, -6.25,
)  # fmt: skip
ACCEPTED, REJECTED = Verdict("b.yaml", "accepted"), Verdict("b.yaml", "rejected", (FINDING,))
NOTHING = FileComparison("b.yaml", "changed", ACCEPTED, ACCEPTED)


@pytest.mark.parametrize(
    ("file", "statuses"),
    [
        (NOTHING, (0, 0, 0, 0)),
        (NOTHING._replace(came=(FINDING,)), (1, 1, 1, 1)),
        (NOTHING._replace(came=(MILD,)), (0, 1, 1, 0)),
        (NOTHING._replace(came=(MILD._replace(severity="note"),)), (0, 0, 1, 0)),
        (NOTHING._replace(went=(FINDING,), taken_on=(FINDING,)), (0, 0, 0, 0)),
        (NOTHING._replace(stayed=(Stayed(FINDING, FINDING),)), (0, 0, 0, 0)),
        (NOTHING._replace(stayed=(Stayed(MILD, FINDING),)), (1, 1, 1, 1)),
        (NOTHING._replace(stayed=(Stayed(FINDING, MILD),)), (0, 0, 0, 0)),
        (NOTHING._replace(settings=(CHANGE,)), (0, 0, 0, 1)),
        (NOTHING._replace(settings=(CHANGE._replace(direction="depends"),)), (0, 0, 0, 0)),
        (NOTHING._replace(unjudged=(LACKS,)), (3, 3, 3, 3)),
        (NOTHING._replace(unjudged=(LACKS._replace(severity="review"),)), (0, 0, 0, 0)),
        (NOTHING._replace(unjudged=(LACKS,), came=(FINDING,)), (1, 1, 1, 1)),
        (NOTHING._replace(now=Verdict("b.yaml", "unusable")), (2, 2, 2, 2)),
        (NOTHING._replace(was=Verdict("b.yaml", "unusable"), came=(MILD,)), (0, 1, 1, 0)),
        (FileComparison("b.yaml", "went", REJECTED, None, went=(FINDING,)), (0, 0, 0, 0)),
    ],
)
def test_the_exit_status_tells_what_a_change_made_worse(
    file: FileComparison, statuses: tuple[int, ...]
) -> None:
    assert tuple(status_of(file, each) for each in (*SEVERITIES, "less-safe")) == statuses


WHOLE = Comparison(
    "main (0123456789)",
    "the working tree",
    (
        NOTHING._replace(
            now=REJECTED,
            came=(FINDING,),
            went=(MILD,),
            stayed=(
                Stayed(MILD._replace(rule="raised"), FINDING._replace(rule="raised")),
                Stayed(MILD._replace(rule="same"), MILD._replace(rule="same")),
            ),
            taken_on=(MILD._replace(rule="taken", title="Trips for nothing"),),
            unjudged=(LACKS,),
            settings=(CHANGE, TITLE),
            facts=(FACT,),
        ),
        FileComparison("c.yaml", "went", REJECTED, None),
        FileComparison("d.yaml", "came", None, Verdict("d.yaml", "unusable", errors=(
            Problem("d.yaml", 2, 3, "pack", "a mapping", "a list", "mend it"),
        ))),
        FileComparison("e.yaml", "changed", Verdict("e.yaml", "unusable"), ACCEPTED),
    ),
    3,
    {"reject": 1, "review": 0, "note": 2},
)  # fmt: skip

TEXT = """\
Compared: main (0123456789) with the working tree

b.yaml
  REJECTED, was accepted
  Less safe: protection.charge_cold.delay_s: 2 -> left out
    the current goes on
    b.yaml:9:3
  No effect: title: a -> b
    b.yaml:9:3  (before)
  Came, reject: Released too cold
    b.yaml:5:7  protection.charge_cold
    The coldest cell is at -4.3 degC.
  Stayed, was review, reject: Released too cold
    b.yaml:5:7  protection.charge_cold
    The coldest cell is at -4.3 degC.
  A person took on, review: Trips for nothing
    b.yaml:5:7  protection.charge_cold
  Not judged, which is not passed: Too warm (warm, reject)
    lacks site.hottest_degC
  Went, review: Released early
    b.yaml:5:7  protection.charge_cold  (before)
  Stayed: Released early (review)
  Worse: Coldest point when charging is released: 2.1 -> -4.0 degC; at the
  unfavourable end 1.0 -> -6.2 degC
    heated_warmup.coldest_at_release_degC

c.yaml
  GONE, was rejected

d.yaml
  UNUSABLE, a new file
  It cannot be read, so nothing is known of what changed.
  d.yaml:2:3  pack
    expected a mapping, came a list; mend it

e.yaml
  ACCEPTED, was unusable
  It could not be read before, so all that is found in it counts as new.

Files: 2 changed, 1 came, 1 went, 3 unchanged
Findings that came: 1 finding (1 reject)
Findings that became more severe: 1 finding (1 reject)
Findings that went: 1 finding (1 review)
Findings that a person took on: 1 finding (1 review)
Findings that stayed: 1 reject, 1 review, 2 note
Not judged, and judged before or in a new file: 1 rule
Settings that changed: 1 less safe, 1 no effect

Caution: A clean result is not a certification. The cell maker's datasheet, the
applicable standards and local codes, and a qualified person decide. Physical
tests on cold or damaged cells can end in fire.
"""

MARKDOWN = f"""\
## bmslint: `main (0123456789)` compared with `the working tree`

- Files: 2 changed, 1 came, 1 went, 3 unchanged
- Findings that came: 1 finding (1 reject)
- Findings that became more severe: 1 finding (1 reject)
- Findings that went: 1 finding (1 review)
- Findings that a person took on: 1 finding (1 review)
- Findings that stayed: 1 reject, 1 review, 2 note
- Not judged, and judged before or in a new file: 1 rule
- Settings that changed: 1 less safe, 1 no effect

### `b.yaml`

**rejected, was accepted**

- **less safe** `protection.charge_cold.delay_s: 2 -> left out`: the current goes on
- **no effect** `title: a -> b`
- **came, reject** Released too cold, `b.yaml:5` `protection.charge_cold`: The coldest cell is at -4.3 degC.
- **stayed, was review, reject** Released too cold, `b.yaml:5` `protection.charge_cold`: \
The coldest cell is at -4.3 degC.
- **a person took on, review** Trips for nothing, `b.yaml:5` `protection.charge_cold`
- **not judged, which is not passed, reject** Too warm: lacks `site.hottest_degC`
- **went, review** Released early, `b.yaml:5` `protection.charge_cold` (before)
- stayed: Released early (review)
- worse: Coldest point when charging is released, `heated_warmup.coldest_at_release_degC`: 2.1 -> -4.0 degC; \
at the unfavourable end 1.0 -> -6.2 degC

### `c.yaml`

**gone, was rejected**

### `d.yaml`

**unusable, a new file**

It cannot be read, so nothing is known of what changed.

- `d.yaml:2` expected a mapping, came a list; mend it

### `e.yaml`

**accepted, was unusable**

It could not be read before, so all that is found in it counts as new.

> {CAUTION}
"""


def text_of(comparison: Comparison, width: int = 80) -> str:
    page = io.StringIO()
    write_comparison(comparison, page, width)
    return page.getvalue()


def test_text_and_markdown_are_whole() -> None:
    assert text_of(WHOLE) == TEXT
    assert comparison_markdown(WHOLE) == MARKDOWN


def rendered(text: str) -> str:
    """What a reader sees of Markdown, by an implementation of CommonMark with tables and bare links."""
    return MarkdownIt("gfm-like").render(text)


def seen(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]*>", "", rendered(text))).replace("\u200b", "")


HOSTILE = [
    "](javascript:alert) [a](b) ![i](j)",
    "`` ` ``` code",
    "<img src=x onerror=alert(1)> &amp; &lt;",
    "@person and #12 and https:" "//example.com and www.example.com and a@example.com",
    "**bold** _under_ ~~gone~~ $x$ | a | b |",
    "\x1b[31mred\x07 \u202eback \u2028line",
    "# head", "- item", "> quote", "1. one", "\\", "  spaces  ", "`", "a\\`b",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("within", [prose, code])
def test_a_text_from_a_file_is_shown_and_does_nothing(text: str, within: Any) -> None:
    shown = visible(text)
    page = f"- a {within(text)} b"
    assert " ".join(seen(page).split()) == " ".join(f"a {shown} b".split())
    tags = set(re.findall(r"<(/?[a-z0-9]+)", rendered(page))) - {"ul", "/ul", "li", "/li", "code", "/code"}
    assert tags == set()


def test_hostile_names_reach_no_terminal_and_no_link() -> None:
    name = "".join(HOSTILE)
    file = NOTHING._replace(
        name=name,
        came=(FINDING._replace(path=name, message=name, title=name, file=name),),
        settings=(CHANGE._replace(path=name, was=name, now=[{name: name}]),),
        unjudged=(LACKS._replace(missing=(name,), title=name),),
    )
    whole = WHOLE._replace(old=name, files=(file,))
    assert [char for char in text_of(whole) if not char.isprintable() and char != "\n"] == []
    tags = set(re.findall(r"<(/?[a-z0-9]+)", rendered(comparison_markdown(whole))))
    assert {each.strip("/") for each in tags} == {"h2", "h3", "ul", "li", "p", "strong", "code", "blockquote"}


def placed(file: FileComparison, name: str) -> FileComparison:
    """The same changes in another file."""
    return file._replace(
        name=name,
        came=tuple(each._replace(file=name) for each in file.came),
        went=tuple(each._replace(file=name) for each in file.went),
        settings=tuple(each._replace(place=Position(name, 9, 3)) for each in file.settings),
    )


def test_a_comment_of_many_files_is_cut_and_says_so() -> None:
    (file, *_) = WHOLE.files
    many = WHOLE._replace(files=tuple(placed(file, f"{i}.yaml") for i in range(100)))
    whole = "\n".join(comparison_markdown(WHOLE._replace(files=(each,))) for each in many.files)
    cut = comparison_markdown(many)
    assert len(whole) > 100_000
    assert 59_000 < len(cut) <= 60_000
    items = [sum(line.startswith(("- ", "### ")) for line in text.splitlines()) for text in (whole, cut)]
    summary = 8
    left_out = items[0] - 100 * summary - (items[1] - summary)
    assert f"\n{left_out} more would not fit here; `bmslint compare` as text or JSON tells them all.\n" in cut
    assert cut.endswith(f"\n> {CAUTION}\n")


def test_a_change_in_a_base_is_told_once_with_the_files_that_it_reaches() -> None:
    (file, *_) = WHOLE.files
    more = MILD._replace(rule="more", title="Trips late", file="over.yaml", message="Late.")
    over = file._replace(name="over.yaml", came=(*file.came, more), facts=(FACT, FACT._replace(now=-5.0)))
    elsewhere = placed(file, "c.yaml")
    told = list(told_once([file, over, elsewhere]))
    assert told == [
        (file, []),
        (
            over._replace(settings=(), came=(more,), went=(), facts=(FACT._replace(now=-5.0),)),
            [
                (
                    "b.yaml",
                    "2 settings (1 less safe, 1 no effect), 1 finding (1 reject) that came, "
                    "1 finding (1 review) that went, 1 fact that moved",
                )
            ],
        ),
        (elsewhere, []),
    ]
    page = text_of(WHOLE._replace(files=(file, over)))
    assert page.count("the current goes on") == 1
    assert "  As told of b.yaml: 2 settings (1 less safe, 1 no effect), 1 finding (1 reject)" in page
    comment = comparison_markdown(WHOLE._replace(files=(file, over)))
    assert comment.count("the current goes on") == 1
    assert "\n- as told of `b.yaml`: 2 settings (1 less safe, 1 no effect), 1 finding (1 reject)" in comment


def test_text_fits_80_columns_but_for_places() -> None:
    rows = [row for row in text_of(WHOLE).splitlines() if ":9:3" not in row and ":5:7" not in row]
    assert [row for row in rows if len(row) > 80] == []


def test_long_values_are_cut_and_truth_is_written_as_in_the_file() -> None:
    assert arrow([1.5] * 100, None) == f"[{'1.5, ' * 100}"[:160] + "... -> left out"
    assert arrow(True, {"a": [False]}) == "true -> {a: [false]}"


def test_a_fact_is_told_where_it_moved() -> None:
    truth = FACT._replace(unit="", was=False, now=False, unfavourable_was=False, unfavourable_now=True)
    assert fact_told(truth) == "at the unfavourable end no -> yes"
    amount = FACT._replace(
        unit="Ah", was=0.123456, now=12.34567, unfavourable_was=0.123456, unfavourable_now=12.34567
    )
    assert fact_told(amount) == "0.1235 -> 12.35 Ah"


def as_told(finding: Finding) -> dict[str, Any]:
    return {key: value for key, value in finding._asdict().items() if key in OF_A_FINDING}


def test_json_is_whole_and_in_a_fixed_order() -> None:
    nothing = {
        key: [] for key in ("errors", "settings", "came", "went", "stayed", "taken_on", "not_judged", "facts")
    }
    place = {"file": "b.yaml", "line": 9, "column": 3}
    (file, *_) = WHOLE.files
    error = {
        "file": "d.yaml",
        "line": 2,
        "column": 3,
        "path": "pack",
        "expected": "a mapping",
        "came": "a list",
        "advice": "mend it",
    }
    expected = {
        "bmslint": {"version": bmslint.__version__, "format": 1},
        "pack": {"name": "built-in", "digest": "0123456789abcdef", "rules": 4, "own": []},
        "old": "main (0123456789)",
        "new": "the working tree",
        "files": [
            {
                "file": "b.yaml",
                "state": "changed",
                "verdict_was": "accepted",
                "verdict": "rejected",
                "errors": [],
                "settings": [
                    {
                        "path": "protection.charge_cold.delay_s",
                        "was": 2.0,
                        "now": None,
                        "direction": "less safe",
                        "why": "the current goes on",
                        **place,
                        "place_is_in": "new",
                    },
                    {
                        "path": "title",
                        "was": "a",
                        "now": "b",
                        "direction": "no effect",
                        "why": "the current goes on",
                        **place,
                        "place_is_in": "old",
                    },
                ],
                "came": [as_told(FINDING)],
                "went": [as_told(MILD)],
                "stayed": [
                    {"was_severity": was.severity, "finding": as_told(now)} for was, now in file.stayed
                ],
                "taken_on": [as_told(file.taken_on[0])],
                "not_judged": [
                    {
                        "rule": "warm",
                        "title": "Too warm",
                        "severity": "reject",
                        "missing": ["site.hottest_degC"],
                    }
                ],
                "facts": [
                    {
                        "fact": "heated_warmup.coldest_at_release_degC",
                        "means": "Coldest point when charging is released.",
                        "unit": "degC",
                        "side": "worse",
                        "was": 2.1,
                        "now": -4.0,
                        "unfavourable_was": 1.0,
                        "unfavourable_now": -6.25,
                    }
                ],
            },
            {"file": "c.yaml", "state": "went", "verdict_was": "rejected", "verdict": None, **nothing},
            {
                "file": "d.yaml",
                "state": "came",
                "verdict_was": None,
                "verdict": "unusable",
                **nothing,
                "errors": [error],
            },
            {
                "file": "e.yaml",
                "state": "changed",
                "verdict_was": "unusable",
                "verdict": "accepted",
                **nothing,
            },
        ],
        "unchanged": {"files": 3, "findings": {"reject": 1, "review": 0, "note": 2}},
        "facts_told_from": {"by_unit": dict(AMOUNTS), "share": 0.02},
        "caution": CAUTION,
    }
    pack = Pack("built-in", "0123456789abcdef", (None, None, None, None))  # type: ignore[arg-type]
    written = comparison_json(WHOLE, pack)
    assert written == json.dumps(expected, indent=2) + "\n"
    jsonschema.validate(json.loads(written), SCHEMA)


def test_the_schema_asks_for_every_key_and_refuses_others() -> None:
    """A key that the schema did not require could go without the version changing."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    parts = {"": SCHEMA, **SCHEMA["$defs"], **SCHEMA["properties"]}
    loose = [
        name
        for name, part in parts.items()
        if "properties" in part
        and (set(part["required"]) != set(part["properties"]) or part["additionalProperties"] is not False)
    ]
    assert loose == []
