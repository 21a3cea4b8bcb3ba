"""The ridge hut without anything that heats or cools it, so that its electrical facts come by themselves."""

from typing import Any

from packs import changed, derived, of_profile

from bmslint.facts import Facts

NO_RUNS: dict[str, Any] = {
    "heater": "none",
    "site.warms_to_degC": "none",
    "protection.charge_cold": "none",
    "protection.charge_hot": "none",
    "protection.discharge_cold": "none",
    "protection.discharge_hot": "none",
}


def electrical(changes: dict[str, Any]) -> Facts:
    """Derive the facts with values changed."""
    return derived(changed(of_profile("ridge-hut"), NO_RUNS | changes))
