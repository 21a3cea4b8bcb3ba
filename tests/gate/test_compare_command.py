"""`bmslint compare` as a person, a program and a pull request meet it."""

import html
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from markdown_it import MarkdownIt
from repositories import commit, repository

import bmslint
from bmslint.cli import main
from bmslint.commands.compare import status_of
from bmslint.data import rules_dir
from bmslint.gate.changes import SettingChange
from bmslint.gate.compare import Comparison, FileComparison, Stayed
from bmslint.gate.facts_changed import FactChange
from bmslint.judge.finding import SEVERITIES, Finding, NotJudged, Verdict
from bmslint.output.comparison.markdown import comparison_markdown
from bmslint.output.comparison.text import write_comparison
from bmslint.output.marked import code, prose
from bmslint.output.words import CAUTION
from bmslint.settings.places import Position, Problem

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "compare.schema.json").read_bytes())
HUT = (rules_dir().parent / "profiles" / "ridge-hut.yaml").read_text(encoding="utf-8")
COLD = "charge_cold: {inhibit_below_degC: 4, release_above_degC: 7,"
LOWER = HUT.replace(COLD, COLD.replace("7", "4.5"))
DAY = ("--today", "2026-07-01")

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
    "@person and #12 and https://example.com and www.example.com and a@example.com",
    "**bold** _under_ ~~gone~~ $x$ | a | b |",
    "\x1b[31mred\x07 \u202eback \u2028line",
    "# head", "- item", "> quote", "1. one", "\\", "  spaces  ", "`", "a\\`b",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("within", [prose, code])
def test_a_text_from_a_file_is_shown_and_does_nothing(text: str, within: Any) -> None:
    from bmslint.judge.template import visible

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


def test_a_comment_of_many_files_is_cut_and_says_so() -> None:
    (file, *_) = WHOLE.files
    many = WHOLE._replace(files=tuple(file._replace(name=f"{i}.yaml") for i in range(100)))
    whole = "\n".join(comparison_markdown(WHOLE._replace(files=(each,))) for each in many.files)
    cut = comparison_markdown(many)
    assert len(whole) > 100_000
    assert 59_000 < len(cut) <= 60_000
    items = [sum(line.startswith(("- ", "### ")) for line in text.splitlines()) for text in (whole, cut)]
    summary = 8
    left_out = items[0] - 100 * summary - (items[1] - summary)
    assert f"\n{left_out} more would not fit here; `bmslint compare` as text or JSON tells them all.\n" in cut
    assert cut.endswith(f"\n> {CAUTION}\n")


def test_text_fits_80_columns_but_for_places() -> None:
    rows = [row for row in text_of(WHOLE).splitlines() if ":9:3" not in row and ":5:7" not in row]
    assert [row for row in rows if len(row) > 80] == []


