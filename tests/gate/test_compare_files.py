"""Two sides of settings files compared: what came, went, stayed, and what moved with it."""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.facts.quantity import Facts, Quantity
from bmslint.gate.changes import SettingChange
from bmslint.gate.compare import FileComparison, Side, compare, gathered
from bmslint.gate.facts_changed import changed_facts, deciding_facts
from bmslint.judge.finding import Verdict
from bmslint.judge.identity import identity
from bmslint.judge.judge import judge
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import read
from bmslint.settings.places import Position

TODAY = date(2026, 7, 1)
PROFILES = rules_dir().parent / "profiles"
HUT = (PROFILES / "ridge-hut.yaml").read_text(encoding="utf-8")
COLD = "charge_cold: {inhibit_below_degC: 4, release_above_degC: 7,"


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack()


def compared(folder: Path, old: dict[str, str], new: dict[str, str], pack: Pack) -> list[FileComparison]:
    """Write two folders and compare them."""
    sides = []
    for name, texts in (("old", old), ("new", new)):
        (folder / name).mkdir()
        for file, text in texts.items():
            (folder / name / file).write_text(text, encoding="utf-8")
        sides.append(Side(name, {file: folder / name / file for file in texts}))
    before, after = sides
    return list(compare(before, after, pack, today=TODAY))


def told(file: FileComparison) -> dict[str, Any]:
    """A comparison with findings by what they are known by."""
    return {
        "state": file.state,
        "verdicts": [each and each.word for each in (file.was, file.now)],
        "came": [identity(each) for each in file.came],
        "went": [identity(each) for each in file.went],
        "stayed": [(was.severity, now.severity, identity(now)) for was, now in file.stayed],
        "taken_on": [identity(each) for each in file.taken_on],
        "unjudged": [each.rule for each in file.unjudged],
        "settings": [(each.path, each.direction) for each in file.settings],
        "facts": [(each.fact, each.side) for each in file.facts],
    }


SPREAD = ("note", "note", "spread-while-heating heater.power_W")
NOTHING: dict[str, Any] = {
    "state": "changed",
    "verdicts": ["accepted", "accepted"],
    "came": [],
    "went": [],
    "stayed": [SPREAD],
    "taken_on": [],
    "unjudged": [],
    "settings": [],
    "facts": [],
}
RELEASE = "protection.charge_cold.release_above_degC"
CHATTERS = f"cold-release-chatters {RELEASE}"
LOWER = HUT.replace(COLD, COLD.replace("7", "4.5"))


def test_a_lower_release_is_told_whole(tmp_path: Path, pack: Pack) -> None:
    (file,) = compared(tmp_path, {"a.yaml": HUT}, {"a.yaml": LOWER}, pack)
    assert file.name == "a.yaml"
    assert told(file) == {
        **NOTHING,
        "verdicts": ["accepted", "review"],
        "came": [CHATTERS],
        "settings": [(RELEASE, "less safe")],
        "facts": [
            ("ambient_warmup.coldest_at_release_degC", "worse"),
            ("heated_warmup.coldest_at_release_degC", "worse"),
        ],
    }
    assert file.settings == (
        SettingChange(
            RELEASE,
            7.0,
            4.5,
            "less safe",
            "the lower the threshold, the colder the cells that carry current",
            Position(str(tmp_path / "new" / "a.yaml"), 59, 60),
            True,
        ),
    )


def test_the_way_back_is_the_opposite(tmp_path: Path, pack: Pack) -> None:
    (file,) = compared(tmp_path, {"a.yaml": LOWER}, {"a.yaml": HUT}, pack)
    assert told(file) == {
        **NOTHING,
        "verdicts": ["review", "accepted"],
        "went": [CHATTERS],
        "settings": [(RELEASE, "safer")],
        "facts": [
            ("ambient_warmup.coldest_at_release_degC", "better"),
            ("heated_warmup.coldest_at_release_degC", "better"),
        ],
    }


