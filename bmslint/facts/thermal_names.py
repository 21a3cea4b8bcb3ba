"""Facts of the runs in which a pack cools down, or is heated by its current or by a stuck heater."""

Names = dict[str, tuple[str, str]]

COOL_DOWN: Names = {
    "hours_to_inhibit": ("h", "Time from 20 degC until charging is inhibited, heater off."),
    "hours_to_discharge_inhibit": ("h", "Time from 20 degC until discharging is inhibited, heater off."),
    "time_constant_h": ("h", "Time in which the difference to the surroundings falls to 37 %, in the end."),
    "hours_with_air_gap": ("h", "Time until charging is inhibited with an air gap for the floor contact."),
    "floor_share_pct": ("%", "Share of the heat that leaves through the underside."),
    "air_gap_saves_pct": ("%", "What an air gap takes away of what the floor contact conducts."),
    "holding_W": ("W", "Power that holds the deciding sensor at the charge inhibit, by the heater if any."),
    "holding_Wh_per_day": ("Wh", "That power over a day."),
}

_HOT: Names = {
    "current_A": ("A", "Current that flows at the hottest site, whole pack."),
    "trips": ("", "Whether the sensors stop the current if it never ends by itself."),
    "time_to_trip_min": ("min", "Time until the sensors stop it."),
    "hottest_at_trip_degC": ("degC", "Hottest point inside any cell when the sensors stop it."),
    "steady_hottest_degC": ("degC", "Hottest point inside any cell in the end if nothing stopped it."),
    "steady_reading_degC": ("degC", "What the deciding sensor would settle at if nothing stopped it."),
    "hottest_above_reading_K": ("K", "Hottest point less reading when stopped, or in the end."),
    "hottest_degC": ("degC", "Hottest point inside any cell when stopped, or in the end."),
    "full_run_min": ("min", "Time in which this current moves the pack's capacity."),
    "trips_in_full_run": ("", "Whether the sensors stop it before the capacity is moved."),
    "hottest_in_full_run_degC": ("degC", "Hottest point inside any cell by then, or when stopped before."),
}
HOT_CHARGE, HOT_DISCHARGE = _HOT, _HOT


def _stuck(prefix: str, where: str) -> Names:
    return {
        f"{prefix}hottest_surface_degC": ("degC", f"Hottest cell surface in the end, {where}."),
        f"{prefix}hottest_film_degC": ("degC", f"Hottest the film becomes there, {where}."),
        f"{prefix}cutout_ends_it": ("", f"Whether the film reaches the cut-out, {where}."),
        f"{prefix}hottest_surface_with_cutout_degC": (
            "degC",
            f"Hottest cell surface when the cut-out opens, or in the end where it does not, {where}.",
        ),
        f"{prefix}hours_to_cell_limit": (
            "h",
            f"Time until the hottest surface is at the cells' discharge limit, {where}.",
        ),
    }


HEATER_STUCK_ON: Names = {**_stuck("", "at the hottest site"), **_stuck("mild_", "at 20 degC")}
