"""Folders of one's own: what they add and change, and everything that a hostile or careless one may hold."""

import os
import time
from pathlib import Path

import pytest

from bmslint.data import rules_dir
from bmslint.judge.faults import PackError
from bmslint.judge.own.changes import OwnPack, RuleChange
from bmslint.judge.pack import Pack, load_pack
from bmslint.judge.rule import EACH_ROOTS

RULE = """\
id: {id}
title: A rule of our own
severity: review
require: {require}
at: protection.charge_cold
says: It fails.
why: Because.
remedy: Mend it.
"""
BASE = """\
id: base
title: A rule to be changed
severity: review
parameters: {most_K: {value: 10, unit: K, means: most}}
require: site.coldest_degC > parameters.most_K
at: site
says: More than {parameters.most_K} K.
why: Because.
remedy: Mend it.
"""


def rule(folder: Path, name: str, require: str = "1.0 < 2.0", more: str = "") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    text = RULE.format(id=name, require=require) + more
    (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder


def changes(folder: Path, text: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "changes.yaml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def base(tmp_path: Path) -> Path:
    """A small pack in the place of the built-in one."""
    rule(tmp_path / "base" / "family", "other")
    (tmp_path / "base" / "family" / "base.yaml").write_text(BASE, encoding="utf-8")
    return tmp_path / "base"


def loaded(base: Path, *own: Path) -> Pack:
    return load_pack(base, own)


def problems(base: Path, *own: Path) -> list[str]:
    """What is wrong, with the folders of the test left out of the names."""
    with pytest.raises(PackError) as caught:
        load_pack(base, own)
    return [str(each).replace(f"{base.parent}/", "") for each in caught.value.problems]


def test_rules_are_added_from_the_folder_and_from_one_below(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "flat")
    rule(own / "heat", "below")
    rule(own / ".hidden", "hidden")
    (own / "README.md").write_text("not a rule", encoding="utf-8")
    pack = loaded(base, own)
    assert [(each.id, each.family, each.file) for each in pack.rules] == [
        ("base", "family", "family/base.yaml"),
        ("below", "heat", f"{own}/heat/below.yaml"),
        ("flat", "own", f"{own}/flat.yaml"),
        ("other", "family", "family/other.yaml"),
    ]
    assert pack.own == (OwnPack(str(own), pack.own[0].digest, 2, ()),)
    assert (pack.name, pack.digest) == (base.name, load_pack(base).digest)


def test_severity_and_parameters_are_changed_and_rules_switched_off(base: Path, tmp_path: Path) -> None:
    own = changes(
        tmp_path / "own",
        "rules:\n  other: {switched_off: true, reason: it is judged elsewhere}\n"
        "  base:\n    severity: reject\n    parameters: {most_K: 8}\n    reason: ours are glued\n",
    )
    pack = loaded(base, own)
    (one,) = pack.rules
    assert (one.id, one.severity, one.require.text, one.says.texts) == (
        "base", "reject", "site.coldest_degC > 8.0", ("More than 8 K.",),
    )  # fmt: skip
    assert pack.own[0].changes == (
        RuleChange("base", "parameters.most_K", 10.0, 8.0, "K", "ours are glued"),
        RuleChange("base", "severity", "review", "reject", "", "ours are glued"),
        RuleChange("other", "severity", "review", "switched off", "", "it is judged elsewhere"),
    )


def test_the_order_of_folders_decides_nothing_and_one_named_twice_counts_once(
    base: Path, tmp_path: Path
) -> None:
    one, two = rule(tmp_path / "one", "first"), rule(tmp_path / "two", "second")
    changes(two, "rules:\n  first: {severity: note, reason: a try}\n")
    pack = loaded(base, one, two)
    assert loaded(base, two, one, two / ".." / "two") == pack
    assert [(each.name, each.rules, len(each.changes)) for each in pack.own] == [
        (str(one), 1, 0),
        (str(two), 1, 1),
    ]


def test_the_digest_of_a_folder_changes_with_its_files_and_only_with_them(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "first")
    digest = loaded(base, own).own[0].digest
    (own / "notes.txt").write_text("x", encoding="utf-8")
    assert loaded(base, own).own[0].digest == digest
    rule(own, "first", "1.0 < 3.0")
    assert loaded(base, own).own[0].digest != digest


@pytest.mark.parametrize(
    ("require", "expected"),
    [
        ("facts.heated_warmup.coldest_degC > 1.0", "4:10: require: there is no fact "
         "heated_warmup.coldest_degC; did you mean coldest_at_release_degC?"),
        ("1.0 < facts.heatd_warmup.releases", "4:16: require: there is no group of facts heatd_warmup; "
         "did you mean heated_warmup?"),
        ("1.0 < limits.charge_max", "4:16: require: there is no limit charge_max; "
         "did you mean charge_max_V?"),
        ("1.0 < limits.charge_degC.low", "4:16: require: there is no limit charge_degC.low; "
         "charge_degC has min and max"),
        ("protection.charge_cold.inhibt_below_degC < 1.0", "4:10: require: there is no setting "
         "protection.charge_cold.inhibt_below_degC; did you mean inhibit_below_degC?"),
        ("pack.series + 1 > 2.0", "4:24: require: the whole number 1 beside an arithmetic sign; "
         "write 1.0, as every number in a settings file is decimal"),
        ("size(sensors) + 1.0 > 2.0", "4:24: require: found no matching overload for '_+_' applied to "
         "'(int, double)'"),
        ("item > 1.0", "4:10: require: item without `each`"),
        ("parameters.most > 1.0", "4:10: require: parameters.most is no parameter of the rule; it has none"),
        ("__import__('os').system('true') == 0", "4:20: require: undeclared reference to '__import__'"),
    ],
)  # fmt: skip
def test_a_rule_that_names_what_there_is_not_is_told_at_its_place(
    base: Path, tmp_path: Path, require: str, expected: str
) -> None:
    own = rule(tmp_path / "own", "tried", require)
    assert problems(base, own) == [f"own/tried.yaml:{expected}"]


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ("also_at: [heater.powr_W]\n", "9:11: also_at[0]: there is no setting heater.powr_W; "
         "did you mean power_W?"),
        ("needs: [facts.none]\n", "9:8: needs: there is no group of facts none"),
        ("each: sensor.*\n", "9:7: each: sensor.* does not begin with "
         f"{', '.join(EACH_ROOTS[:-1])} or {EACH_ROOTS[-1]}"),
        ("each: protection.*.sensor\n", "9:7: each: there is no setting protection.*.sensor"),
        ("each: sensors.*\nvalue: item.accuracy\n", "10:8: value: item.accuracy is no setting of sensors.*"),
        ("suggest: [{set: heater.power, to: facts.inverse.largest_heater_W}]\n", "9:17: suggest[0].set: "
         "there is no setting heater.power; did you mean power_W?"),
        ("parameters: {most: {value: 1, unit: K, means: most}}\n", "9:20: parameters.most: "
         "no expression and no text names it"),
        ("parameters: {most: {value: .inf, unit: K, means: most}}\n", "9:28: expected a finite number, "
         "came .inf"),
        ("covers: [gone]\n", "9:10: covers gone, which is not a rule of this pack"),
        ("surprise: 1\n", "9:11: surprise: Extra inputs are not permitted"),
    ],
)  # fmt: skip
def test_anything_else_in_a_rule_is_told_at_its_place(
    base: Path, tmp_path: Path, more: str, expected: str
) -> None:
    assert problems(base, rule(tmp_path / "own", "tried", more=more)) == [f"own/tried.yaml:{expected}"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("rules:\n  gone: {severity: note, reason: x}\n", "2:9: rules.gone: there is no such rule"),
        ("rules:\n  othr: {severity: note, reason: x}\n", "2:9: rules.othr: there is no such rule; "
         "did you mean other?"),
        ("rules:\n  base: {severity: note}\n", "2:9: rules.base.reason: Field required"),
        ("rules:\n  base: {severity: fatal, reason: x}\n", "2:20: rules.base.severity: "
         "Input should be 'reject', 'review' or 'note'"),
        ("rules:\n  base: {reason: x}\n", "2:9: rules.base: nothing is changed; "
         "give severity, parameters or switched_off"),
        ("rules:\n  base: {switched_off: true, severity: note, reason: x}\n", "2:9: rules.base: "
         "a rule that is switched off has nothing else to change"),
        ("rules:\n  base: {switched_off: false, reason: x}\n", "2:24: rules.base.switched_off: "
         "Input should be True"),
        ("rules:\n  base: {parameters: {least_K: 1}, reason: x}\n", "2:32: rules.base.parameters.least_K: "
         "the rule has no such parameter; its parameters are most_K"),
        ("rules:\n  other: {parameters: {most_K: 1}, reason: x}\n", "2:32: rules.other.parameters.most_K: "
         "the rule has no such parameter; it has none"),
        ("rules:\n  base: {parameters: {most_K: '8'}, reason: x}\n", "2:31: rules.base.parameters.most_K: "
         "Input should be a valid number"),
        ("rules: {}\n", "1:8: rules: Dictionary should have at least 1 item after validation, not 0"),
        ("- a\n", "1:1: changes: Input should be a valid dictionary"),
    ],
)  # fmt: skip
def test_a_change_that_makes_no_sense_is_told_at_its_place(
    base: Path, tmp_path: Path, text: str, expected: str
) -> None:
    assert problems(base, changes(tmp_path / "own", text)) == [f"own/changes.yaml:{expected}"]


