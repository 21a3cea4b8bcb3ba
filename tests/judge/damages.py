"""Named damages to a settings file, as a slip of the hand or a wrong decision makes them.

What the rules make of each is stated in damage_matrix.yaml.
"""

from itertools import pairwise

from damaging import DAMAGES, NO_HEATER, Data, exchanges, named, puts, removes, scales

from bmslint.settings.paths import put

ONE_SENSOR = "one sensor alone decides on this profile"
ONE_STEP = "nothing to shift: one current for all readings"

COLD, HOT = "protection.charge_cold", "protection.charge_hot"
COLD_BOTH = (f"{COLD}.inhibit_below_degC", f"{COLD}.release_above_degC")
HOT_BOTH = (f"{HOT}.inhibit_above_degC", f"{HOT}.release_below_degC")
OVER, UNDER = "protection.cell_overvoltage", "protection.cell_undervoltage"
TRIPS = (
    f"{OVER}.trip_above_V",
    f"{OVER}.release_below_V",
    f"{UNDER}.trip_below_V",
    f"{UNDER}.release_above_V",
)
DISCHARGE_TRIP = "protection.discharge_overcurrent[0].trip_above_A"
CHARGE_TRIP = "protection.charge_overcurrent[0].trip_above_A"
SHORT = "protection.short_circuit"

# Temperature thresholds
exchanges("cold inhibit and release exchanged", COLD, "inhibit_below_degC", "release_above_degC")
exchanges("hot inhibit and release exchanged", HOT, "inhibit_above_degC", "release_below_degC")
puts("nothing stops charging in the cold", (COLD, "none"))
puts("nothing stops charging in the heat", (HOT, "none"))
puts("nothing stops discharging in the heat", ("protection.discharge_hot", "none"))
puts(
    "nothing stops discharging in a colder place",
    ("protection.discharge_cold", "none"),
    ("site.coldest_degC", -45),
)
scales("cold thresholds in degrees Fahrenheit", *COLD_BOTH, by=1.8, plus=32.0)
scales("hot thresholds in degrees Fahrenheit", *HOT_BOTH, by=1.8, plus=32.0)
scales("cold thresholds in kelvin", *COLD_BOTH, plus=273.15)
scales("cold thresholds with the wrong sign", *COLD_BOTH, by=-1.0)
scales("cold thresholds 10 K lower", *COLD_BOTH, plus=-10.0)
scales("hot thresholds 15 K higher", *HOT_BOTH, plus=15.0)


@named("half a kelvin between cold inhibit and release")
def _(data: Data) -> None:
    cold = data["protection"]["charge_cold"]
    cold["release_above_degC"] = cold["inhibit_below_degC"] + 0.5


# Sensors
puts("the highest reading decides in the cold", (f"{COLD}.decided_by", "highest"))
puts("the lowest reading decides in the heat", (f"{HOT}.decided_by", "lowest"))
puts("a broken sensor is ignored", ("protection.sensor_fault.action", "ignore"))
puts("a broken sensor goes unnoticed", ("protection.sensor_fault", "none"))


@named("a sensor that thresholds name is gone")
def _(data: Data) -> None:
    del data["sensors"][data["protection"]["charge_cold"]["sensors"][0]]


@named("the first of the cold sensors is no longer asked")
def _(data: Data) -> str | None:
    sensors = data["protection"]["charge_cold"]["sensors"]
    if len(sensors) == 1:
        return ONE_SENSOR
    del sensors[0]
    return None


def _place(data: Data, place: str) -> None:
    for name in data["protection"]["charge_cold"]["sensors"]:
        kept = {k: v for k, v in data["sensors"][name].items() if k not in ("position", "face", "cell")}
        data["sensors"][name] = {**kept, "place": place}


@named("the cold sensors sit on the board")
def _(data: Data) -> None:
    _place(data, "board")


@named("the cold sensors sit under the film")
def _(data: Data) -> str | None:
    if data["heater"] == "none":
        return NO_HEATER
    _place(data, "heated_face")
    return None


@named("thermistors read with a steeper curve")
def _(data: Data) -> None:
    for sensor in data["sensors"].values():
        sensor["thermistor"] = {"r25_ohm": 10000, "beta_K": 3435}
        sensor["read_as"] = {"r25_ohm": 10000, "beta_K": 3950}


# Heater
puts("heater without cut-out", ("heater.cutout_degC", "none"), needs_heater=True)
puts("heater without time limit", ("heater.max_on_min", "none"), needs_heater=True)
puts(
    "heater fed by the battery without a floor",
    ("heater.supply", "battery"),
    ("heater.stop_below_charge_pct", "none"),
    needs_heater=True,
)
scales("heater ten times too strong", "heater.power_W", by=10.0, needs_heater=True)
scales("heater of a tenth of its power", "heater.power_W", by=0.1, needs_heater=True)


@named("heater stops 2 K below the release")
def _(data: Data) -> str | None:
    if data["heater"] == "none":
        return NO_HEATER
    release = data["protection"]["charge_cold"]["release_above_degC"]
    data["heater"] |= {"off_above_degC": release - 2.0, "on_below_degC": release - 6.0}
    return None


# Voltage
LFP = {OVER: (3.60, 3.40), UNDER: (2.7, 3.0)}
NMC = {OVER: (4.18, 4.05), UNDER: (2.8, 3.2)}
KEYS = {OVER: ("trip_above_V", "release_below_V"), UNDER: ("trip_below_V", "release_above_V")}


