"""A heater that switches without end is not followed for ever, and not taken for one that never warms."""

from packs import changed, derived, of_profile

from bmslint.facts import Missing, Quantity

# A strong film with its own sensor on it, held within half a kelvin well above the release.
CHATTERING = {
    "protection.charge_cold.sensors": ["skin"],
    "protection.charge_cold.hold_s": 7200.0,
    "heater.power_W": 400.0,
    "heater.sensors": ["skin"],
    "heater.on_below_degC": 20.0,
    "heater.off_above_degC": 20.5,
}


def test_a_chattering_heater_leaves_the_warm_up_unjudged() -> None:
    """The film's sensor stays above the release, so charging does resume, long before the core is warm."""
    facts = derived(changed(of_profile("ridge-hut"), CHATTERING))
    missing = Missing(
        ("heater.on_below_degC", "heater.off_above_degC"), "the heater switches too often to be followed"
    )
    names = ("releases", "coldest_at_release_degC")
    assert [facts.find(f"heated_warmup.{name}") for name in names] == [missing, missing]


def test_thresholds_further_apart_are_followed() -> None:
    facts = derived(changed(of_profile("ridge-hut"), {**CHATTERING, "heater.off_above_degC": 26.0}))
    coldest = facts.find("heated_warmup.coldest_at_release_degC")
    assert isinstance(coldest, Quantity)
    assert coldest.low < 0.0