def compared(folder: Path, monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    return main(["compare", *DAY, "--ignore-configuration", *arguments])


def json_of(text: str) -> dict[str, Any]:
    written: dict[str, Any] = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(written, SCHEMA)
    return written


SMALL = (
    "format: 1\npack: {chemistry: lfp, series: 8, parallel: 1, capacity_Ah: 230, cell: {capacity_Ah: 230}}\n"
)
LARGER = SMALL.replace("1, capacity_Ah: 230", "1, capacity_Ah: 300")


def test_a_revision_is_compared_with_the_working_tree_and_with_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    over = "format: 1\nextends: base.yaml\ntitle: Over\n"
    repository(tmp_path)
    first = commit(tmp_path, {"base.yaml": SMALL, "over.yaml": over, "gone.yaml": LARGER, "notes.txt": "x"})
    commit(tmp_path, {"base.yaml": LARGER, "gone.yaml": None})
    (tmp_path / "new.yaml").write_text(LARGER, encoding="utf-8")
    states = {}
    for revisions in ([first], ["HEAD"], [first, "HEAD"], ["HEAD", first]):
        options = [part for each in revisions for part in ("--rev", each)]
        fail_on = ("--fail-on", "review")
        status = compared(tmp_path, monkeypatch, *options, *fail_on, "--format", "json")
        out, err = capsys.readouterr()
        assert err == ""
        written = json_of(out)
        ends = [written["old"].replace(first, "first"), written["new"].replace(first, "first")]
        files = {
            each["file"]: (each["state"], [one["rule"] for one in each["came"]]) for each in written["files"]
        }
        states[" ".join("first" if each == first else each for each in revisions)] = (
            [each.split(" (")[0] for each in ends], status, files, written["unchanged"]["files"],
        )  # fmt: skip
    larger = ["capacity-does-not-multiply"]
    moved = {"base.yaml": ("changed", larger), "over.yaml": ("changed", larger)}
    back = {"base.yaml": ("changed", []), "gone.yaml": ("came", larger), "over.yaml": ("changed", [])}
    new = {"new.yaml": ("came", larger)}
    gone = {"gone.yaml": ("went", [])}
    assert states == {
        "first": (["first", "the working tree"], 1, moved | gone | new, 0),
        "HEAD": (["HEAD", "the working tree"], 1, new, 2),
        "first HEAD": (["first", "HEAD"], 1, moved | gone, 0),
        "HEAD first": (["HEAD", "first"], 1, back, 0),
    }


def test_files_are_compared_whatever_their_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    (tmp_path / "b.yaml").write_text(LOWER, encoding="utf-8")
    assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml") == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.splitlines()[:8] == [
        "Compared: a.yaml with b.yaml",
        "",
        "b.yaml",
        "  REVIEW, was accepted",
        "  Less safe: protection.charge_cold.release_above_degC: 7 -> 4.5",
        "    the lower the threshold, the colder the cells that carry current",
        "    b.yaml:59:60",
        "  Came, review: So little lies between inhibit and release that charging",
    ]
    assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml", "--fail-on", "less-safe") == 1
    assert compared(tmp_path, monkeypatch, "b.yaml", "a.yaml", "--fail-on", "less-safe") == 0


def test_folders_are_matched_by_names_within_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder, texts in (
        ("v1", {"x/a.yaml": HUT, "b.yaml": HUT}),
        ("v2", {"x/a.yaml": LOWER, "c.yaml": HUT}),
    ):
        for name, text in texts.items():
            (tmp_path / folder / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / folder / name).write_text(text, encoding="utf-8")
    assert compared(tmp_path, monkeypatch, "v1", "v2/", "--format", "json") == 0
    written = json_of(capsys.readouterr().out)
    assert [(each["file"], each["state"]) for each in written["files"]] == [
        ("b.yaml", "went"),
        ("c.yaml", "came"),
        ("x/a.yaml", "changed"),
    ]


def test_outputs_go_to_files_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    write = [part for form in ("text", "json", "markdown") for part in ("--write", f"{form}=out.{form}")]
    told = []
    for form in ("text", "json", "markdown"):
        assert compared(tmp_path, monkeypatch, "a.yaml", "a.yaml", "--format", form, *write) == 0
        out, err = capsys.readouterr()
        assert err == ""
        told.append(out)
    assert [
        (tmp_path / f"out.{form}").read_text(encoding="utf-8") for form in ("text", "json", "markdown")
    ] == told
    assert json_of(told[1])["unchanged"] == {"files": 1, "findings": {"reject": 0, "review": 0, "note": 1}}
    assert compared(tmp_path, monkeypatch, "a.yaml", "a.yaml", "--write", "json=no/out.json") == 2
    assert capsys.readouterr().err == "bmslint: cannot write no/out.json: No such file or directory\n"


OWN = """\
rules:
  cold-release-chatters: {severity: reject, reason: no board of ours may chatter}
"""


