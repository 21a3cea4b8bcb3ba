"""One cell, and what its maker allows."""

from typing import Annotated, Literal

from pydantic import Field

from bmslint.settings.models.units import (
    AmpereHours,
    Amperes,
    Celsius,
    Kilograms,
    Millimetres,
    Milliohms,
    Ratio,
    Seconds,
    Section,
    SpecificHeat,
    Text,
    ThermalConductivity,
    Volts,
    field,
    required,
)


class CurrentStep(Section):
    """One row of a table of current by temperature."""

    from_degC: Celsius = required(
        "Temperature from which the row holds, up to the next row; below the first row no current"
        " is allowed.",
        10,
    )
    max_A: Amperes = required("Largest current in the row; 0 where none is allowed from here on.", 69, 0)


CurrentSteps = Annotated[list[CurrentStep], Field(max_length=200)]


class TemperatureRange(Section):
    """The temperatures between which something is allowed."""

    min: Celsius = field("Lowest temperature that is allowed.", 0, -20)
    max: Celsius = field("Highest temperature that is allowed.", 55)


class CellThermal(Section):
    """Thermal properties of one cell; they replace the defaults of its chemistry and shape."""

    through_W_per_mK: ThermalConductivity = field(
        "Thermal conductivity through the layers: along the thickness of a prismatic or pouch"
        " cell, along the radius of a cylindrical one.",
        0.9,
    )
    along_W_per_mK: ThermalConductivity = field(
        "Thermal conductivity along the layers: along width and height, or along the axis of a"
        " cylindrical cell.",
        19,
    )
    specific_heat_J_per_kgK: SpecificHeat = field("Specific heat of the whole cell.", 1020)
    basis: Literal["datasheet", "measured", "assumed"] = field(
        "Where the three numbers come from; the range that is calculated with depends on it.",
        "datasheet",
    )


class CellLimits(Section):
    """What the cell maker allows; it replaces the limits of the chemistry."""

    source: Text = field(
        "Where the limits stand: document, revision, table. Without it they are not relied on.",
        "cell maker's specification, rev C, table 4",
    )
    charge_degC: TemperatureRange = field(
        "Cell temperatures at which charging is allowed.", {"min": 0, "max": 55}
    )
    discharge_degC: TemperatureRange = field(
        "Cell temperatures at which discharging is allowed.", {"min": -20, "max": 60}
    )
    storage_degC: TemperatureRange = field(
        "Cell temperatures at which the cell may be stored.", {"min": -30, "max": 45}
    )
    charge_max_V: Volts = field("Highest voltage of one cell while charging.", 3.65)
    discharge_min_V: Volts = field("Lowest voltage of one cell while discharging.", 2.5)
    charge_current: CurrentSteps = field(
        "Largest charging current of one cell by its temperature, rows from cold to hot.",
        [{"from_degC": 0, "max_A": 23}, {"from_degC": 10, "max_A": 69}],
    )
    discharge_max_A: Amperes = field("Largest continuous discharging current of one cell.", 230)
    pulse_max_A: Amperes = field("Largest discharging current of one cell for `pulse_s`.", 460)
    pulse_s: Seconds = field("How long `pulse_max_A` may flow.", 10)


class Cell(Section):
    """One cell, as its maker describes it."""

    shape: Literal["prismatic", "pouch", "cylindrical"] = field(
        "Shape of the cell.", "prismatic", "cylindrical"
    )
    capacity_Ah: AmpereHours = field("Rated capacity of one cell.", 230)
    thickness_mm: Millimetres = field(
        "Smallest dimension of a prismatic or pouch cell, across its layers.", 54
    )
    width_mm: Millimetres = field("Width of a prismatic or pouch cell.", 174)
    height_mm: Millimetres = field(
        "Height of the cell without its terminals; the length of a cylindrical cell.", 205
    )
    diameter_mm: Millimetres = field("Diameter of a cylindrical cell.", 21)
    mass_kg: Kilograms = field("Mass of one cell.", 4.1)
    resistance_mohm: Milliohms = field(
        "Direct-current resistance of one cell: 10 s, 25 degC, half charged.", 0.6
    )
    resistance_ratio_0degC: Ratio = field(
        "Resistance at 0 degC over that at 25 degC; it replaces the default.", 4
    )
    thermal: CellThermal = field(
        "Thermal properties, where they are known better than the defaults.",
        {"through_W_per_mK": 0.9, "basis": "datasheet"},
    )
    limits: CellLimits = field(
        "The cell maker's limits, which replace those of the chemistry and need a source.",
        {"source": "cell maker's specification, rev C, table 4", "charge_max_V": 3.65},
    )
