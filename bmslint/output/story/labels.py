"""What settings, limits and defaults are called in plain words."""

from __future__ import annotations

from bmslint.facts.names import FACT_NAMES
from bmslint.judge.paths import steps

SECTIONS = {
    "pack": "the pack",
    "pack.cell": "one cell",
    "pack.cell.limits": "limit by the cell maker",
    "pack.cell.thermal": "heat in one cell",
    "pack.layout": "how the cells stand",
    "pack.enclosure": "the enclosure",
    "pack.board": "the protection board",
    "pack.fuse": "the fuse",
    "heater": "the heater",
    "sensors": "the sensors",
    "protection.charge_cold": "stop of charging in the cold",
    "protection.charge_hot": "stop of charging in the heat",
    "protection.discharge_cold": "stop of discharging in the cold",
    "protection.discharge_hot": "stop of discharging in the heat",
    "protection.board_hot": "stop when the board is hot",
    "protection.cell_overvoltage": "over-voltage of one cell",
    "protection.cell_undervoltage": "under-voltage of one cell",
    "protection.deep_discharge": "the block of deeply discharged cells",
    "protection.deep_discharge.block_charge_below_V": "cell voltage below which charging stays blocked",
    "protection.pack_overvoltage": "over-voltage of the pack",
    "protection.pack_undervoltage": "under-voltage of the pack",
    "protection.second_overvoltage": "second, separate over-voltage protection",
    "protection.charge_overcurrent": "too much charge current",
    "protection.discharge_overcurrent": "too much discharge current",
    "protection.short_circuit": "short circuit",
    "protection.cell_difference": "cells that differ",
    "protection.sensor_difference": "sensors that differ",
    "protection.sensor_fault": "broken sensor",
    "protection.measurement": "error of the board's measurement",
    "charge_current": "charge current by temperature",
    "charge_current.steps": "steps of the charge current",
    "charge_paths": "sources of charge current",
    "charge_paths.wakes_board": "whether the source wakes a board that switched itself off",
    "balancing": "balancing",
    "full_charge": "when the pack counts as full",
    "charger": "the charger",
    "load": "the load",
    "storage": "storage",
    "site": "the site",
    "accepted": "finding taken on",
    "not_applicable": "rule that does not concern the pack",
}
"""By path, without numbers of list entries; what stands deeper is called by the section around it."""

KEYS = {
    "accuracy_K": "error of a reading, up or down",
    "action": "what is done",
    "along_W_per_mK": "conduction along its layers",
    "basis": "how that is known",
    "beta_K": "steepness of the curve",
    "between_steps": "between two steps",
    "board_draw_mA": "current that the board draws",
    "bulk_V": "voltage up to which it charges",
    "by": "who took it on",
    "capacity_Ah": "capacity",
    "cell": "on cell number",
    "cell_above_V": "from a cell voltage of",
    "cell_mV": "for a cell voltage",
    "charge_current": "charge current by temperature",
    "charge_degC": "temperatures at which it may be charged",
    "charge_max_V": "highest voltage",
    "chemistry": "chemistry",
    "cold_compensation_mV_per_K": "voltage added for each degree of cold",
    "coldest_degC": "coldest air",
    "contact_m2K_per_W": "resistance of a contact to heat",
    "continuous_A": "current for as long as it lasts",
    "current_mA": "current bled from a cell",
    "current_pct": "for a current",
    "cutout_degC": "thermal cut-out opens at",
    "days": "days without charging",
    "decided_by": "which reading counts",
    "delay_ms": "acts after",
    "delay_s": "acts after",
    "delay_us": "acts after",
    "diameter_mm": "diameter",
    "difference_above_mV": "works from a difference of",
    "discharge_degC": "temperatures at which it may be discharged",
    "discharge_max_A": "highest discharge current",
    "discharge_min_V": "lowest voltage",
    "face": "on the face",
    "faces": "lies on or between",
    "film_coupling_pct": "how much it feels the film",
    "float_V": "voltage it then holds",
    "floor_degC": "coldest floor",
    "format": "version of this format",
    "from_degC": "from a reading of",
    "gap": "what lies between the cells",
    "height_mm": "height",
    "hold_s": "waits after that reading",
    "hottest_degC": "hottest air",
    "independent": "has hardware of its own",
    "inhibit_above_degC": "blocks above a reading of",
    "inhibit_below_degC": "blocks below a reading of",
    "insulation_W_per_mK": "conduction of the insulation",
    "insulation_mm": "thickness of the insulation",
    "lag_s": "lag of a reading",
    "mass_kg": "mass",
    "max": "at most",
    "max_A": "at most",
    "max_degC": "highest temperature",
    "max_on_min": "longest time on",
    "melting_A2s": "what melts it",
    "min": "at least",
    "name": "name",
    "obeys": "obeys",
    "off_above_degC": "off above a reading of",
    "on_below_degC": "on below a reading of",
    "open_below_degC": "counts as broken off below a reading of",
    "pack_mV": "for the pack voltage",
    "parallel": "cells side by side",
    "place": "where it sits",
    "position": "between which cells",
    "power_W": "power",
    "pulse_max_A": "highest current for a short time",
    "pulse_s": "how long that may flow",
    "r25_ohm": "resistance at 25 degC",
    "rated_A": "rating",
    "read_as": "curve that the board reads it by",
    "reason": "reason",
    "release": "closes again",
    "release_above_V": "allows again above",
    "release_above_degC": "allows again above a reading of",
    "release_below_V": "allows again below",
    "release_below_degC": "allows again below a reading of",
    "resistance_mohm": "resistance",
    "resistance_ratio_0degC": "how much more it resists at freezing",
    "resolution_K": "smallest step of a reading",
    "retry_after_s": "tries again after",
    "rows": "cells beside each other",
    "rule": "rule",
    "sensors": "sensors that decide",
    "series": "cells in a row",
    "sets_full": "sets the gauge to full",
    "shape": "shape",
    "short_above_degC": "counts as shorted above a reading of",
    "short_circuit_max_A": "current that it can still interrupt",
    "source": "where that is from",
    "specific_heat_J_per_kgK": "heat that it takes up",
    "stacked": "cells one behind the other",
    "start_above_V": "begins from a cell voltage of",
    "stop_below_charge_pct": "stops when the battery is down to",
    "storage_degC": "temperatures at which it may be stored",
    "supply": "is fed by",
    "surge_A": "highest current",
    "surge_s": "for a time of",
    "tail_below_A": "and a current below",
    "thermistor": "its own curve",
    "thickness_mm": "thickness",
    "through_W_per_mK": "conduction through its layers",
    "tiers": "cells above each other",
    "title": "title",
    "tolerance_pct": "how far the power may be off",
    "trip_above_A": "acts above",
    "trip_above_K": "acts above",
    "trip_above_V": "acts above",
    "trip_above_mV": "acts above",
    "trip_below_V": "acts below",
    "underside": "stands on",
    "until": "last day",
    "warms_to_degC": "air that a cold pack is brought into",
    "while": "works while",
    "width_mm": "width",
}
"""By the last key of a path."""

