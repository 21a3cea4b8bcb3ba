"""One rule over one file: when it holds, speaks, does not apply, or is not judged."""

import pytest
from standins import inputs, rule

from bmslint.facts import Facts, Quantity
from bmslint.judge.evaluate import Evaluation, Failure, evaluate
from bmslint.judge.faults import PackError
from bmslint.judge.finding import Outcome
from bmslint.judge.inputs import Item

PASSED = Evaluation((), (), Outcome("passed"))
SPOKE = Evaluation((Failure(None, unfavourable_only=False),), (), Outcome("spoke"))
ONLY_UNFAVOURABLE = Evaluation((Failure(None, unfavourable_only=True),), (), Outcome("spoke"))


def does_not_apply(reason: str) -> Evaluation:
    return Evaluation((), (), Outcome("does not apply", reason))


def not_judged(*missing: str) -> Evaluation:
    return Evaluation((), missing, Outcome("not judged"))


RELEASE = "protection.charge_cold.release_above_degC"


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ({"require": f"{RELEASE} > 4.0"}, PASSED),
        ({"require": f"{RELEASE} > 5.0"}, SPOKE),
        ({"require": "protection.charge_hot != 'none'"}, SPOKE),
        # Missing data is never a pass, whatever the language makes of it.
        ({"require": "site.coldest_degC < 0.0"}, not_judged("site.coldest_degC")),
        ({"require": "site.coldest_degC < 0.0 || true"}, not_judged("site.coldest_degC")),
        ({"require": f"{RELEASE} > 9.0 && site.coldest_degC < 0.0"}, not_judged("site.coldest_degC")),
        ({"value": "site.coldest_degC"}, not_judged("site.coldest_degC")),
        ({"limit": "limits.discharge_max_A"}, not_judged("pack.cell.limits.discharge_max_A")),
        ({"needs": ["storage"]}, not_judged("storage")),
        (
            {"require": "facts.run.energy_Wh < 9.0 && site.coldest_degC < 0.0"},
            not_judged("heater.power_W", "site.coldest_degC"),
        ),
        ({"require": "charge_current.steps[2].max_A > 0.0"}, not_judged("charge_current.steps[2].max_A")),
        (
            {"require": "charge_current.steps.all(s, s.min_A > 0.0)"},
            not_judged("charge_current.steps[0].min_A"),
        ),
        # What the pack declares as absent, what is not defined, what is empty.
        ({"require": "heater.power_W > 0.0"}, does_not_apply("heater is none")),
        (
            {"require": "protection.charge_hot.inhibit_above_degC < 50.0"},
            does_not_apply("protection.charge_hot is none"),
        ),
        ({"require": "facts.run.late_min < 9.0"}, does_not_apply("charging never resumes")),
        ({"needs": ["facts.none"]}, does_not_apply("there is no heater")),
        ({"needs": ["facts.run"]}, PASSED),
        ({"require": "charge_paths.all(p, p.max_A > 0.0)"}, does_not_apply("charge_paths is empty")),
        ({"limit": "limits.harm_below_V"}, does_not_apply("no limit harm_below_V is known for these cells")),
        # A path that cannot apply comes before one that is missing.
        ({"require": "site.coldest_degC < 0.0 && heater.power_W > 0.0"}, does_not_apply("heater is none")),
        # has() makes a path optional, not what it stands in.
        ({"require": "has(protection.charge_cold.hold_s) || true"}, PASSED),
        ({"require": "!has(protection.charge_cold.hold_s)"}, PASSED),
        (
            {"require": "has(protection.charge_cold.hold_s) && protection.charge_cold.hold_s > 0.0"},
            SPOKE,
        ),
        ({"require": "has(site.coldest_degC)"}, not_judged("site")),
        ({"require": "has(heater.power_W)"}, does_not_apply("heater is none")),
        ({"require": "has(settings.site)"}, SPOKE),
        # `applies`
        ({"applies": "limits.plating"}, PASSED),
        (
            {"applies": "size(sensors) > 5", "require": "site.coldest_degC < 0.0"},
            does_not_apply("it applies only where size(sensors) > 5"),
        ),
        (
            {"applies": "site.coldest_degC < 0.0", "require": "load.surge_A > 0.0"},
            not_judged("site.coldest_degC", "load.surge_A"),
        ),
        ({"applies": "heater != 'none'"}, does_not_apply("it applies only where heater != 'none'")),
        # Ranges
        ({"require": "facts.run.coldest_degC >= limits.charge_degC.min"}, ONLY_UNFAVOURABLE),
        ({"require": "facts.run.coldest_degC >= 3.0"}, SPOKE),
        ({"require": "facts.run.coldest_degC >= -3.0"}, PASSED),
        ({"severity": "note", "require": "facts.run.coldest_degC >= 0.0"}, PASSED),
        ({"applies": "facts.run.coldest_degC < 0.0", "require": "false"}, ONLY_UNFAVOURABLE),
        (
            {"applies": "facts.run.coldest_degC < 0.0"},
            does_not_apply("it does not apply at nominal properties"),
        ),
        ({"require": "facts.run.certain_degC >= 1.0"}, PASSED),
    ],
)
def test_a_rule_without_items(parts: dict, expected: Evaluation) -> None:
    assert evaluate(rule(**parts), inputs()) == expected


