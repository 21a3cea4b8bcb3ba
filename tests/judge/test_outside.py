"""The pack against something outside it: published bands and voltages, curves, the order of thresholds."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq

from bmslint.data import rules_dir
from bmslint.judge.examples import patched
from bmslint.judge.finding import Finding
from bmslint.judge.judgement import judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import Document, read

PROFILES = sorted((rules_dir().parent / "profiles").glob("*.yaml"))
ALL = pytest.mark.parametrize("stem", [path.stem for path in PROFILES])
OVER, UNDER = "protection.cell_overvoltage", "protection.cell_undervoltage"
COLD, HOT = "protection.charge_cold", "protection.charge_hot"


@cache
def pack() -> Pack:
    return load_pack()


@cache
def profile(stem: str) -> Document:
    return read(rules_dir().parent / "profiles" / f"{stem}.yaml")


def found(stem: str, changes: dict[str, object], *removed: str) -> dict[str, Finding]:
    """The finding of each rule that speaks of a changed profile."""
    judgement = judge_rules(patched(profile(stem), changes, removed), pack())
    return {each.rule.id: each.finding for each in judgement.spoken}


# Upper and lower cut-off voltages as published: the BPX open standard, examples/lfp_18650_cell_BPX.json (read
# 3.65 V) and nmc_pouch_cell_BPX.json (read 4.2 V); PyBaMM, Chen2020 after Chen et al., J. Electrochem. Soc.
# 167 (2020) 080534 (read 2.5 and 4.2 V).
PUBLISHED = [("ridge-hut", 3.65, None), ("delivery-trike", 4.2, 2.5)]


@pytest.mark.parametrize(("stem", "upper", "lower"), PUBLISHED)
def test_trips_beyond_published_cut_offs_are_rejected_without_the_makers_limits(
    stem: str, upper: float, lower: float | None
) -> None:
    """A trip at the published voltage passes; 10 mV beyond it is rejected."""
    for trip, speaks in ((upper, False), (upper + 0.01, True)):
        of = found(stem, {f"{OVER}.trip_above_V": trip}, "pack.cell.limits")
        rejected = {name for name, each in of.items() if each.severity == "reject"}
        assert ("overvoltage-trip-above-cell" in rejected) == speaks
    for trip, speaks in ((lower, False), (lower - 0.01, True)) if lower else ():
        of = found(stem, {f"{UNDER}.trip_below_V": trip}, "pack.cell.limits")
        rejected = {name for name, each in of.items() if each.severity == "reject"}
        assert ("undervoltage-trip-below-cell" in rejected) == speaks


@pytest.mark.parametrize("stem", ["ridge-hut", "street-light-mast", "delivery-trike", "orchard-robot"])
def test_charging_below_freezing_is_rejected_without_the_makers_limits(stem: str) -> None:
    """No charging of a graphite electrode below 0 degC: the lowest band of the guide of JEITA and the Battery
    Association of Japan (2007), as a public summary reports it; the guide itself was not at hand."""
    for inhibit, speaks in ((-5.0, True), (0.0, True), (4.0, False)):
        changes = {f"{COLD}.inhibit_below_degC": inhibit, f"{COLD}.release_above_degC": inhibit + 3.0}
        of = found(stem, changes, "pack.cell.limits")
        # At 0 degC the sensor's own error is left: that is a review.
        came = of["cold-inhibit-below-cell"].severity if "cold-inhibit-below-cell" in of else None
        assert came == ({-5.0: "reject", 0.0: "review", 4.0: None}[inhibit] if speaks else None)


@pytest.mark.parametrize("stem", ["delivery-trike", "orchard-robot"])
@pytest.mark.parametrize(("from_degC", "rate_per_h"), [(4.0, 0.5), (46.0, 0.5)])
def test_more_than_the_reported_bands_allow_speaks(stem: str, from_degC: float, rate_per_h: float) -> None:
    """The same summary: from 0 to 10 degC half the normal rate, above 45 only with a lowered voltage. A full
    normal rate there (0.5 per hour) is more than the table allows, and more than any good profile may."""
    amperes = rate_per_h * profile(stem).data["pack"]["capacity_Ah"]
    steps = [{"from_degC": 4.0, "max_A": amperes if from_degC < 10 else 2.0}]
    if from_degC > 40:
        steps.append({"from_degC": from_degC, "max_A": amperes})
    changes: dict[str, object] = {"charge_current.steps": steps, "charger.max_A": amperes}
    if from_degC > 40:
        changes |= {f"{HOT}.inhibit_above_degC": 50.0, f"{HOT}.release_below_degC": 44.0}
    of = found(stem, changes, "pack.cell.limits.charge_current")
    # Above 45 degC the inhibit that lets it happen is the cause, and its finding stands for the step's.
    cold = {"step-above-cell", "heated-current-above-cell", "brought-in-current-above-cell"}
    speak = (cold if from_degC < 10 else {"charge-hot-inhibit-above-cell"}) & of.keys()
    assert {of[name].severity for name in speak} == {"reject"}


def true_at(reading_degC: float, fitted_K: float, read_as_K: float) -> float:
    """IEC 60539-1, R = R25 exp(B (1/T - 1/298.15)): the part's temperature at a reading, by root finding."""

    def resistance(celsius: float, beta: float) -> float:
        return float(np.exp(beta * (1 / (celsius + 273.15) - 1 / 298.15)))

    wanted = resistance(reading_degC, read_as_K)
    return float(brentq(lambda t: resistance(t, fitted_K) - wanted, -80, 150, xtol=1e-10))