def test_rules_of_ones_own_judge_both_sides_and_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "changes.yaml").write_text(OWN, encoding="utf-8")
    (tmp_path / "a.yaml").write_text(HUT, encoding="utf-8")
    (tmp_path / "b.yaml").write_text(LOWER, encoding="utf-8")
    for form in ("text", "markdown", "json"):
        assert compared(tmp_path, monkeypatch, "a.yaml", "b.yaml", "--rules", "own", "--format", form) == 1
        out = capsys.readouterr().out
        assert "no board of ours may chatter" in " ".join(out.split())
    assert [each["name"] for each in json_of(out)["pack"]["own"]] == ["own"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "name an old and a new settings file, an old and a new folder, or a revision with --rev"),
        (
            ("a.yaml",),
            "name an old and a new settings file, an old and a new folder, or a revision with --rev",
        ),
        (("a.yaml", "gone"), "there is no gone; check the path"),
        (("a.yaml", "."), "a.yaml and . have to be both files or both folders"),
        (
            ("--rev", "a", "--rev", "b", "--rev", "c"),
            "--rev is given more than twice; one change has two ends",
        ),
        (("--rev", "HEAD", "gone.yaml"), "there is no gone.yaml on either side; check the path"),
        (
            ("--rev", "no"),
            "'no' is no commit of this repository; a clone that was not fetched whole may lack it",
        ),
    ],
)
def test_what_cannot_be_compared_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    arguments: Sequence[str], told: str,
) -> None:  # fmt: skip
    repository(tmp_path)
    commit(tmp_path, {"a.yaml": HUT})
    assert compared(tmp_path, monkeypatch, *arguments) == 2
    assert capsys.readouterr() == ("", f"bmslint: {told}\n")


def test_no_settings_file_on_either_side_is_not_a_pass(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    repository(tmp_path)
    commit(tmp_path, {"notes.txt": "x"})
    assert compared(tmp_path, monkeypatch, "--rev", "HEAD") == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("bmslint: no settings file found")


def test_a_configuration_says_what_to_compare_and_by_which_rules(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    repository(tmp_path)
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "changes.yaml").write_text(OWN, encoding="utf-8")
    said = "paths: [p]\nexclude: ['p/draft-*']\nrules: [own]\nfail_on: note\nwrite: {sarif: x.sarif}\n"
    commit(tmp_path, {".bmslint.yaml": said, "p/a.yaml": HUT, "p/draft-b.yaml": HUT, "q/c.yaml": HUT})
    for name in ("p/a.yaml", "p/draft-b.yaml", "q/c.yaml"):
        (tmp_path / name).write_text(LOWER, encoding="utf-8")
    monkeypatch.chdir(tmp_path / "q")
    assert main(["compare", *DAY, "--rev", "HEAD", "--format", "json"]) == 1
    written = json_of(capsys.readouterr().out)
    (told,) = written["files"]
    assert (told["file"], [(each["rule"], each["severity"]) for each in told["came"]]) == (
        "../p/a.yaml",
        [("cold-release-chatters", "reject")],
    )
    assert not (tmp_path / "x.sarif").exists()
    assert main(["compare", *DAY, "--rev", "HEAD", "--ignore-configuration", "--format", "json"]) == 0
    assert [each["file"] for each in json_of(capsys.readouterr().out)["files"]] == ["c.yaml"]


def test_the_same_bytes_come_out_wherever_it_runs(tmp_path: Path) -> None:
    """Under another hash seed, time zone, locale, width and order of names."""
    repository(tmp_path)
    commit(tmp_path, {"a.yaml": HUT, "b.yaml": LOWER})
    (tmp_path / "a.yaml").write_text(LOWER.replace("obeys: [charge_cold, ", "obeys: ["), encoding="utf-8")
    (tmp_path / "b.yaml").write_text(HUT, encoding="utf-8")
    outs = []
    for names, surroundings in (
        (["a.yaml", "b.yaml"], {"PYTHONHASHSEED": "1", "TZ": "UTC", "COLUMNS": "80", "LC_ALL": "C"}),
        (
            ["b.yaml", "a.yaml"],
            {"PYTHONHASHSEED": "2", "TZ": "Asia/Tokyo", "COLUMNS": "50", "LC_ALL": "C.UTF-8"},
        ),
    ):
        writes = ["--write", "json=out.json", "--write", "markdown=out.md"]
        command = [sys.executable, "-m", "bmslint.cli", "compare", *DAY, "--rev", "HEAD", *names, *writes]
        environment = {**os.environ, **surroundings}
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, timeout=60, check=False
        )
        assert (done.returncode, done.stderr) == (1, b"")
        outs.append([(tmp_path / name).read_bytes() for name in ("out.json", "out.md")])
    assert outs[0] == outs[1]
