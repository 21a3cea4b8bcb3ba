"""Ids of rules are for ever: each is in rules/ids.txt, and none goes from there."""

from bmslint.data import rules_dir
from bmslint.judge.pack import load_pack

NEVER_REUSED = "rules/ids.txt is sorted, holds each id once, and loses none"


def test_ids_are_listed_once_and_sorted() -> None:
    listed = (rules_dir() / "ids.txt").read_text(encoding="utf-8").splitlines()
    assert listed == sorted(set(listed)), NEVER_REUSED
    retired = {path.stem for path in (rules_dir() / "retired").glob("*.yaml")}
    assert set(listed) == {rule.id for rule in load_pack().rules} | retired, NEVER_REUSED
