"""What happens in a pack, told by fact group: sentences that are filled with a file's own numbers.

A sentence whose values a file does not give is left out. The warm-ups have a module of their own.
"""

from __future__ import annotations

from typing import NamedTuple


class Line(NamedTuple):
    """A sentence; `only_if` names facts that must be true for it, with a `!` before one that must be false.

    `by_name` lets it be told only by a rule that names one of its facts: for groups of facts that have
    little to do with each other.
    """

    text: str
    only_if: tuple[str, ...] = ()
    by_name: bool = False


def _named(text: str, *only_if: str) -> Line:
    return Line(text, only_if, by_name=True)


def _hot(doing: str, done: str) -> tuple[Line, ...]:
    return (
        Line(
            "At the hottest the site becomes, {site.hottest_degC}, {.current_A} flow while the pack is "
            f"{doing}, and the cells warm themselves from inside."
        ),
        Line(
            "If nothing stopped it, the hottest point inside a cell would settle at {.steady_hottest_degC}, "
            "while the deciding sensor would show {.steady_reading_degC}."
        ),
        Line(
            "The sensors stop the current after {.time_to_trip_min}; the hottest point is then at "
            "{.hottest_at_trip_degC}.",
            (".trips_in_full_run",),
        ),
        Line(f"The sensors do not stop the current before the pack is {done}.", ("!.trips_in_full_run",)),
        Line(
            f"It is {done} after {{.full_run_min}}; by then the hottest point has come to "
            "{.hottest_in_full_run_degC}.",
            ("!.trips_in_full_run",),
        ),
    )


def _true(threshold: str, setting: str, does: str) -> Line:
    true = f".{threshold}_true_degC"
    return _named(
        f"When the board reads {{protection.{setting}}} and {does}, the place where the sensor sits is "
        f"truly at {{{true}}}; with the sensor's error to the bad side, at {{{true}!worst}}."
    )


