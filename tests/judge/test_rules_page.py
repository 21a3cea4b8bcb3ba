"""`rules/README.md` is what its generator gives, and says of each rule what its file says."""

import re
import subprocess
import sys

from bmslint.data import rules_dir
from bmslint.judge.example_names import example_names
from bmslint.judge.pack import load_pack
from bmslint.judge.retired import load_retired
from bmslint.output.rules_page import rules_page

PACK = load_pack()


def test_the_page_is_the_one_that_is_generated() -> None:
    """If this fails: `python -m bmslint.output.rules_page > rules/README.md`."""
    retired = load_retired({rule.id for rule in PACK.rules})
    written = (rules_dir() / "README.md").read_text(encoding="utf-8")
    assert written == rules_page(PACK, retired, example_names())


def test_the_command_prints_the_page() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "bmslint.output.rules_page"], capture_output=True, check=True, timeout=60
    )
    assert run.stdout == (rules_dir() / "README.md").read_bytes()


def test_a_rule_stands_there_whole() -> None:
    """The wording of one rule file, copied by hand."""
    page = rules_page(PACK, [], {"fuse-missing": {"fail": ["no *fuse*"], "pass": ["a fuse", "two"]}})
    (shown,) = re.findall(r"^### fuse-missing\n(.*?)^###", page, re.DOTALL | re.MULTILINE)
    assert (
        shown
        == """
**No fuse stands behind the board** (review)

- Why: The switches of a board usually fail closed, often by the very short circuit that they should open.
- To do: Fit a fuse that can interrupt the pack's voltage and short circuit, close to the cells.
- Does not apply to: none known
- Known false alarms: small packs whose tabs are made to melt; parts of a larger pack that has a fuse
- Source: a second, independent means of opening the main circuit (common practice)
- It speaks: no \\*fuse\\*
- It holds: a fuse; two

"""
    )


def test_every_rule_and_every_example_has_its_place() -> None:
    text = (rules_dir() / "README.md").read_text(encoding="utf-8")
    listed = (rules_dir() / "ids.txt").read_text(encoding="utf-8").split()
    assert sorted(re.findall(r"^### (\S+)$", text, re.MULTILINE)) == listed
    assert set(re.findall(r"\]\(#([^)]+)\)", text)) == set(re.findall(r"^##+ (\S+)$", text, re.MULTILINE))
    plain = text.replace("\\", "")
    absent = [
        (rule, name)
        for rule, states in example_names().items()
        for names in states.values()
        for name in names
        if " ".join(name.split()) not in plain
    ]
    assert absent == []
