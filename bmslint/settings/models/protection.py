"""What the protection does, and at which readings."""

from typing import Annotated, Literal

from pydantic import Field

from bmslint.settings.models.units import (
    Amperes,
    Celsius,
    Decision,
    Kelvins,
    Microseconds,
    Milliseconds,
    Millivolts,
    OrNone,
    Percent,
    Seconds,
    Section,
    SensorList,
    Volts,
    field,
)


class ColdInhibit(Section):
    """Blocks charging or discharging while it is too cold."""

    inhibit_below_degC: Celsius = field("Reading below which it blocks.", 0)
    release_above_degC: Celsius = field("Reading above which it allows again.", 5)
    delay_s: Seconds = field("How long the reading has to be there before it blocks.", 2)
    sensors: SensorList = field("Sensors that are asked.", ["skin"])
    decided_by: Decision = field("Which of their readings counts.", "lowest")
    hold_s: Seconds = field("How long it keeps blocking after the release reading is there.", 0)


class HotInhibit(Section):
    """Blocks charging or discharging, or switches the board off, while it is too hot."""

    inhibit_above_degC: Celsius = field("Reading above which it blocks.", 50)
    release_below_degC: Celsius = field("Reading below which it allows again.", 45)
    delay_s: Seconds = field("How long the reading has to be there before it blocks.", 2)
    sensors: SensorList = field("Sensors that are asked.", ["core", "post"])
    decided_by: Decision = field("Which of their readings counts.", "highest")


class Overvoltage(Section):
    """Stops charging at a voltage."""

    trip_above_V: Volts = field("Voltage above which it trips.", 3.65, 29.0)
    release_below_V: Volts = field("Voltage below which charging is allowed again.", 3.45, 27.6)
    delay_s: Seconds = field("How long the voltage has to be there before it trips.", 1)


class Undervoltage(Section):
    """Stops discharging at a voltage."""

    trip_below_V: Volts = field("Voltage below which it trips.", 2.6, 21.0)
    release_above_V: Volts = field("Voltage above which discharging is allowed again.", 2.9, 23.5)
    delay_s: Seconds = field("How long the voltage has to be there before it trips.", 5)


class SecondOvervoltage(Section):
    """The last line against over-voltage."""

    trip_above_V: Volts = field("Cell voltage above which it trips.", 3.9)
    delay_s: Seconds = field("How long the voltage has to be there before it trips.", 2)
    independent: bool = field("Whether it measures and switches with hardware of its own.", True, False)


class DeepDischarge(Section):
    """Keeps a charger off a cell that has lain too low, until a person has looked."""

    block_charge_below_V: Volts = field("Cell voltage below which charging stays blocked.", 2.0)


class Overcurrent(Section):
    """One level of over-current protection."""

    trip_above_A: Amperes = field("Current above which it trips.", 250)
    delay_s: Seconds = field("How long the current has to flow before it trips.", 10)
    delay_ms: Milliseconds = field("The same for short delays, in milliseconds.", 500)
    retry_after_s: OrNone[Seconds] = field(
        "Time after which it closes again by itself; `none` where it stays open.", 30, "none"
    )


class ShortCircuit(Section):
    """Opens on a short circuit."""

    trip_above_A: Amperes = field("Current above which it trips.", 900)
    delay_us: Microseconds = field("How long the current flows before it trips.", 300)
    release: Literal["manual", "load_removed", "timed"] = field(
        "What closes it again: a person, the removal of the load, or time alone.", "manual"
    )


class CellDifference(Section):
    """Trips where the cells lie too far apart in voltage."""

    trip_above_mV: Millivolts = field("Difference above which it trips.", 300)
    delay_s: Seconds = field("How long the difference has to be there before it trips.", 10)


class SensorDifference(Section):
    """Trips where the temperature readings lie too far apart."""

    trip_above_K: Kelvins = field("Difference above which it trips.", 15)
    delay_s: Seconds = field("How long the difference has to be there before it trips.", 10)


class SensorFault(Section):
    """What the board does about a broken sensor."""

    open_below_degC: Celsius = field("Reading below which a sensor counts as broken.", -45)
    short_above_degC: Celsius = field("Reading above which a sensor counts as shorted.", 110)
    action: Literal["block", "ignore", "use_last"] = field(
        "What follows: charging and discharging are blocked, the sensor is ignored, or its last"
        " good reading is used.",
        "block",
    )


