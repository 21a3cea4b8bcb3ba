"""Every small damage to a rule is noticed by one of the rule's own examples."""

import json
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from mutants import mutants

from bmslint.data import rules_dir
from bmslint.judge.entry_names import about_entries
from bmslint.judge.evaluate import evaluate
from bmslint.judge.examples import Runner, patched
from bmslint.judge.faults import PackError
from bmslint.judge.inputs import Inputs
from bmslint.judge.judgement import derive_inputs, judge_rules
from bmslint.judge.pack import load_pack, rule_files
from bmslint.judge.rule import Rule
from bmslint.settings import read
from bmslint.settings.tree import parse

PROFILES = rules_dir().parent / "profiles"
FILES = {path.stem: path for path in rule_files(rules_dir())}
FINER_THAN_THE_MODEL = (
    "no example stands so near to the limit: each refinement of the model, which moves a computed "
    "temperature by hundredths of a kelvin, would break it"
)
COMPUTED = {
    "brought-in-release-before-core": (
        "not_below(facts.ambient_warmup.coldest_at_release_degC, limits.charge_degC.min, {})",
        ("0.0", "0.1"),
    ),
    "charge-heats-cell-beyond-limit": (
        "not_above(facts.hot_charge.hottest_in_full_run_degC, limits.charge_degC.max, {})",
        ("0.0",),
    ),
    "cold-cells-see-more-voltage": (
        "facts.voltage_step.coldest_above_hottest_mV {} 30.0",
        ("<",),
    ),
    "cold-release-before-core": (
        "not_below(facts.heated_warmup.coldest_at_release_degC, limits.charge_degC.min, {})",
        ("0.0", "0.1"),
    ),
    "cold-within-hours": ("facts.cool_down.hours_to_inhibit {} 2.0", (">",)),
    "discharge-heats-cell-beyond-limit": (
        "not_above(facts.hot_discharge.hottest_in_full_run_degC, limits.discharge_degC.max, {})",
        ("0.0",),
    ),
    "heater-switches-too-often": (
        "facts.heated_warmup.heater_switches_per_h {}",
        ("< 12.0", "<= 11.9", "<= 12.1"),
    ),
    "holding-warm-empties-pack": (
        "facts.cool_down.holding_Wh_per_day {} 0.1 * facts.block.energy_Wh",
        ("<",),
    ),
    "spread-while-heating": ("not_above(facts.heated_warmup.spread_at_release_K, 10.0, {})", ("0.0",)),
    "surface-hotter-than-cell-bears": (
        "not_above(facts.heated_warmup.surface_max_degC, limits.discharge_degC.max, {})",
        ("0.0", "0.5"),
    ),
    "surface-hotter-than-charging-allows": (
        "not_above(facts.heated_warmup.surface_max_degC, limits.charge_degC.max, {})",
        ("0.0", "0.5"),
    ),
    "heated-current-above-cell": (
        "not_above(facts.heated_warmup.excess_current_A, 0.0, 0.01){}",
        (
            "",
            " || facts.heated_warmup.above_allowed_Ah < 0.001 * facts.block.capacity_Ah",
            " || facts.heated_warmup.above_allowed_Ah <= 0.000 * facts.block.capacity_Ah",
            " || facts.heated_warmup.above_allowed_Ah <= 0.002 * facts.block.capacity_Ah",
            " || facts.heated_warmup.above_allowed_Ah <= 0.001 / facts.block.capacity_Ah",
        ),
    ),
    "brought-in-current-above-cell": (
        "not_above(facts.ambient_warmup.excess_current_A, 0.0, 0.01){}",
        (
            "",
            " || facts.ambient_warmup.above_allowed_Ah < 0.001 * facts.block.capacity_Ah",
            " || facts.ambient_warmup.above_allowed_Ah <= 0.000 * facts.block.capacity_Ah",
            " || facts.ambient_warmup.above_allowed_Ah <= 0.002 * facts.block.capacity_Ah",
            " || facts.ambient_warmup.above_allowed_Ah <= 0.001 / facts.block.capacity_Ah",
        ),
    ),
    "heating-trips-sensor-difference": (
        "not_above(facts.heated_warmup.spread_at_release_K, protection.sensor_difference.trip_above_K, {})",
        ("0.0",),
    ),
    "warming-trips-sensor-difference": (
        "not_above(facts.ambient_warmup.spread_at_release_K, protection.sensor_difference.trip_above_K, {})",
        ("0.0",),
    ),
    "warm-up-takes-large-share": ("facts.heated_warmup.energy_share_pct {} 20.0", ("<",)),
    "warm-up-too-long": ("not_above(facts.heated_warmup.time_to_release_min, 720.0, {})", ("0.0",)),
}
UNNOTICED = {
    (rule, f"require {text.format(change)}"): FINER_THAN_THE_MODEL
    for rule, (text, changes) in COMPUTED.items()
    for change in changes
}
"""Damages that no example notices, each with the reason why that may be."""

profile = cache(lambda stem: read(PROFILES / f"{stem}.yaml"))


@cache
def inputs(example: str, of_entries: bool) -> Inputs:
    """What an example judges on, derived once for all rules and damages."""
    on, changes, removed = json.loads(example)
    document = patched(profile(on), changes, removed)
    if not of_entries:
        return derive_inputs(document)
    runner = Runner(load_pack(), profile)
    return runner.whole(document, judge_rules(document, runner.pack)).inputs


def examples(stem: str, of_entries: bool) -> list[Inputs]:
    stated: Any = parse(FILES[stem].read_bytes(), stem, document=1).data
    return [
        inputs(json.dumps([each["on"], each.get("set", {}), each.get("remove", [])]), of_entries)
        for each in stated["examples"]
    ]


def outcome(rule: Rule, on: Inputs) -> object:
    """What an example compares: state, findings by place and severity, missing settings."""
    try:
        came = evaluate(rule, on)
    except PackError as error:
        return str(error)
    places = [(each.item and each.item.path, each.unfavourable_only) for each in came.failures]
    return came.outcome.state, places, came.missing


@pytest.mark.parametrize("rule", load_pack().rules, ids=lambda rule: rule.id)
def test_every_damage_to_a_rule_is_noticed_by_an_example(
    rule: Rule, record_property: Callable[[str, object], None]
) -> None:
    on = examples(rule.id, about_entries(rule.each))
    sound = [outcome(rule, each) for each in on]
    damaged = list(mutants(rule))
    unnoticed = {
        what
        for what, mutant in damaged
        if all(outcome(mutant, each) == was for each, was in zip(on, sound, strict=True))
    }
    finer = {what for name, what in UNNOTICED if name == rule.id}
    record_property("count", ("rule mutants", len(damaged)))
    record_property("count", ("rule mutants noticed by an example", len(damaged) - len(unnoticed)))
    record_property("count", ("rule mutants finer than the model, each listed", len(finer)))
    assert unnoticed == finer
