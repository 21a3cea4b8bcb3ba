"""Markdown as markdown-it-py, an implementation of CommonMark and its extensions, reads it."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token
from test_json import ENTRIES, FINDING, HARD, PACK, REJECTED, SOFT, UNUSABLE

from bmslint.cli import main
from bmslint.judge.finding import NotJudged, Verdict
from bmslint.output.markdown import MOST_CHARACTERS, MarkdownWriter
from bmslint.output.words import CAUTION
from bmslint.output.writers import Run

READER = MarkdownIt("gfm-like", {"html": True})


def markdown(*verdicts: Verdict) -> str:
    page = io.StringIO()
    writer = MarkdownWriter(page, Run(PACK, len(verdicts), "reject", Path()))
    for each in verdicts:
        writer.add(each)
    writer.end()
    return page.getvalue()


def test_a_whole_page() -> None:
    base = FINDING._replace(file="base/a.yaml", related=(), suggest=())
    first = Verdict("c.yaml", "rejected", (base,))
    second = Verdict("d.yaml", "rejected", (base._replace(message="The coldest cell is at -7.0 degC."),))
    lacking = (NotJudged("warm", "Too warm", "review", ("site.hottest_degC",)),)
    assert markdown(
        UNUSABLE, REJECTED._replace(accepted=ENTRIES[:1]), first, second._replace(not_judged=lacking)
    ) == (
        """\
## UNUSABLE: the file could not be read

4 settings files: 1 unusable, 3 rejected.

### Could not be used

- `a.yaml:3:7` `pack.series` expected a whole number, came the text "eight"; write 8

### Reject: do not flash

**Reject: Released too cold**
`base/a.yaml:5:79` `protection.charge_cold.release_above_degC`

Finding: The coldest cell is at -4.3 degC.
(The numbers are those of `c.yaml`; in others they differ.)

Reaches 2 files: `c.yaml`, `d.yaml`.

<details><summary>Why, and what to do</summary>

Why: Because.

To do: Mend it.

Rests on: default properties with a range

Rule: `cold`

</details>

**Reject: Released too cold**
`b.yaml:5:79` `protection.charge_cold.release_above_degC`

Finding: The coldest cell is at -4.3 degC.

<details><summary>Why, and what to do</summary>

Why: Because.

Passes with: protection.charge\\_cold.release\\_above\\_degC: 17.5 (tried and judged again)

To do: Mend it.

Rests on: default properties with a range

Involved: `b.yaml:9:3` `heater.faces`

Rule: `cold`

</details>

### Taken on by a person, and not counted

- `b.yaml:5:79` Soft (review), until 2027-03-31: winter lay-up (by site engineer)

### Not judged, which is not passed

- `warm` (review) lacks `site.hottest_degC` in 2 files

"""
        f"> **Caution**: {CAUTION}\n"
    )


def opened(tokens: list[Token]) -> list[tuple[str, str]]:
    """Everything in a page that is more than text: kind, and the HTML or the target of a link."""
    found = []
    for token in tokens:
        if token.type not in ("text", "softbreak", "inline", "code_inline") and token.nesting >= 0:
            found.append(
                (token.type, token.content if token.type.startswith("html") else str(token.attrs or ""))
            )
        found += opened(token.children or [])
    return found


SIGNS = st.sampled_from(
    [
        *"\\`*_{}[]()<>#+-.!|~&@:/ \n\t\r",
        "![",
        "](",
        "http" + "://a.b/c",
        "www.a.b",
        "<b>",
        "<!--",
        "-->",
        "</details>",
        "&lt;",
        "@name",
        "#12",
        "1. ",
        "- ",
        "> ",
        "```",
        "\x1b",
        "\u202e",
        "a@b.co",
    ]
)
HOSTILE = st.lists(SIGNS, max_size=12).map("".join)


def of_texts(file: str, path: str, message: str) -> str:
    finding = FINDING._replace(
        file=file, path=path, message=message, title=message, why=message, remedy=message
    )
    entry = ENTRIES[0]._replace(reason=message, by=message, findings=(finding,))
    lacking = (NotJudged("warm", "Too warm", "review", (path,)),)
    return markdown(Verdict(file, "rejected", (finding,), lacking, accepted=(entry,)))


PLAIN = opened(READER.parse(of_texts("f", "p", "m")))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(HOSTILE, HOSTILE, HOSTILE)
def test_any_text_is_shown_and_makes_no_markup(file: str, path: str, message: str) -> None:
    assert opened(READER.parse(of_texts(file or "f", path or "p", message))) == PLAIN


def test_a_page_is_bounded_and_says_what_it_left_out() -> None:
    verdicts = [
        Verdict(
            f"{number:04}.yaml",
            "rejected",
            tuple(FINDING._replace(file=f"{number:04}.yaml", line=line) for line in range(1, 4)),
            (NotJudged(f"r{number}", "R", "review", ("site",)),),
        )
        for number in range(1200)
    ]
    page = markdown(*verdicts, UNUSABLE)
    assert len(page) <= MOST_CHARACTERS
    shown = page.count("**Reject: Released too cold**")
    lists = page.count("lacks `site`")
    (line,) = [line for line in page.splitlines() if "would not fit here" in line]
    assert line == (
        f"{3 * 1200 - shown + 1200 - lists} more would not fit here;"
        " `bmslint check` as text or JSON tells them all."
    )
    assert page.startswith("## UNUSABLE: ")
    assert page.endswith(f"> **Caution**: {CAUTION}\n")
    assert "- `a.yaml:3:7` `pack.series` expected a whole number" in page


def test_the_most_severe_and_furthest_reaching_come_first() -> None:
    base = SOFT._replace(file="base.yaml")
    page = markdown(
        Verdict("a.yaml", "review", (SOFT._replace(file="a.yaml"), base)),
        Verdict("b.yaml", "rejected", (HARD._replace(file="b.yaml"), base)),
    )
    places = [line.split("`")[1] for line in page.splitlines() if line.startswith("`")]
    assert places == ["b.yaml:5:79", "base.yaml:5:79", "a.yaml:5:79"]


def test_a_real_run_counts_as_json_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "base.yaml").write_text(
        "format: 1\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n"
    )
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(f"extends: base.yaml\ntitle: {name}\n")
    monkeypatch.chdir(tmp_path)
    assert main(["check", ".", "--write", "markdown=run.md", "--write", "json=run.json"]) == 1
    page = Path("run.md").read_text(encoding="utf-8")
    files: list[dict[str, Any]] = json.loads(Path("run.json").read_bytes())["files"]
    assert "3 settings files: 3 rejected." in page
    causes = {
        (one["rule"], one["file"], one["line"], one["column"], one["path"])
        for file in files
        for one in file["findings"]
    }
    assert page.count("<details>") == len(causes) < sum(len(file["findings"]) for file in files)
    assert page.count("Reaches 3 files: `base.yaml`, `one.yaml`, `two.yaml`.") == len(causes)