LIMITS = {
    "charge_degC.min": "lowest temperature at which the cells may be charged",
    "charge_degC.max": "highest temperature at which the cells may be charged",
    "discharge_degC.min": "lowest temperature at which the cells may be discharged",
    "discharge_degC.max": "highest temperature at which the cells may be discharged",
    "storage_degC.min": "lowest temperature at which the cells may be stored",
    "storage_degC.max": "highest temperature at which the cells may be stored",
    "charge_max_V": "highest voltage of a cell",
    "discharge_min_V": "lowest voltage of a cell",
    "discharge_max_A": "highest discharge current of a cell",
    "charge_current": "charge current that a cell bears, by temperature",
    "nominal_V": "nominal voltage of a cell",
    "harm_below_V": "voltage below which a cell is harmed",
    "plating": "whether lithium can plate in this chemistry",
    "float_wanted": "whether this chemistry wants a float voltage",
    "float_max_V": "highest float voltage of a cell",
    "typical.overvoltage_trip_V.min": "lowest usual over-voltage trip of this chemistry",
    "typical.overvoltage_trip_V.max": "highest usual over-voltage trip of this chemistry",
    "typical.undervoltage_trip_V.min": "lowest usual under-voltage trip of this chemistry",
    "typical.undervoltage_trip_V.max": "highest usual under-voltage trip of this chemistry",
}
"""By path below `limits`."""

FACTS = {
    "cool_down.holding_Wh_per_day": "heat that holds the deciding sensor at the charge inhibit for a day",
    "balance_time.balance_hours": "hours of bleeding that take a difference between cells out",
    "heated_warmup.energy_share_pct": "heater energy until two hours after release, of what the pack holds",
    "hot_charge.hottest_in_full_run_degC": "hottest point by the end of a full charge, or when stopped",
    "hot_discharge.hottest_in_full_run_degC": "hottest point by the end of a full discharge, or when stopped",
    "pack_voltage.charger_cold_per_cell_V": "the charger's voltage for each cell at the coldest site",
    "relaxation.overvoltage_drop_cold_V": "fall of a cell within 10 s of an over-voltage trip in the cold",
    "relaxation.undervoltage_rise_cold_V": "rise of a cell within 10 s of an under-voltage trip in the cold",
}
"""By group and name, for facts whose own sentence leans on the one before it."""


def label(path: str) -> str:
    """Say in plain words what a setting is.

    Args:
        path: the setting.

    Returns:
        Words such as "stop of charging in the cold: allows again above a reading of"; the path itself where
        its last key has none.
    """
    walked = steps(path)
    parts = [step for step in walked if not isinstance(step, int)]
    entry = next((f", entry {step + 1}" for step in walked if isinstance(step, int)), "")
    if not parts:
        return path
    if parts[0] == "sensors" and len(parts) > 1:
        section, rest = f"sensor {parts[1]}", parts[2:]
    else:
        length = next((n for n in range(len(parts), 0, -1) if ".".join(parts[:n]) in SECTIONS), 0)
        section, rest = SECTIONS.get(".".join(parts[:length]), ""), parts[length:]
    words = ", ".join(KEYS.get(part, part) for part in rest)
    return ": ".join(filter(None, (f"{section}{entry}" if section else "", words))) or path


def fact_label(path: str) -> str:
    """Say in plain words what a fact is.

    Args:
        path: the fact, `group.name`.

    Returns:
        Its sentence without the full stop; empty where there is no such fact.
    """
    group, _, name = path.partition(".")
    sentence = FACT_NAMES.get(group, {}).get(name, ("", ""))[1].rstrip(".")
    return FACTS.get(path) or sentence[:1].lower() + sentence[1:]