def test_no_rule_left_is_nothing_to_judge_by(base: Path, tmp_path: Path) -> None:
    off = "{switched_off: true, reason: x}"
    own = changes(tmp_path / "own", f"rules:\n  base: {off}\n  other: {off}\n")
    assert problems(base, own) == ["own:1:1: every rule is switched off, so nothing is left to judge"]


def test_two_folders_that_change_one_rule_are_an_error(base: Path, tmp_path: Path) -> None:
    for name, severity in (("one", "note"), ("two", "reject")):
        changes(tmp_path / name, f"rules:\n  base: {{severity: {severity}, reason: x}}\n")
    assert problems(base, tmp_path / "two", tmp_path / "one") == [
        f"two/changes.yaml:2:9: rules.base: {tmp_path}/one changes this rule already; "
        "change it in one folder".replace(f"{tmp_path}/", "")
    ]


def test_two_rules_of_one_id_are_an_error(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "other")
    assert problems(base, own) == [
        "own/other.yaml:1:1: a second rule other; the first is in family/other.yaml"
    ]
    one, two = rule(tmp_path / "one", "same"), rule(tmp_path / "two", "same")
    assert problems(base, one, two) == [
        "two/same.yaml:1:1: a second rule same; the first is in one/same.yaml"
    ]


def test_rules_that_loop_through_covers_are_an_error(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "first", more="covers: [second]\n")
    rule(own, "second", more="covers: [first]\n")
    assert problems(base, own) == [
        "own/first.yaml:9:10: covers second, which covers first in turn",
        "own/second.yaml:9:10: covers first, which covers second in turn",
    ]