def test_moved_lines_and_comments_change_nothing(tmp_path: Path, pack: Pack) -> None:
    (file,) = compared(tmp_path, {"a.yaml": HUT}, {"a.yaml": f"# a line\n\n{HUT}"}, pack)
    assert told(file) == {**NOTHING, "state": "unchanged"}


TAKEN_ON = "accepted: [{rule: cold-release-chatters, reason: a trial, by: engineer, until: 2027-03-31}]\n"


def test_what_a_person_took_on_is_not_told_as_gone(tmp_path: Path, pack: Pack) -> None:
    (file,) = compared(tmp_path, {"a.yaml": LOWER}, {"a.yaml": LOWER + TAKEN_ON}, pack)
    assert told(file) == {
        **NOTHING,
        "verdicts": ["review", "accepted"],
        "taken_on": [CHATTERS],
        "settings": [("accepted[rule=cold-release-chatters]", "less safe")],
    }


def test_a_rule_that_lacks_data_now_is_not_told_as_gone(tmp_path: Path, pack: Pack) -> None:
    less = HUT.replace("site: {coldest_degC: -15, hottest_degC: 30, ", "site: {hottest_degC: 30, ")
    (file,) = compared(tmp_path, {"a.yaml": HUT}, {"a.yaml": less}, pack)
    assert file.now is not None
    assert [each.rule for each in file.unjudged] == [each.rule for each in file.now.not_judged]
    assert {each.severity for each in file.unjudged} == {"reject", "review", "note"}
    assert [(each.path, each.was, each.now, each.direction) for each in file.settings] == [
        ("site.coldest_degC", -15.0, None, "depends")
    ]


def test_files_that_came_and_went_are_told_with_all_findings(tmp_path: Path, pack: Pack) -> None:
    came, went = compared(tmp_path, {"b.yaml": LOWER}, {"a.yaml": LOWER}, pack)
    both = [CHATTERS, SPREAD[2]]
    new = {**NOTHING, "state": "came", "verdicts": [None, "review"], "stayed": [], "came": both}
    old = {**NOTHING, "state": "went", "verdicts": ["review", None], "stayed": [], "went": both}
    assert (came.name, told(came)) == ("a.yaml", new)
    assert (went.name, told(went)) == ("b.yaml", old)


def test_a_file_that_could_not_be_read_is_compared_with_nothing(tmp_path: Path, pack: Pack) -> None:
    broken = HUT.replace("series: 8", "series: eight")
    mended, damaged = compared(
        tmp_path, {"a.yaml": broken, "b.yaml": LOWER}, {"a.yaml": LOWER, "b.yaml": broken}, pack
    )
    empty = {**NOTHING, "stayed": []}
    assert told(mended) == {**empty, "verdicts": ["unusable", "review"], "came": [CHATTERS, SPREAD[2]]}
    assert told(damaged) == {**empty, "verdicts": ["review", "unusable"]}


def test_a_finding_that_became_more_severe_stayed_and_is_raised(tmp_path: Path, pack: Pack) -> None:
    """With 12 degC the coldest cell is warm enough at nominal properties, with 9 degC not even there."""
    skin = HUT.replace("sensors: [core, post], decided_by: lowest, hold_s", "sensors: [skin], hold_s")
    texts = [skin.replace(COLD, COLD.replace("7", value)) for value in ("12", "9")]
    (file,) = compared(tmp_path, {"a.yaml": texts[0]}, {"a.yaml": texts[1]}, pack)
    assert told(file) == {
        **NOTHING,
        "verdicts": ["review", "rejected"],
        "stayed": [("review", "reject", f"cold-release-before-core {RELEASE}"), SPREAD],
        "settings": [(RELEASE, "less safe")],
        "facts": [
            ("ambient_warmup.coldest_at_release_degC", "worse"),
            ("heated_warmup.coldest_at_release_degC", "worse"),
            ("heated_warmup.surface_max_degC", "better"),
        ],
    }
    assert [each.raised for each in file.stayed] == [True, False]


