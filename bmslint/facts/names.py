"""Every fact by group and name, with its unit and one sentence."""

from bmslint.facts.electrical_names import BALANCE_TIME, CURRENTS, PACK_VOLTAGE, SHORT_CIRCUIT, STANDBY
from bmslint.facts.thermal_names import COOL_DOWN, HEATER_STUCK_ON, HOT_CHARGE, HOT_DISCHARGE

WARM_UP = {
    "deciding_sensor": ("", "Sensor or sensors whose reading releases charging."),
    "starts_degC": ("degC", "Temperature that the whole pack is soaked at when the run begins."),
    "releases": ("", "Whether charging is released in this run."),
    "never_releases_because": ("", "Why charging is never released; empty where it is."),
    "time_to_release_min": ("min", "Time from the start until charging is released."),
    "reading_at_release_degC": ("degC", "What the deciding sensor reads when charging is released."),
    "coldest_at_release_degC": ("degC", "Coldest point inside any cell when charging is released."),
    "hottest_at_release_degC": ("degC", "Hottest point of any cell when charging is released."),
    "mean_at_release_degC": ("degC", "Mean temperature of all cells when charging is released."),
    "spread_at_release_K": ("K", "Hottest less coldest point when charging is released."),
    "coldest_cell_at_release_degC": ("degC", "Mean temperature of the coldest cell at release."),
    "hottest_cell_at_release_degC": ("degC", "Mean temperature of the hottest cell at release."),
    "current_at_release_A": ("A", "Charge current that the settings allow at release, whole pack."),
    "below_limit_Ah": ("Ah", "Charge that passes within two hours while a cell is below its charge limit."),
    "above_allowed_Ah": ("Ah", "Charge that passes within two hours while a cell gets more than it bears."),
    "excess_current_A": ("A", "Most by which the current exceeds what the coldest cells bear."),
    "coldest_warm_after_min": ("min", "Time until the coldest point reaches the charge limit, uncharged."),
    "safe_release_degC": (
        "degC",
        "Release on this sensor, in steps of 0.5 K, with the coldest point warm enough.",
    ),
    "safe_hold_s": ("s", "Hold time on this sensor, in whole minutes, with the coldest point warm enough."),
}

HEATING = {
    "heater_starts": ("", "Whether the heater switches on at all."),
    "energy_Wh": ("Wh", "Heater energy until release and two hours on."),
    "energy_share_pct": ("%", "That energy as a share of what the pack holds."),
    "film_max_degC": ("degC", "Hottest the film becomes in this run."),
    "surface_max_degC": ("degC", "Hottest the cell surface under the film becomes in this run."),
    "heater_switches_per_h": ("1/h", "How often the heater switches on or off in an hour."),
    "ceiling_reading_degC": ("degC", "What the deciding sensor would settle at with the heater always on."),
}

THRESHOLDS = {
    "charge_cold_inhibit": ("protection.charge_cold", "inhibit_below_degC"),
    "charge_cold_release": ("protection.charge_cold", "release_above_degC"),
    "charge_hot_inhibit": ("protection.charge_hot", "inhibit_above_degC"),
    "charge_hot_release": ("protection.charge_hot", "release_below_degC"),
    "discharge_cold_inhibit": ("protection.discharge_cold", "inhibit_below_degC"),
    "discharge_hot_inhibit": ("protection.discharge_hot", "inhibit_above_degC"),
}
"""Thresholds on a sensor's reading: the entry and the key of each."""

SENSING = {
    "safe_inhibit_degC": ("degC", "Lowest inhibit, in steps of 0.5 K, that keeps the sensor at the limit."),
    "curve_error_K": ("K", "Largest error of a reading at any threshold from a wrong thermistor curve."),
    **{
        f"{name}_true_degC": ("degC", f"True temperature at the sensor when it reads {path}.{key}.")
        for name, (path, key) in THRESHOLDS.items()
    },
    **{
        f"{name}_error_K": ("K", f"Reading less true temperature at {path}.{key}, from the curve alone.")
        for name, (path, key) in THRESHOLDS.items()
    },
}

BLOCK = {
    "cells": ("", "Number of cells that the layout holds."),
    "cells_declared": ("", "Number of cells by series and parallel."),
    "mass_kg": ("kg", "Mass of all cells."),
    "density_kg_per_m3": ("kg/m3", "Density of one cell, from its mass and outer dimensions."),
    "heat_capacity_J_per_K": ("J/K", "Heat that all cells take up for each kelvin."),
    "capacity_Ah": ("Ah", "Capacity of the pack, declared or by its cells in parallel."),
    "energy_Wh": ("Wh", "Energy of the full pack at nominal voltage."),
}