def test_a_web_of_covers_is_followed_in_no_time(base: Path, tmp_path: Path) -> None:
    """Each rule covers fifty after it: 10^80 ways lead through them. At the end two cover each other."""
    names = [f"r{number:03}" for number in range(400)]
    own = tmp_path / "own"
    for number, name in enumerate(names):
        rule(own, name, more=f"covers: [{', '.join(names[number + 1 : number + 51])}]\n")
    start = time.process_time()
    loaded(base, own)
    assert time.process_time() - start < 20.0, "loading takes 1 s, following every way would take for ever"
    rule(own, names[-1], more=f"covers: [{names[-2]}]\n")
    assert problems(base, own) == [
        "own/r398.yaml:9:10: covers r399, which covers r398 in turn",
        "own/r399.yaml:9:10: covers r398, which covers r399 in turn",
    ]


def test_of_very_many_faults_the_first_are_told(base: Path, tmp_path: Path) -> None:
    more = f"also_at: [{', '.join(f'heater.x{number}' for number in range(50))}]\n"
    told = problems(base, rule(tmp_path / "own", "tried", more=more))
    assert told == [
        "own/tried.yaml:1:1: and 30 more faults",
        *(
            f"own/tried.yaml:9:{11 + sum(len(f'heater.x{i}, ') for i in range(number))}: "
            f"also_at[{number}]: there is no setting heater.x{number}"
            for number in range(20)
        ),
    ]