def curves(stem: str, fitted_K: float, read_as_K: float) -> dict[str, object]:
    names = profile(stem).data["sensors"]
    fitted = {"r25_ohm": 10000, "beta_K": fitted_K}
    read_as = {"r25_ohm": 10000, "beta_K": read_as_K}
    changes: dict[str, object] = {f"sensors.{name}.thermistor": fitted for name in names}
    return changes | {f"sensors.{name}.read_as": read_as for name in names}


THRESHOLD_RULES = {
    "cold-inhibit-below-cell",
    "charge-hot-inhibit-above-cell",
    "discharge-hot-inhibit-above-cell",
    "discharge-cold-inhibit-below-cell",
}


@ALL
def test_a_curve_that_is_too_steep_errs_to_the_unsafe_side_everywhere(stem: str) -> None:
    """B 3435 K fitted, read as 3950 K. The true temperature behind each threshold by root finding on the beta
    equation of IEC 60539-1: colder than the reading below 25 degC, hotter above. The rules state the same."""
    of = found(stem, curves(stem, 3435, 3950))
    assert "wrong-thermistor-curve" in of
    cold = profile(stem).data["protection"]["charge_cold"]["inhibit_below_degC"]
    hot = profile(stem).data["protection"]["discharge_hot"]["inhibit_above_degC"]
    assert true_at(cold, 3435, 3950) < cold
    assert true_at(hot, 3435, 3950) > hot
    value = of["discharge-hot-inhibit-above-cell"].value
    assert value == pytest.approx(
        true_at(hot, 3435, 3950), abs=1e-6
    )  # the root finder's and the model's rounding
    if not of["cold-inhibit-below-cell"].unfavourable_only:
        assert of["cold-inhibit-below-cell"].value == pytest.approx(true_at(cold, 3435, 3950), abs=1e-6)


@ALL
def test_a_curve_that_is_too_flat_errs_to_the_safe_side(stem: str) -> None:
    """B 3950 K fitted, read as 3435 K: trips come early at both ends, so no threshold is beyond its limit."""
    of = found(stem, curves(stem, 3950, 3435))
    assert "wrong-thermistor-curve" in of
    assert THRESHOLD_RULES & of.keys() == set()


def exchanged(stem: str, one: str, other: str) -> dict[str, object]:
    def value(path: str) -> object:
        data: object = profile(stem).data
        for part in path.split("."):
            data = data[part]  # type: ignore[index]
        return data

    return {one: value(other), other: value(one)}


ORDERED = [
    (f"{UNDER}.trip_below_V", f"{UNDER}.release_above_V", "undervoltage-release-not-above-trip"),
    (f"{OVER}.release_below_V", f"{OVER}.trip_above_V", "overvoltage-release-not-below-trip"),
    (
        f"{OVER}.trip_above_V",
        "protection.second_overvoltage.trip_above_V",
        "second-overvoltage-not-above-first",
    ),
    (f"{COLD}.inhibit_below_degC", f"{COLD}.release_above_degC", "cold-release-not-above-inhibit"),
    (f"{HOT}.release_below_degC", f"{HOT}.inhibit_above_degC", "hot-release-not-below-inhibit"),
    (
        "protection.pack_undervoltage.trip_below_V",
        "protection.pack_undervoltage.release_above_V",
        "undervoltage-release-not-above-trip",
    ),
    (
        "protection.pack_overvoltage.release_below_V",
        "protection.pack_overvoltage.trip_above_V",
        "overvoltage-release-not-below-trip",
    ),
]


@ALL
@pytest.mark.parametrize(("lower", "upper", "rule"), ORDERED)
def test_thresholds_out_of_order_are_told_by_the_rule_of_that_pair(
    stem: str, lower: str, upper: str, rule: str
) -> None:
    """A trip needs its release on the safe side, and a last line comes after the first (common practice)."""
    changes = exchanged(stem, lower, upper)
    assert float(str(changes[upper])) < float(str(changes[lower]))
    assert rule in found(stem, changes)


@ALL
def test_the_thresholds_of_a_good_profile_lie_in_the_order_of_the_chemistry(stem: str) -> None:
    """Lower limit, under-voltage trip and release, over-voltage release and trip, second over-voltage: the
    order in which cell makers print their voltages, with the trips inside the limits (common practice)."""
    data = profile(stem).data
    limits, protection = data["pack"]["cell"]["limits"], data["protection"]
    under, over = protection["cell_undervoltage"], protection["cell_overvoltage"]
    rising = [
        limits["discharge_min_V"], under["trip_below_V"], under["release_above_V"],
        over["release_below_V"], over["trip_above_V"],
    ]  # fmt: skip
    assert all(low < high for low, high in pairwise(rising)), rising
    assert over["trip_above_V"] <= limits["charge_max_V"]
    assert over["trip_above_V"] < protection["second_overvoltage"]["trip_above_V"]