def test_unchanged_files_are_counted_with_their_findings(tmp_path: Path, pack: Pack) -> None:
    old = {"a.yaml": HUT, "b.yaml": LOWER, "c.yaml": HUT}
    files = compared(tmp_path, old, {**old, "c.yaml": LOWER}, pack)
    whole = gathered("then", "now", files)
    assert (whole.old, whole.new, whole.files) == ("then", "now", (files[2],))
    assert (whole.unchanged, whole.still) == (2, {"reject": 0, "review": 1, "note": 2})


def test_unchanged_files_may_be_judged_elsewhere_and_come_last(tmp_path: Path, pack: Pack) -> None:
    names = ("a.yaml", "b.yaml", "c.yaml")
    for name in names:
        (tmp_path / name).write_text(HUT, encoding="utf-8")
    (tmp_path / "old.yaml").write_text(LOWER, encoding="utf-8")
    new = Side("new", {name: tmp_path / name for name in names})
    old = Side("old", {**new.files, "b.yaml": tmp_path / "old.yaml"})
    asked: list[Path] = []

    def elsewhere(paths: Sequence[Path]) -> Iterator[Verdict]:
        asked.extend(paths)
        yield judge(read(paths[0]), pack, today=TODAY)
        yield Verdict(str(paths[1]), "unusable")  # as of a process that did not come to its end

    files = list(compare(old, new, pack, today=TODAY, elsewhere=elsewhere))
    assert asked == [tmp_path / "a.yaml", tmp_path / "c.yaml"]
    here = list(compare(old, new, pack, today=TODAY))
    unusable = Verdict(str(tmp_path / "c.yaml"), "unusable")
    assert files == [here[1], here[0], FileComparison("c.yaml", "changed", unusable, unusable)]


def test_a_fact_moves_at_its_value_or_at_its_unfavourable_end(pack: Pack) -> None:
    def facts(value: float, low: float) -> Facts:
        quantity = Quantity(value, low, value, "degC", "declared", "low")
        return Facts({"heated_warmup": {"coldest_at_release_degC": quantity}})

    def moved(old: Facts, new: Facts) -> list[tuple[Any, ...]]:
        group = old.groups["heated_warmup"]
        return [each[3:] for each in changed_facts(old, new, {f"heated_warmup.{name}" for name in group})]

    def charge(value: float, high: float) -> Facts:
        quantity = Quantity(value, value, high, "Ah", "declared", "high")
        return Facts({"heated_warmup": {"above_allowed_Ah": quantity}})

    assert moved(facts(2.1, 1.0), facts(-4.0, -6.0)) == [("worse", 2.1, -4.0, 1.0, -6.0)]
    assert moved(facts(2.1, 1.0), facts(2.5, 0.6)) == []  # less than 0.5 K
    assert moved(facts(2.1, 1.0), facts(2.1, 1.5)) == [("better", 2.1, 2.1, 1.0, 1.5)]
    assert moved(facts(2.1, 1.0), facts(3.1, -9.0)) == [("better", 2.1, 3.1, 1.0, -9.0)]
    words = [Quantity(each, each, each, "", "declared", "low") for each in ("core", "skin")]
    assert moved(*(Facts({"heated_warmup": {"sensor": each}}) for each in words)) == []
    assert moved(charge(10.0, 10.0), charge(10.15, 10.15)) == []  # more than 0.1 Ah, less than 2 %
    assert moved(charge(1.0, 1.0), charge(1.05, 1.05)) == []  # more than 2 %, less than 0.1 Ah
    assert moved(charge(1.0, 1.0), charge(1.2, 1.2)) == [("worse", 1.0, 1.2, 1.0, 1.2)]


def test_facts_that_decide_are_those_that_rejecting_rules_rest_on(pack: Pack) -> None:
    decide = deciding_facts(pack.rules)
    assert {"heated_warmup.coldest_at_release_degC", "pack_voltage.charger_per_cell_V"} <= decide
    assert deciding_facts(rule for rule in pack.rules if rule.severity != "reject") == frozenset()
    assert "heated_warmup.energy_Wh" not in decide