@named("voltages of another chemistry")
def _(data: Data) -> None:
    """Thresholds of iron phosphate on all others and those of nickel oxide on iron phosphate."""
    iron = data["pack"]["chemistry"].startswith("lfp")
    for path, values in (NMC if iron else LFP).items():
        for key, value in zip(KEYS[path], values, strict=True):
            put(data, f"{path}.{key}", value)
    data["protection"]["second_overvoltage"]["trip_above_V"] = 4.3 if iron else 3.8


scales("cell voltages in millivolts", *TRIPS, by=1000.0)
scales("over-voltage 0.1 V higher", f"{OVER}.trip_above_V", plus=0.1)
scales("under-voltage 1 V lower", f"{UNDER}.trip_below_V", plus=-1.0)
scales("charger 8 % above its voltage", "charger.bulk_V", by=1.08)
scales("one cell less in series than the settings are for", "pack.series", plus=-1)
puts("no over-voltage protection of cells", (OVER, "none"))
puts("no second over-voltage protection", ("protection.second_overvoltage", "none"))
puts("second over-voltage in the same hardware", ("protection.second_overvoltage.independent", False))


puts("a deeply discharged cell is charged again", ("protection.deep_discharge", "none"))
scales("deep discharge blocked a volt lower", "protection.deep_discharge.block_charge_below_V", plus=-1.0)
scales("deep discharge blocked a volt higher", "protection.deep_discharge.block_charge_below_V", plus=1.0)


@named("second over-voltage below the first")
def _(data: Data) -> None:
    first = data["protection"]["cell_overvoltage"]["trip_above_V"]
    data["protection"]["second_overvoltage"]["trip_above_V"] = round(first - 0.03, 3)


@named("over-voltage release within relaxation")
def _(data: Data) -> None:
    over = data["protection"]["cell_overvoltage"]
    over["release_below_V"] = round(over["trip_above_V"] - 0.001, 4)


@named("under-voltage release within relaxation")
def _(data: Data) -> None:
    under = data["protection"]["cell_undervoltage"]
    under["release_above_V"] = round(under["trip_below_V"] + 0.001, 4)


@named("charger floats at its full voltage")
def _(data: Data) -> None:
    data["charger"]["float_V"] = data["charger"]["bulk_V"]


@named("cold compensation left on")
def _(data: Data) -> None:
    """As for lead acid: some 4 mV/K for each 2 V."""
    data["charger"]["cold_compensation_mV_per_K"] = 2 * data["charger"]["bulk_V"]


@named("full charge noticed by voltage alone")
def _(data: Data) -> str | None:
    if "full_charge" not in data:
        return "full charge is not described on this profile"
    data["full_charge"]["tail_below_A"] = 10 * data["charger"]["max_A"]
    return None


scales("balancing starts above the trip", "balancing.start_above_V", by=1.1)
scales("balancing starts at half charge", "balancing.start_above_V", by=0.95)
scales("balancing current in amperes", "balancing.current_mA", by=0.001)

# Current


def _steps(name: str, factor: float) -> None:
    def damage(data: Data) -> None:
        for step in data["charge_current"]["steps"]:
            step["max_A"] = round(step["max_A"] * factor, 6)

    DAMAGES[name] = damage


_steps("charge current of every step times ten", 10.0)
_steps("charge current of every step a tenth", 0.1)


@named("charge current steps one row too cold")
def _(data: Data) -> str | None:
    steps = data["charge_current"]["steps"]
    if len(steps) == 1:
        return ONE_STEP
    for colder, warmer in pairwise(steps):
        colder["max_A"] = warmer["max_A"]
    return None


puts("charge current not limited by temperature", ("charge_current", "none"))
scales("charge trip in milliamperes", CHARGE_TRIP, by=1000.0)
scales("charge trip a tenth", CHARGE_TRIP, by=0.1)
scales("discharge trip times ten", DISCHARGE_TRIP, by=10.0)
scales("discharge trip a tenth", DISCHARGE_TRIP, by=0.1)
scales("short-circuit threshold beyond any short circuit", f"{SHORT}.trip_above_A", by=100.0)
scales("short-circuit delay in milliseconds for microseconds", f"{SHORT}.delay_us", by=1000.0)
puts("neither short-circuit protection nor fuse", (SHORT, "none"), ("pack.fuse", "none"))
puts("short circuit closes again by itself", (f"{SHORT}.release", "timed"))
puts(
    "discharge trip retried every second for ever",
    (DISCHARGE_TRIP.replace("trip_above_A", "retry_after_s"), 1),
)
puts("no fuse", ("pack.fuse", "none"))
removes("what the board bears is not described", "pack.board")


@named("a path that obeys nothing")
def _(data: Data) -> None:
    current = round(0.2 * data["charger"]["max_A"], 3)
    data["charge_paths"].append({"name": "alternator", "max_A": current, "obeys": []})


@named("every path waits for the board")
def _(data: Data) -> None:
    for path in data["charge_paths"]:
        path["wakes_board"] = False


@named("no path ends on a full cell")
def _(data: Data) -> None:
    for path in data["charge_paths"]:
        path["obeys"] = [name for name in path["obeys"] if name != "cell_overvoltage"]


# The pack itself
scales("capacity of the pack in milliampere-hours", "pack.capacity_Ah", by=1000.0)
scales("every capacity in milliampere-hours", "pack.capacity_Ah", "pack.cell.capacity_Ah", by=1000.0)
scales("cell mass in grams", "pack.cell.mass_kg", by=1000.0)
scales("one cell less laid out", "pack.layout.stacked", plus=-1)
scales("board draw in microamperes", "storage.board_draw_mA", by=1000.0)
