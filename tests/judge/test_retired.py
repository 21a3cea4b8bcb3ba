"""A rule that is no longer run still explains itself; its id is not used again."""

from pathlib import Path

import pytest

from bmslint.cli import main
from bmslint.judge import retired
from bmslint.judge.faults import PackError
from bmslint.judge.pack import load_pack
from bmslint.judge.retired import Retired, load_retired
from bmslint.output.rules_page import rules_page

TEXT = """\
id: heater-without-fuse
title: The heater has no fuse of its own
severity: review
why: A heater that shorts takes the pack's fuse with it.
retired_in: "0.3.0"
retired_because: The format has no fuse of the heater.
instead: [heater-cutout-missing]
"""
RULE = Retired(
    "heater-without-fuse",
    "The heater has no fuse of its own",
    "review",
    "A heater that shorts takes the pack's fuse with it.",
    "0.3.0",
    "The format has no fuse of the heater.",
    ("heater-cutout-missing",),
)
SHOWN = """\
heater-without-fuse: The heater has no fuse of its own

Severity: review
Why: A heater that shorts takes the pack's fuse with it.
No longer run since: 0.3.0
Because: The format has no fuse of the heater.
Instead: heater-cutout-missing
"""


def folder_with(tmp_path: Path, name: str, text: str) -> Path:
    (tmp_path / "retired").mkdir()
    (tmp_path / "retired" / name).write_text(text, encoding="utf-8")
    return tmp_path


def problems(tmp_path: Path, name: str, text: str, running: set[str]) -> list[str]:
    with pytest.raises(PackError) as caught:
        load_retired(running, folder_with(tmp_path, name, text))
    return [str(each) for each in caught.value.problems]


def test_a_retired_rule_is_read_as_written(tmp_path: Path) -> None:
    folder = folder_with(tmp_path, "heater-without-fuse.yaml", TEXT)
    assert load_retired({"heater-cutout-missing"}, folder) == (RULE,)


def test_a_pack_without_retired_rules_has_none(tmp_path: Path) -> None:
    assert load_retired(set(), tmp_path) == ()


def test_the_shipped_ones_are_read_and_name_rules_that_are_run() -> None:
    running = {rule.id for rule in load_pack().rules}
    named = {name for each in load_retired(running) for name in each.instead}
    assert named <= running


def test_a_retired_rule_is_listed_and_shown(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = folder_with(tmp_path, "heater-without-fuse.yaml", TEXT)
    monkeypatch.setattr(retired, "rules_dir", lambda: folder)
    assert main(["rules"]) == 0
    *_, heading, line, count, last = capsys.readouterr().out.split("\n")
    assert (heading, line.split(maxsplit=2), last) == (
        "no longer run",
        ["heater-without-fuse", "review", "The heater has no fuse of its own"],
        "",
    )
    assert count == f"{len(load_pack().rules)} rules"
    assert main(["rules", "heater-without-fuse"]) == 0
    assert capsys.readouterr() == (SHOWN, "")


def test_it_stands_on_the_page_of_rules() -> None:
    page = rules_page(load_pack(), [RULE], {})
    assert page.endswith("""
## retired

### heater-without-fuse

**The heater has no fuse of its own** (review, no longer run)

- Why: A heater that shorts takes the pack's fuse with it.
- Retired in: 0.3.0
- Because: The format has no fuse of the heater.
- Instead: heater-cutout-missing
""")
    assert "\n- [retired](#retired): [heater-without-fuse](#heater-without-fuse)\n" in page


def test_an_id_that_is_run_again_is_refused(tmp_path: Path) -> None:
    assert problems(tmp_path, "heater-without-fuse.yaml", TEXT, {"heater-without-fuse"}) == [
        "retired/heater-without-fuse.yaml:1:5: "
        "id: the rule heater-without-fuse is run; an id is not used again"
    ]


def test_an_id_that_is_not_the_name_of_its_file_is_refused(tmp_path: Path) -> None:
    assert problems(tmp_path, "another.yaml", TEXT, set()) == [
        "retired/another.yaml:1:5: id: the id heater-without-fuse is not the file's name another"
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (TEXT.replace("severity: review", "severity: grave"), "retired/a.yaml:3:11: severity: "),
        (TEXT.replace("why:", "reason:"), "retired/a.yaml:1:1: why: Field required"),
        ("- a\n", "retired/a.yaml:1:1: rule: "),
        ("id: [\n", "retired/a.yaml:"),
    ],
)
def test_a_file_that_is_no_retired_rule_is_told(tmp_path: Path, text: str, told: str) -> None:
    assert problems(tmp_path, "a.yaml", text, set())[0].startswith(told)


def test_a_damaged_one_stops_the_command(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = folder_with(tmp_path, "a.yaml", "- a\n")
    monkeypatch.setattr(retired, "rules_dir", lambda: folder)
    assert main(["rules"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("bmslint: the rules cannot be used, so nothing was judged\nretired/a.yaml:1:1: ")
