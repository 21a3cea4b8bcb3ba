"""What a rule held against what, wherever it was judged."""

from functools import cache

import pytest

from bmslint.data import rules_dir
from bmslint.judge.compared import Compared, compared
from bmslint.judge.inputs import Inputs
from bmslint.judge.judge import judge, judged
from bmslint.judge.judgement import derive_inputs
from bmslint.judge.pack import Pack, load_pack
from bmslint.judge.units import unit_at
from bmslint.settings import Document, read, revalidated

PROFILES = rules_dir().parent / "profiles"


@cache
def pack() -> Pack:
    return load_pack()


@cache
def profile(stem: str) -> Document:
    return read(PROFILES / f"{stem}.yaml")


def inputs(stem: str, changes: dict[str, object] | None = None) -> Inputs:
    document = revalidated(profile(stem), changes or {})
    assert document.problems == ()
    return derive_inputs(document)


def pairs(rule: str, of: Inputs) -> tuple[Compared, ...]:
    found = pack().rule(rule)
    assert found is not None
    return compared(found, of)


def test_a_rule_about_the_file_compares_once() -> None:
    assert pairs("overvoltage-trip-above-cell", inputs("ridge-hut")) == (Compared("", 3.6, 3.65, 3.6, 3.65),)


def test_a_fact_with_a_range_is_compared_at_both() -> None:
    of = inputs("ridge-hut")
    fact = of.facts.groups["heated_warmup"]["coldest_at_release_degC"]
    (found,) = pairs("cold-release-before-core", of)
    assert found == Compared("", fact.value, 0.0, fact.unfavourable, 0.0)  # type: ignore[union-attr]
    assert found.unfavourable_value < found.value  # type: ignore[operator]


def test_each_entry_is_compared_and_one_that_is_none_is_not() -> None:
    late = "temperature-inhibit-acts-late"
    assert pairs(late, inputs("ridge-hut", {"protection.charge_cold.delay_s": 7})) == (
        Compared("protection.charge_cold", 7.0, 60.0, 7.0, 60.0),
        Compared("protection.charge_hot", 2.0, 60.0, 2.0, 60.0),
        Compared("protection.discharge_cold", 2.0, 60.0, 2.0, 60.0),
        Compared("protection.discharge_hot", 2.0, 60.0, 2.0, 60.0),
    )
    assert [each.path for each in pairs(late, inputs("ridge-hut", {"protection.charge_hot": "none"}))] == [
        "protection.charge_cold", "protection.discharge_cold", "protection.discharge_hot",
    ]  # fmt: skip


@pytest.mark.parametrize("rule", ["fuse-missing", "charge-levels-out-of-order"])
def test_a_rule_that_states_no_value_compares_nothing(rule: str) -> None:
    assert pairs(rule, inputs("ridge-hut")) == ()


def test_what_a_verdict_was_made_of_is_kept_beside_it() -> None:
    document = profile("ridge-hut")
    result = judged(document, pack())
    assert result.verdict == judge(document, pack())
    assert result.judgement is not None
    assert [each.finding.rule for each in result.judgement.spoken] == [
        f.rule for f in result.verdict.findings
    ]
    assert result.judgement.outcomes == result.verdict.outcomes
    unusable = judged(read(PROFILES / "absent.yaml"), pack())
    assert (unusable.verdict.word, unusable.judgement) == ("unusable", None)


@pytest.mark.parametrize(
    ("path", "unit"),
    [
        ("facts.heated_warmup.time_to_release_min", "min"),
        ("facts.sensing.no_such", ""),
        ("facts.heated_warmup", ""),
        ("limits.charge_degC.min", "degC"),
        ("limits.charge_max_V", "V"),
        ("protection.short_circuit.delay_us", "us"),
        ("pack.cell.thermal.through_W_per_mK", "W/(m K)"),
        ("pack.cell.resistance_ratio_0degC", ""),
        ("pack.series", ""),
    ],
)
def test_the_unit_of_what_a_rule_names(path: str, unit: str) -> None:
    assert unit_at(path) == unit
