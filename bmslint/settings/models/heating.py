"""The heater and the temperature sensors."""

from typing import Annotated, Literal

from pydantic import Field

from bmslint.settings.models.units import (
    Beta,
    Celsius,
    ContactResistance,
    Decision,
    Face,
    Kelvins,
    Minutes,
    Ohms,
    OrNone,
    Percent,
    Seconds,
    Section,
    SensorList,
    Watts,
    field,
)

CellNumber = Annotated[int, Field(ge=1, le=10_000)]


class Heater(Section):
    """A film heater on the cells."""

    power_W: Watts = field("Power of the whole heater when it is on.", 160)
    tolerance_pct: Percent = field("How far the power may be off, up or down.", 10)
    faces: Annotated[list[Literal["ends", "sides", "top", "bottom", "between"]], Field(max_length=5)] = field(
        "Where the film lies: `ends` are the two outer faces of the block that the stack ends in,"
        " `sides` the two along it, `between` every gap of the stack.",
        ["ends", "sides"],
    )
    sensors: SensorList = field("Sensors that switch the heater.", ["skin"])
    decided_by: Decision = field("Which reading counts where several sensors switch.", "lowest")
    on_below_degC: Celsius = field("Reading below which the heater switches on.", 3)
    off_above_degC: Celsius = field("Reading above which the heater switches off.", 12)
    supply: Literal["charger", "battery", "either"] = field(
        "What feeds the heater; `either` is the charger where it is there.", "charger"
    )
    max_on_min: OrNone[Minutes] = field(
        "Longest time that the heater stays on; `none` for no limit.", 180, "none"
    )
    cutout_degC: OrNone[Celsius] = field(
        "Film temperature at which an independent cut-out opens; `none` where there is none.",
        70,
        "none",
    )
    contact_m2K_per_W: ContactResistance = field(
        "Thermal resistance of one square metre from the film to the cell.", 0.0006
    )
    stop_below_charge_pct: OrNone[Percent] = field(
        "State of charge below which the battery no longer feeds the heater; `none` for no floor.",
        20,
        "none",
    )


class Thermistor(Section):
    """A resistance curve with a negative temperature coefficient."""

    r25_ohm: Ohms = field("Resistance at 25 degC.", 10000)
    beta_K: Beta = field("Constant B of the curve between 25 and 85 degC.", 3435)


class Sensor(Section):
    """A temperature sensor: where it is and how well it reads."""

    place: Literal[
        "between_cells", "cell_face", "heated_face", "terminal", "busbar", "case", "board",
        "ambient",
    ] = field(
        "What the sensor touches: two neighbouring cells, an outer face of the block, an outer"
        " face under the heater film, a terminal, a busbar, the case, the board, or the air"
        " outside.",
        "heated_face",
    )  # fmt: skip
    face: Face = field(
        "Outer face that a sensor on a cell face, a heated face or the case is on. Left out it is"
        " `ends`, and for a heated face the first of the heater's faces.",
        "ends",
    )
    position: Literal["middle", "outer"] = field(
        "Which gap of the stack a sensor between cells is in: the middle one or the outermost."
        " Left out it is `middle`.",
        "middle",
    )
    cell: CellNumber = field(
        "Number of the cell that a sensor on a terminal or a busbar is at, counted from 1.", 1
    )
    thermistor: Thermistor = field("The thermistor itself.", {"r25_ohm": 10000, "beta_K": 3435})
    read_as: Thermistor = field(
        "The curve that the board reads it with. Left out it is the thermistor's own.",
        {"r25_ohm": 10000, "beta_K": 3950},
    )
    accuracy_K: Kelvins = field("How far a reading may be off, up or down, curve apart.", 1)
    resolution_K: Kelvins = field("Smallest step of the reading.", 1)
    lag_s: Seconds = field("Time constant with which the reading follows the temperature at its place.", 15)
    film_coupling_pct: Percent = field(
        "For a sensor under the heater film: 0 reads the skin of the cell, 100 the film itself.",
        50,
    )