TALES: dict[str, tuple[Line, ...]] = {
    "block": (
        _named("The layout holds {.cells} cells; series and parallel make {.cells_declared}."),
        _named("From its mass and its outer dimensions a cell has {.density_kg_per_m3}."),
        _named("The full pack holds {.energy_Wh}."),
    ),
    "sensing": (
        _true("charge_cold_inhibit", "charge_cold.inhibit_below_degC", "stops charging in the cold"),
        _true("charge_cold_release", "charge_cold.release_above_degC", "lets charging resume"),
        _true("charge_hot_inhibit", "charge_hot.inhibit_above_degC", "stops charging in the heat"),
        _true("charge_hot_release", "charge_hot.release_below_degC", "lets charging resume after heat"),
        _true("discharge_cold_inhibit", "discharge_cold.inhibit_below_degC", "stops discharging in the cold"),
        _true("discharge_hot_inhibit", "discharge_hot.inhibit_above_degC", "stops discharging in the heat"),
        _named(
            "The board turns a sensor's resistance into degrees by a curve; where that curve is not the "
            "sensor's own, the reading is off by up to {.curve_error_K} at the thresholds in use."
        ),
    ),
    "charge_steps": (
        Line(
            "At {.excess_at_degC} the settings let {.permitted_A} flow into "
            "the pack; at that temperature the cells bear {.allowed_A}."
        ),
    ),
    "cool_down": (
        Line(
            "With the heater off, a pack at 20 degC that stands where it is {site.coldest_degC} cools until "
            "charging is inhibited in {.hours_to_inhibit}."
        ),
        _named("{.floor_share_pct} of the heat that it loses goes through its underside."),
        _named("An air gap below it would spare {.air_gap_saves_pct} of what the floor takes."),
        _named(
            "To hold the deciding sensor where charging just stays allowed takes {.holding_W}, "
            "which is {.holding_Wh_per_day} every day."
        ),
    ),
    "hot_charge": _hot("charged", "full"),
    "hot_discharge": _hot("discharged", "empty"),
    "heater_stuck_on": (
        Line(
            "Suppose that the heater's switch sticks and nothing turns the film off. At the hottest the site "
            "becomes the film goes to {.hottest_film_degC} in the end, and the cell's surface "
            "under it to {.hottest_surface_degC}."
        ),
        Line(
            "The thermal cut-out ends it, and the hottest surface has then come to "
            "{.hottest_surface_with_cutout_degC}.",
            (".cutout_ends_it",),
        ),
        Line("No cut-out ends it.", ("!.cutout_ends_it",)),
        Line(
            "The surface is at the limit of the cells after {.hours_to_cell_limit}.",
            ("!.cutout_ends_it",),
        ),
    ),
    "voltage_step": (
        Line(
            "As charging begins, {.current_A} flow. The coldest cell is then at "
            "{.coldest_cell_degC}, the warmest at {.hottest_cell_degC}. "
            "A cold cell resists the current more, so its voltage jumps further."
        ),
        Line(
            "Half charged, the coldest cell jumps to {.half_charged_coldest_V} and the warmest "
            "to {.half_charged_hottest_V}."
        ),
        Line(
            "That is enough to trip over-voltage, though the pack is half empty.",
            (".half_charged_trips_overvoltage",),
        ),
        Line(
            "The board then takes the half empty pack for full.",
            (".half_charged_taken_for_full",),
        ),
        _named("The coldest cell stands {.coldest_above_hottest_mV} above the warmest."),
    ),
    "relaxation": (
        _named(
            "When over-voltage trips and the current stops, the voltage of a cell falls back by itself, by "
            "{.overvoltage_drop_V} within 10 s at 25 degC."
        ),
        _named(
            "When under-voltage trips and the current stops, the voltage of a cell rises again by itself, by "
            "{.undervoltage_rise_V} within 10 s at 25 degC."
        ),
        _named(
            "In the coldest state in which the pack discharges, the voltage of a cell rises by "
            "{.undervoltage_rise_cold_V} when the current stops."
        ),
    ),
    "overshoot": (
        _named(
            "From the trip until the board acts a cell rises by another "
            "{.overvoltage_overshoot_mV}."
        ),
        _named(
            "From the trip until the board acts a cell falls by another "
            "{.undervoltage_overshoot_mV}."
        ),
    ),
    "standby": (
        Line(
            "While the pack stands, board and cells together use up {.loss_pct_per_month} of its "
            "capacity, the board alone {.board_pct_per_month}."
        ),
        _named("A full pack lasts {.days_from_full} until a cell is harmed."),
        _named(
            "When under-voltage has tripped, a cell still holds {.reserve_at_trip_pct} above what "
            "harms it; that is gone after {.days_from_trip}."
        ),
        _named("To last through storage it needs to be charged to {.charge_needed_pct}."),
    ),
    "balance_time": (
        Line(
            "To take a difference of {.imbalance_pct} of the capacity out of the cells, balancing "
            "has to bleed for {.balance_hours}."
        ),
    ),
    "short_circuit": (
        Line(
            "A short circuit of this pack drives {.prospective_A} with the cells at 25 degC, "
            "{.prospective_hottest_A} at the hottest site and "
            "{.prospective_coldest_A} in the coldest state in which it discharges."
        ),
        Line("The board opens after {.delay_us}."),
    ),
    "currents": (
        _named("Everything that can push current into the pack gives {.charge_paths_A} together."),
        _named("At their best temperature the cells bear {.charge_allowed_A} while charging."),
        _named("While discharging the cells bear {.discharge_allowed_A} for as long as it lasts."),
        _named("For a short pulse they bear {.pulse_allowed_A}."),
        _named(
            "The lowest charge level trips at {.lowest_charge_trip_A}; where the board measures too little, "
            "at {.lowest_charge_trip_A!worst}."
        ),
        _named(
            "The lowest discharge level trips at {.lowest_discharge_trip_A}, after "
            "{.lowest_discharge_trip_delay_s}; where the board measures too little, at "
            "{.lowest_discharge_trip_A!worst}."
        ),
    ),
    "pack_voltage": (
        _named("The charger's voltage comes to {.charger_per_cell_V} for each cell."),
        _named("At the coldest site, compensated for the cold, it comes to {.charger_cold_per_cell_V}."),
        _named("Floating, it holds each cell at {.float_per_cell_V}."),
        _named("Pack over-voltage trips with each cell at {.pack_overvoltage_per_cell_V}."),
        _named("Pack under-voltage trips with each cell at {.pack_undervoltage_per_cell_V}."),
        _named("With every cell at its highest charge voltage the pack has {.cells_max_V}."),
        _named("With every cell at its lowest discharge voltage the pack has {.cells_min_V}."),
    ),
}  # fmt: skip
"""By fact group; a field that begins with a point names a fact of the group."""
