"""Facts of currents, voltages, short circuit, balancing and storage."""

Names = dict[str, tuple[str, str]]

STANDBY: Names = {
    "loss_pct_per_month": ("%/month", "Charge that board and self-discharge take, of the capacity."),
    "board_pct_per_month": ("%/month", "Charge that the board alone takes, of the capacity."),
    "reserve_at_trip_pct": ("%", "Charge above harm that a cell holds when under-voltage trips."),
    "days_from_trip": ("d", "Days from the under-voltage trip until a cell is harmed."),
    "days_from_full": ("d", "Days from full, nothing charged, until a cell is harmed."),
    "days_from_full_to_trip": ("d", "Days from full until under-voltage trips."),
    "charge_needed_pct": ("%", "State of charge that lasts through storage.days; beyond 100 none does."),
    "meets_storage_days": ("", "Whether a full pack lasts through storage.days."),
    "meets_storage_days_from_trip": ("", "Whether a pack that has tripped lasts through storage.days."),
}

BALANCE_TIME: Names = {
    "imbalance_pct": ("%", "Difference in charge between cells that is assumed, of the capacity."),
    "balance_hours": ("h", "Hours of bleeding that take that difference out."),
    "balance_pct_per_h": ("%/h", "Difference that an hour of bleeding takes out, of the capacity."),
}

SHORT_CIRCUIT: Names = {
    "prospective_A": ("A", "Current of a short circuit with the cells at 25 degC."),
    "prospective_hottest_A": ("A", "Current of a short circuit at the hottest site."),
    "prospective_coldest_A": ("A", "Current of a short circuit in the coldest state that discharges."),
    "delay_us": ("us", "How long it flows before the board opens."),
    "let_through_A2s": ("A2 s", "Current squared times that delay, at the hottest site."),
    "fuse_melts_first": ("", "Whether the fuse begins to melt within that delay, at the hottest site."),
    "fuse_melts_after_us": ("us", "Time until the fuse begins to melt at that current, without cooling."),
    "above_board_max": ("", "Whether the current exceeds what the board can interrupt."),
    "trips": ("", "Whether the short-circuit level is reached also in the coldest state."),
    "trips_at_25_degC": ("", "Whether the short-circuit level is reached with the cells at 25 degC."),
}

CURRENTS: Names = {
    "charge_paths_A": ("A", "What all charge paths push in together; without paths the charger alone."),
    "charge_allowed_A": ("A", "Most that the cells bear while charging, at their best temperature."),
    "discharge_allowed_A": ("A", "What the cells bear continuously while discharging."),
    "pulse_allowed_A": ("A", "What the cells bear for pack.cell.limits.pulse_s."),
    "lowest_charge_trip_A": ("A", "True current at which the lowest charge level trips."),
    "lowest_charge_trip_delay_s": ("s", "Delay of the lowest charge level."),
    "highest_charge_trip_A": ("A", "True current at which the highest charge level trips."),
    "highest_charge_trip_delay_s": ("s", "Delay of the highest charge level."),
    "lowest_discharge_trip_A": ("A", "True current at which the lowest discharge level trips."),
    "lowest_discharge_trip_delay_s": ("s", "Delay of the lowest discharge level."),
    "highest_discharge_trip_A": ("A", "True current at which the highest discharge level trips."),
    "highest_discharge_trip_delay_s": ("s", "Delay of the highest discharge level."),
    "charge_trips_ordered": ("", "Whether every higher charge level is also quicker."),
    "discharge_trips_ordered": ("", "Whether every higher discharge level is also quicker."),
    "short_circuit_ordered": ("", "Whether the short-circuit level is above and quicker than all others."),
    "charging_trips": ("", "Whether the full charge current trips the lowest charge level."),
    "load_trips": ("", "Whether the continuous load trips the lowest discharge level."),
    "surge_trips": ("", "Whether the load's surge trips a discharge or the short-circuit level."),
}

PACK_VOLTAGE: Names = {
    "cells_max_V": ("V", "Pack voltage with every cell at its highest charge voltage."),
    "cells_min_V": ("V", "Pack voltage with every cell at its lowest discharge voltage."),
    "cells_nominal_V": ("V", "Pack voltage with every cell at its nominal voltage."),
    "cell_overvoltage_V": ("V", "True cell voltage at which cell over-voltage trips."),
    "cell_undervoltage_V": ("V", "True cell voltage at which cell under-voltage trips."),
    "second_overvoltage_V": ("V", "True cell voltage at which the second over-voltage trips."),
    "cells_at_overvoltage_V": ("V", "Pack voltage with every cell at its over-voltage trip."),
    "cells_at_undervoltage_V": ("V", "Pack voltage with every cell at its under-voltage trip."),
    "pack_overvoltage_per_cell_V": ("V", "Voltage of each cell when pack over-voltage trips."),
    "pack_undervoltage_per_cell_V": ("V", "Voltage of each cell when pack under-voltage trips."),
    "charger_per_cell_V": ("V", "The charger's voltage for each cell."),
    "charger_cold_per_cell_V": ("V", "The same at the coldest site, cold compensation included."),
    "float_per_cell_V": ("V", "The charger's float voltage for each cell."),
    "charger_trips_cells": ("", "Whether equal cells at the charger's voltage trip cell over-voltage."),
    "charger_trips_pack": ("", "Whether the charger's voltage trips pack over-voltage."),
    "overvoltage_pack_above_cell_V": ("V", "Pack over-voltage for each cell less the cells' own trip."),
    "undervoltage_pack_above_cell_V": ("V", "Pack under-voltage for each cell less the cells' own trip."),
    "second_above_first": ("", "Whether the second over-voltage trips above the first."),
}