def test_very_many_wildcards_lead_nowhere(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "tried", more=f"each: sensors{'.*' * 5000}\n")
    assert problems(base, own) == [f"own/tried.yaml:9:7: each: there is no setting sensors{'.*' * 5000}"]


def test_very_many_entries_are_refused(base: Path, tmp_path: Path) -> None:
    ways = ", ".join("{set: heater.power_W, to: '1.0'}" for _ in range(11))
    own = rule(tmp_path / "own", "tried", more=f"suggest: [{ways}]\n")
    assert problems(base, own) == [
        "own/tried.yaml:9:10: suggest: List should have at most 10 items after validation, not 11"
    ]


@pytest.mark.parametrize("name", ["gone", "file.txt"])
def test_a_folder_that_is_none_is_told(base: Path, tmp_path: Path, name: str) -> None:
    (tmp_path / "file.txt").write_text("x", encoding="utf-8")
    why = {"gone": "No such file or directory", "file.txt": "Not a directory"}[name]
    assert problems(base, tmp_path / name) == [f"{name}:1:1: this folder cannot be read: {why}"]


def test_an_empty_folder_is_told(base: Path, tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    assert problems(base, tmp_path / "own") == [
        "own:1:1: there is neither a rule file nor changes.yaml in this folder"
    ]


def test_what_could_be_meant_as_a_rule_is_never_left_out_in_silence(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "good")
    (own / "other-name.yml").write_text("x", encoding="utf-8")
    rule(own / "heat" / "deep" / "deeper", "lost")
    changes(own / "heat", "rules: {}\n")
    rule(own / "chemistries", "lfp")
    (own / "folder.yaml").mkdir()
    assert problems(base, own) == [
        "own/chemistries/lfp.yaml:1:1: a folder of one's own holds rules; "
        "the tables of chemistries are built in",
        "own/folder.yaml:1:1: not a file",
        "own/heat/changes.yaml:1:1: changes.yaml lies in the folder itself",
        "own/heat/deep:1:1: rule files lie in the folder itself or one folder below, and these lie deeper",
        "own/other-name.yml:1:1: the name of a rule file ends in .yaml",
    ]  # fmt: skip


def test_nothing_outside_the_folder_is_read(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "good")
    (tmp_path / "secret.yaml").write_text("password: hunter", encoding="utf-8")
    rule(tmp_path / "elsewhere", "tempting")
    (own / "file.yaml").symlink_to("../secret.yaml")
    (own / "folder").symlink_to("../elsewhere")
    (own / "gone.yaml").symlink_to("nowhere.yaml")
    (own / "itself.yaml").symlink_to("itself.yaml")
    os.mkfifo(own / "pipe.yaml")
    assert problems(base, own) == [
        "own/file.yaml:1:1: a link that leads out of the folder",
        "own/folder:1:1: a link that leads out of the folder",
        "own/gone.yaml:1:1: a link that leads nowhere",
        "own/itself.yaml:1:1: a link that leads nowhere",
        "own/pipe.yaml:1:1: not a file",
    ]


def test_a_link_inside_the_folder_is_a_second_rule_and_a_folder_may_be_a_link(
    base: Path, tmp_path: Path
) -> None:
    own = rule(tmp_path / "own", "good")
    (tmp_path / "link").symlink_to("own")
    assert [each.name for each in loaded(base, tmp_path / "link").own] == [f"{tmp_path}/link"]
    (own / "family").mkdir()
    (own / "family" / "good.yaml").symlink_to("../good.yaml")
    assert problems(base, own) == [
        "own/family/good.yaml:1:1: a second rule good; the first is in own/good.yaml"
    ]


def test_a_file_of_10_mb_is_told_and_not_read(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "good")
    with (own / "large.yaml").open("wb") as file:
        file.truncate(10_000_000)
    assert problems(base, own) == ["own/large.yaml:1:1: a file of more than 256 KiB; is it the right file?"]


def test_a_folder_of_10_mb_in_small_files_is_told(base: Path, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    for number in range(50):
        (own / f"r{number:02}.yaml").write_bytes(b"#" * 200_000)
    told = problems(base, own)
    assert (
        told[-1]
        == "own/r20.yaml:1:1: the files of own have more than 4 MiB together; is it the right folder?"
    )
    assert len(told) == 21


def test_a_folder_of_too_many_files_is_told(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "r")
    for number in range(1000):
        (own / f"s{number:04}.yaml").write_bytes(b"{")
    assert "own/s0999.yaml:1:1: more than 1000 files in own" in problems(base, own)


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"\xff\xfe\x00", "1:1: expected UTF-8 text, came UTF-16 text; save the file as UTF-8"),
        (b"id: &a [*a]\n", "1:9: expected a value that does not hold itself, came *a, which stands "
         "inside its own anchor; write the value out"),
        (b"[" * 200_000, "1:41: expected at most 40 levels of nesting, came more; is it the right file?"),
        (b"", "1:1: expected a document, came an empty file; is it the right file?"),
        (b"null\n", "1:1: expected a document, came an empty file; is it the right file?"),
        (b"- a\n", "1:1: rule: Input should be a valid dictionary or object to extract fields from"),
        (b"id: tried\nid: tried\n", '2:1: expected each key once in a mapping, came "id" again, '
         "first on line 1; remove one of them"),
        (b"id: !!python/object/apply:os.system [true]\n", '1:5: expected a value without a tag, came the tag '
         '"tag:yaml.org,2002:python/object/apply:os.system"; remove the tag, and write text in quotes'),
    ],
)  # fmt: skip
def test_what_is_no_rule_at_all_is_told(base: Path, tmp_path: Path, content: bytes, expected: str) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "tried.yaml").write_bytes(content)
    assert problems(base, own) == [f"own/tried.yaml:{expected}"]