CHARGE_STEPS = {
    "excess_A": ("A", "Most by which the permitted current exceeds the cells' at one temperature."),
    "excess_at_degC": ("degC", "The temperature at which it does, or comes closest."),
    "permitted_A": ("A", "What the settings permit there, whole pack."),
    "allowed_A": ("A", "What the cells bear there, whole pack."),
}

VOLTAGE_STEP = {
    "run": ("", "The warm-up that the step follows: heated_warmup, or without a heater ambient_warmup."),
    "current_A": ("A", "Current that the settings allow at release, whole pack."),
    "coldest_cell_degC": ("degC", "Mean temperature of the coldest cell as charging begins."),
    "hottest_cell_degC": ("degC", "Mean temperature of the hottest cell as charging begins."),
    "coldest_above_hottest_mV": ("mV", "Voltage of the coldest cell less the hottest's, half charged."),
    "trips_from_charge_pct": ("%", "State of charge from which the step trips; 100 if none is lower."),
    "full_from_charge_pct": ("%", "State of charge from which it is taken for full; 100 if none is lower."),
    **{
        f"{state}_{name}": (unit, f"{sentence} as charging begins at {percent} % of charge.")
        for state, percent in (("half_charged", 50), ("nearly_full", 90))
        for name, unit, sentence in (
            ("coldest_V", "V", "Voltage of the coldest cell"),
            ("hottest_V", "V", "Voltage of the hottest cell"),
            ("pack_V", "V", "Voltage of the pack, at most charger.bulk_V,"),
            ("trips_overvoltage", "", "Whether a cell or the pack trips over-voltage"),
            ("taken_for_full", "", "Whether the board takes the pack for full"),
        )
    },
}

RELAXATION = {
    "overvoltage_drop_V": ("V", "Fall of a cell within 10 s of an over-voltage trip at 25 degC."),
    "overvoltage_drop_cold_V": (
        "V",
        "The same at the coldest cell's temperature and the current at release.",
    ),
    "overvoltage_chatters": ("", "Whether that fall releases the trip at once, at 25 degC."),
    "overvoltage_chatters_cold": ("", "Whether that fall releases the trip at once, in the cold."),
    "undervoltage_rise_V": ("V", "Rise of a cell within 10 s of an under-voltage trip at 25 degC."),
    "undervoltage_rise_cold_V": ("V", "The same at the coldest temperature that discharging is allowed at."),
    "undervoltage_chatters": ("", "Whether that rise releases the trip at once, at 25 degC."),
    "undervoltage_chatters_cold": ("", "Whether that rise releases the trip at once, in the cold."),
}

OVERSHOOT = {
    "overvoltage_overshoot_mV": ("mV", "How far a cell rises above its over-voltage trip within the delay."),
    "undervoltage_overshoot_mV": (
        "mV",
        "How far a cell falls below its under-voltage trip within the delay.",
    ),
}

INVERSE = {
    "largest_heater_W": ("W", "Largest power, up to four times its own, with the heated release safe."),
    "bearable_at_heated_release_A": ("A", "What the pack bears at its coldest point at a heated release."),
    "bearable_when_brought_in_A": ("A", "What the pack bears at its coldest point at a release in warm air."),
    "places_when_heated": ("", "Places at which one sensor with this release would be safe, heated."),
    "places_when_brought_in": (
        "",
        "Places at which one sensor with this release would be safe, in warm air.",
    ),
}

FACT_NAMES: dict[str, dict[str, tuple[str, str]]] = {
    "block": BLOCK,
    "sensing": SENSING,
    "charge_steps": CHARGE_STEPS,
    "heated_warmup": {**WARM_UP, **HEATING},
    "ambient_warmup": WARM_UP,
    "inverse": INVERSE,
    "cool_down": COOL_DOWN,
    "hot_charge": HOT_CHARGE,
    "hot_discharge": HOT_DISCHARGE,
    "heater_stuck_on": HEATER_STUCK_ON,
    "voltage_step": VOLTAGE_STEP,
    "relaxation": RELAXATION,
    "overshoot": OVERSHOOT,
    "standby": STANDBY,
    "balance_time": BALANCE_TIME,
    "short_circuit": SHORT_CIRCUIT,
    "currents": CURRENTS,
    "pack_voltage": PACK_VOLTAGE,
}
"""Unit and meaning of every fact, by group and name; a unit is empty for a word, a count or a truth value."""


def unit_of(group: str, name: str) -> str:
    """Give the unit of a fact."""
    return FACT_NAMES[group][name][0]
