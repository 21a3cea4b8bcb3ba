"""A rule pack loads whole, or every reason why not is told with file, line and column."""

from pathlib import Path
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.judge.faults import PackError
from bmslint.judge.pack import load_pack
from bmslint.judge.read import COMPILED
from bmslint.judge.rulefile import RuleFile
from bmslint.settings.compiled import dumps, generate

ROOTS = (
    "pack, heater, sensors, protection, charge_current, charge_paths, balancing, full_charge, charger, load, "
    "storage, site, limits"
)
REVIEW = """\
id: {id}
title: A rule of the tests
severity: review
require: {require}
at: protection.charge_cold
says: {says}
why: Because.
remedy: {remedy}
"""


def written(folder: Path, name: str = "tried", text: str = REVIEW, **parts: Any) -> Path:
    path = folder / "tests" / f"{name}.yaml"
    path.parent.mkdir(exist_ok=True)
    filled = {"id": name, "require": "1.0 < 2.0", "says": "It fails.", "remedy": "Mend it.", **parts}
    path.write_text(text.format(**filled) if text is REVIEW else text, encoding="utf-8")
    return folder


def problems_of(folder: Path) -> list[str]:
    with pytest.raises(PackError) as caught:
        load_pack(folder)
    return [str(problem) for problem in caught.value.problems]


def test_a_pack_loads_with_its_rules_sorted_by_id(tmp_path: Path) -> None:
    written(tmp_path, "second")
    written(tmp_path, "first")
    pack = load_pack(tmp_path)
    assert (pack.name, [rule.id for rule in pack.rules]) == (tmp_path.name, ["first", "second"])
    assert [rule.family for rule in pack.rules] == ["tests", "tests"]


def test_the_digest_changes_with_any_file_and_only_then(tmp_path: Path) -> None:
    before = load_pack(written(tmp_path)).digest
    assert load_pack(tmp_path).digest == before
    (tmp_path / "chemistries").mkdir()
    (tmp_path / "chemistries" / "new.yaml").write_text("a: 1", encoding="utf-8")
    assert load_pack(tmp_path).digest != before


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ({"require": "fact.x > 1.0"}, "4:14: require: undeclared reference to 'fact.x'"),
        ({"require": "facts.x + 1 > 2.0"}, "4:20: require: the whole number 1 beside an arithmetic sign; "
         "write 1.0, as every number in a settings file is decimal"),
        ({"require": '"facts.x >"'}, "4:20: require: Syntax error: mismatched input '<EOF>'"),
        ({"says": '"At {facts.x:.9f}."'}, "6:11: says: '.9f' is not a number format; "
         "known are .0f, .1f, .2f, .3f"),
        ({"remedy": "Mend it.\nneeds: [load, protecton.charge_cold]"}, "9:8: needs: protecton.charge_cold "
         f"does not begin with {ROOTS}, facts or item"),
        ({"remedy": "Mend it.\neach: facts.run.*"}, "9:7: each: facts.run.* "
         f"does not begin with {ROOTS.removesuffix(', limits')}, limits or entries"),
        ({"id": "other"}, "1:5: id: the id other is not the file's name tried"),
        ({"require": "[1.0]"}, "4:10: require: Input should be a valid string"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, parts: dict, expected: str) -> None:
    assert problems_of(written(tmp_path, **parts)) == [f"tests/tried.yaml:{expected}"]


def test_everything_wrong_is_told_at_once(tmp_path: Path) -> None:
    written(tmp_path, "first", require="fact.x > 1.0", says="'{x}'")
    written(tmp_path, "second", text="id: second\nseverity: reject\nsurprise: 1\n")
    written(tmp_path, "third", text="id: [")
    assert problems_of(tmp_path) == [
        "tests/first.yaml:4:14: require: undeclared reference to 'fact.x'",
        "tests/first.yaml:6:8: says: {x} is not a path of known names",
        "tests/second.yaml:1:1: does_not_apply_to: Field required",
        "tests/second.yaml:1:1: known_false_alarms: Field required",
        "tests/second.yaml:1:1: remedy: Field required",
        "tests/second.yaml:1:1: require: Field required",
        "tests/second.yaml:1:1: says: Field required",
        "tests/second.yaml:1:1: sources: Field required",
        "tests/second.yaml:1:1: title: Field required",
        "tests/second.yaml:1:1: why: Field required",
        "tests/second.yaml:3:11: surprise: Extra inputs are not permitted",
        "tests/third.yaml:2:1: expected a value, came the end of the file; "
        "check the brackets, commas and quotes before it",
    ]


def test_a_reject_needs_a_source(tmp_path: Path) -> None:
    text = REVIEW.format(id="tried", require="1.0 < 2.0", says="It fails.", remedy="Mend it.").replace(
        "review", "reject"
    )
    text += "does_not_apply_to: none known\nknown_false_alarms: none known\nsources: []\n"
    assert problems_of(written(tmp_path, text=text)) == [
        "tests/tried.yaml:11:10: sources: List should have at least 1 item after validation, not 0"
    ]


def test_two_rules_of_one_id_are_an_error(tmp_path: Path) -> None:
    written(tmp_path)
    (tmp_path / "voltage").mkdir()
    (tmp_path / "tests" / "tried.yaml").rename(tmp_path / "voltage" / "tried.yaml")
    written(tmp_path)
    assert problems_of(tmp_path) == [
        "voltage/tried.yaml:1:1: a second rule tried; the first is in tests/tried.yaml"
    ]


def test_rules_that_silence_each_other_or_nothing_are_an_error(tmp_path: Path) -> None:
    for name, covers in {"first": "second", "second": "third", "third": "first", "fourth": "gone"}.items():
        text = (
            REVIEW.format(id=name, require="1.0 < 2.0", says="It fails.", remedy="Mend it.")
            + f"covers: [{covers}]\n"
        )
        written(tmp_path, name, text=text)
    assert problems_of(tmp_path) == [
        "tests/first.yaml:9:10: covers second, which covers first in turn",
        "tests/fourth.yaml:9:10: covers gone, which is not a rule of this pack",
        "tests/second.yaml:9:10: covers third, which covers second in turn",
        "tests/third.yaml:9:10: covers first, which covers third in turn",
    ]


def test_an_empty_folder_is_no_pack(tmp_path: Path) -> None:
    assert problems_of(tmp_path) == [f"{tmp_path}:1:1: there is no rule file in this folder"]


def test_the_compiled_schema_is_what_the_model_gives() -> None:
    expected = dumps(generate(RuleFile))
    assert COMPILED.read_text(encoding="utf-8") == expected, "run python -m bmslint.judge.rulefile"


def test_the_model_and_the_compiled_schema_agree_on_every_rule() -> None:
    """The models are the truth; the files are read without them."""
    from bmslint.judge.pack import rule_files
    from bmslint.judge.read import read_rule
    from bmslint.settings.tree import parse

    for path in rule_files(rules_dir()):
        rule = parse(path.read_bytes(), path.name)
        model = RuleFile.model_validate({"rule": rule.data}).model_dump(exclude_unset=True)["rule"]
        assert read_rule(path.read_bytes(), path.name).data == model