def test_a_key_without_a_value_is_a_key_left_out(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "tried")
    text = (own / "tried.yaml").read_text(encoding="utf-8")
    (own / "tried.yaml").write_text(text.replace("at: protection.charge_cold", "at:"), encoding="utf-8")
    assert problems(base, own) == ["own/tried.yaml:1:1: rule: a rule without `each` needs `at`"]


def test_a_name_that_is_not_text_is_told(base: Path, tmp_path: Path) -> None:
    own = rule(tmp_path / "own", "good")
    (own / "good.yaml").rename(os.fsdecode(os.fsencode(own) + b"/go\xffd.yaml"))
    assert problems(base, own) == ["own/go\udcffd.yaml:1:5: id: the id good is not the file's name go\udcffd"]


def test_the_built_in_rules_would_pass_as_rules_of_one_s_own(tmp_path: Path) -> None:
    """The names that a rule of one's own may use are those that the built-in ones use."""
    from bmslint.judge.own.known import check_names
    from bmslint.judge.read import read_rule
    from bmslint.judge.rule import Faults

    found = {}
    for each in load_pack().rules:
        faults = Faults()
        check_names(each, read_rule((rules_dir() / each.file).read_bytes(), each.file).data, faults)
        if faults.found:
            found[each.id] = [fault.what for _, fault in faults.found]
    assert found == {}