class Measurement(Section):
    """How far the board's own measurements may be off, up or down."""

    cell_mV: Millivolts = field("Error of a cell voltage.", 5)
    pack_mV: Millivolts = field("Error of the pack voltage.", 50)
    current_pct: Percent = field("Error of the current, of the reading.", 1)


CurrentLevels = Annotated[list[Overcurrent], Field(max_length=20)]

_COLD = {"inhibit_below_degC": 0, "release_above_degC": 5, "sensors": ["skin"]}
_HOT = {"inhibit_above_degC": 50, "release_below_degC": 45, "sensors": ["core"]}


class Protection(Section):
    """Every protection function; `none` where the board truly lacks it."""

    charge_cold: OrNone[ColdInhibit] = field("Blocks charging in the cold.", _COLD, "none")
    charge_hot: OrNone[HotInhibit] = field("Blocks charging in the heat.", _HOT, "none")
    discharge_cold: OrNone[ColdInhibit] = field(
        "Blocks discharging in the cold.",
        {"inhibit_below_degC": -20, "release_above_degC": -15},
        "none",
    )
    discharge_hot: OrNone[HotInhibit] = field(
        "Blocks discharging in the heat.",
        {"inhibit_above_degC": 60, "release_below_degC": 50},
        "none",
    )
    board_hot: OrNone[HotInhibit] = field(
        "Switches off when the board itself is too hot.",
        {"inhibit_above_degC": 85, "release_below_degC": 70, "sensors": ["board"]},
        "none",
    )
    cell_overvoltage: OrNone[Overvoltage] = field(
        "Stops charging when one cell is too high.",
        {"trip_above_V": 3.65, "release_below_V": 3.45, "delay_s": 1},
        "none",
    )
    cell_undervoltage: OrNone[Undervoltage] = field(
        "Stops discharging when one cell is too low.",
        {"trip_below_V": 2.6, "release_above_V": 2.9, "delay_s": 5},
        "none",
    )
    deep_discharge: OrNone[DeepDischarge] = field(
        "Blocks charging of a cell that was discharged too deeply.", {"block_charge_below_V": 2.0}, "none"
    )
    pack_overvoltage: OrNone[Overvoltage] = field(
        "Stops charging when the whole pack is too high.",
        {"trip_above_V": 29.0, "release_below_V": 27.6},
        "none",
    )
    pack_undervoltage: OrNone[Undervoltage] = field(
        "Stops discharging when the whole pack is too low.",
        {"trip_below_V": 21.0, "release_above_V": 23.5},
        "none",
    )
    second_overvoltage: OrNone[SecondOvervoltage] = field(
        "The last line against over-voltage, in other hardware.",
        {"trip_above_V": 3.9, "delay_s": 2, "independent": True},
        "none",
    )
    charge_overcurrent: OrNone[CurrentLevels] = field(
        "Stops charging on too much current; one entry for each level.",
        [{"trip_above_A": 120, "delay_s": 5, "retry_after_s": 30}],
        "none",
    )
    discharge_overcurrent: OrNone[CurrentLevels] = field(
        "Stops discharging on too much current; one entry for each level.",
        [{"trip_above_A": 250, "delay_s": 10}, {"trip_above_A": 460, "delay_ms": 500}],
        "none",
    )
    short_circuit: OrNone[ShortCircuit] = field(
        "Opens on a short circuit.",
        {"trip_above_A": 900, "delay_us": 300, "release": "manual"},
        "none",
    )
    cell_difference: OrNone[CellDifference] = field(
        "Trips where the cells lie too far apart in voltage.",
        {"trip_above_mV": 300, "delay_s": 10},
        "none",
    )
    sensor_difference: OrNone[SensorDifference] = field(
        "Trips where the temperature readings lie too far apart.", {"trip_above_K": 15}, "none"
    )
    sensor_fault: OrNone[SensorFault] = field(
        "What the board does about a broken sensor; `none` where it does not notice.",
        {"open_below_degC": -45, "short_above_degC": 110, "action": "block"},
        "none",
    )
    measurement: Measurement = field(
        "How far the board's own measurements may be off.",
        {"cell_mV": 5, "pack_mV": 50, "current_pct": 1},
    )
