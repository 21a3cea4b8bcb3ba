"""What a pack truly lacks: facts that would need it say so, and ask for no setting that nobody could add."""

from functools import cache
from typing import Any

import pytest
from packs import changed, derived, of_profile

from bmslint.facts import Facts, Missing
from bmslint.settings.schema import json_schema


def lackable(node: dict[str, Any], whole: dict[str, Any], path: str = "") -> set[str]:
    """Give the paths of the format that may be `none`, by its JSON Schema; lists are left out."""
    if "$ref" in node:
        return lackable(whole["$defs"][node["$ref"].rsplit("/", 1)[1]], whole, path)
    branches = node.get("anyOf", ())
    found = {path} if any(branch.get("const") == "none" for branch in branches) else set()
    for branch in branches:
        found |= lackable(branch, whole, path)
    for name, child in node.get("properties", {}).items():
        found |= lackable(child, whole, f"{path}.{name}" if path else name)
    return found


PATHS = sorted(lackable(json_schema(), json_schema()))

# Facts of the groups that each stand alone which a pack without the thing does not have.
OVER, UNDER = "protection.cell_overvoltage", "protection.cell_undervoltage"
FEWER = {
    "balancing": {"balance_time": {"balance_hours", "balance_pct_per_h"}},
    "charger.float_V": {"pack_voltage": {"float_per_cell_V"}},
    "pack.fuse": {"short_circuit": {"fuse_melts_first", "fuse_melts_after_us"}},
    OVER: {
        "pack_voltage": {
            "cell_overvoltage_V",
            "cells_at_overvoltage_V",
            "charger_trips_cells",
            "overvoltage_pack_above_cell_V",
            "second_above_first",
        }
    },
    UNDER: {
        "standby": {
            "reserve_at_trip_pct",
            "days_from_trip",
            "days_from_full_to_trip",
            "meets_storage_days_from_trip",
        },
        "pack_voltage": {
            "cell_undervoltage_V",
            "cells_at_undervoltage_V",
            "undervoltage_pack_above_cell_V",
        },
    },
    "protection.pack_overvoltage": {
        "pack_voltage": {
            "pack_overvoltage_per_cell_V",
            "charger_trips_pack",
            "overvoltage_pack_above_cell_V",
        }
    },
    "protection.pack_undervoltage": {
        "pack_voltage": {"pack_undervoltage_per_cell_V", "undervoltage_pack_above_cell_V"}
    },
    "protection.second_overvoltage": {"pack_voltage": {"second_overvoltage_V", "second_above_first"}},
    "protection.charge_overcurrent": {
        "currents": {
            "lowest_charge_trip_A",
            "lowest_charge_trip_delay_s",
            "highest_charge_trip_A",
            "highest_charge_trip_delay_s",
            "charge_trips_ordered",
            "charging_trips",
        }
    },
    "protection.discharge_overcurrent": {
        "currents": {
            "lowest_discharge_trip_A",
            "lowest_discharge_trip_delay_s",
            "highest_discharge_trip_A",
            "highest_discharge_trip_delay_s",
            "discharge_trips_ordered",
            "short_circuit_ordered",
            "load_trips",
        }
    },
    "protection.short_circuit": {
        "short_circuit": {
            "delay_us",
            "let_through_A2s",
            "fuse_melts_first",
            "trips",
            "trips_at_25_degC",
        },
        "currents": {"short_circuit_ordered"},
    },
}
ALONE = ("standby", "balance_time", "short_circuit", "currents", "pack_voltage")


@cache
def base() -> Facts:
    return derived(of_profile("ridge-hut"))


def test_every_thing_that_may_be_lacking_is_known_here() -> None:
    """The schema's walk finds them; a typing error in the table above would pass unseen otherwise."""
    assert set(FEWER) - set(PATHS) == set()
    assert {"heater", "charge_current", "full_charge", "site.warms_to_degC", "pack.enclosure"} < set(PATHS)


@pytest.mark.parametrize("path", PATHS)
def test_lacking_is_not_left_out(path: str) -> None:
    facts = derived(changed(of_profile("ridge-hut"), {path: "none"}))
    asked = {
        f"{group}.{name}": item
        for group, items in facts.groups.items()
        for name, item in items.items()
        if isinstance(item, Missing) and any(f"{each}.".startswith(f"{path}.") for each in item.paths)
    }
    assert asked == {}
    fewer = {
        (group, name): item
        for group in ALONE
        for name, item in facts.groups[group].items()
        if isinstance(item, Missing) and not isinstance(base().groups[group][name], Missing)
    }
    due = Missing((), f"{path} is none")
    assert fewer == {(group, name): due for group, names in FEWER.get(path, {}).items() for name in names}