STEPS = inputs().data["charge_current"]["steps"]


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        (
            {"each": "charge_current.steps[*]", "require": "item.max_A < 50.0"},
            Evaluation(
                (Failure(Item(STEPS[1], 1.0, "charge_current.steps[1]"), unfavourable_only=False),),
                (),
                Outcome("spoke"),
            ),
        ),
        (
            {"each": "sensors.*", "require": "item.accuracy_K < 1.0 && key != ''"},
            Evaluation(
                (
                    Failure(
                        Item({"place": "heated_face", "accuracy_K": 1.0}, "skin", "sensors.skin"),
                        unfavourable_only=False,
                    ),
                ),
                ("sensors.core.accuracy_K",),
                Outcome("spoke"),
            ),
        ),
        ({"each": "protection.*.sensors[*]", "require": "item in sensors"}, PASSED),
        ({"each": "protection.*", "require": "item.release_above_degC > 0.0"}, PASSED),
        ({"each": "charge_paths[*]"}, does_not_apply("there is no charge_paths[*]")),
        ({"each": "limits.looser[*]"}, does_not_apply("there is no limits.looser[*]")),
        ({"each": "load.*"}, not_judged("load")),
        ({"each": ["load.*", "site.*"]}, not_judged("load", "site")),
        ({"each": ["load.*", "charge_paths[*]"]}, does_not_apply("there is no charge_paths[*]")),
        ({"each": "heater.sensors[*]"}, does_not_apply("heater is none")),
        (
            {"each": "sensors.*", "require": "item.lag_s > 0.0"},
            not_judged("sensors.skin.lag_s", "sensors.core.lag_s"),
        ),
    ],
)
def test_a_rule_for_each_item(parts: dict, expected: Evaluation) -> None:
    assert evaluate(rule(**parts), inputs()) == expected


@pytest.mark.parametrize(
    ("parts", "message"),
    [
        (
            {"require": "protection.charge_cold"},
            "tests/tried.yaml:1:1: rule tried, require: "
            "gives MAP<DYN, DYN>; a rule gives true or false, a number or a text",
        ),
        (
            {"require": "facts.run.coldst_degC > 0.0"},
            "tests/tried.yaml:1:1: rule tried, require: there is no fact run.coldst_degC",
        ),
        (
            {"require": "pack.series"},
            "tests/tried.yaml:1:1: rule tried, require: gives 8.0, not true or false",
        ),
        (
            {"require": "pack.series + pack.chemistry > 0.0"},
            "tests/tried.yaml:1:1: rule tried, require: No matching overloads found : _+_(double, string)",
        ),
    ],
)
def test_a_rule_at_fault_stops_everything(parts: dict, message: str) -> None:
    with pytest.raises(PackError) as caught:
        evaluate(rule(**parts), inputs())
    assert [str(problem) for problem in caught.value.problems] == [message]


def test_the_unfavourable_end_is_the_worse_one() -> None:
    facts = Facts({"run": {"film_degC": Quantity(60.0, 50.0, 70.0, "degC", "default", "high")}})
    hot = rule(require="facts.run.film_degC <= 65.0")
    assert evaluate(hot, inputs(facts=facts)) == ONLY_UNFAVOURABLE
    assert evaluate(rule(require="facts.run.film_degC >= 55.0"), inputs(facts=facts)) == PASSED
