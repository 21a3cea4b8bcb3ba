"""What charges and loads the pack, where it stands, and what a person took on."""

from typing import Annotated, Literal

from pydantic import Field

from bmslint.settings.models.cell import CurrentSteps
from bmslint.settings.models.units import (
    Amperes,
    Celsius,
    Days,
    Decision,
    Milliamperes,
    Millivolts,
    MillivoltsPerKelvin,
    OrNone,
    Seconds,
    Section,
    SensorList,
    Text,
    Volts,
    field,
    required,
)

RuleId = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[a-z][a-z0-9-]*$")]
# A day that no calendar has, such as 2027-02-31, is for the rules.
Date = Annotated[str, Field(min_length=10, max_length=10, pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]

# What a path that pushes current in can be made to obey.
Obeyed = Literal[
    "charge_cold", "charge_hot", "board_hot", "charge_current", "cell_overvoltage",
    "pack_overvoltage", "second_overvoltage", "charge_overcurrent", "short_circuit",
    "sensor_fault",
]  # fmt: skip


class ChargeCurrent(Section):
    """The charging current that the board allows by temperature."""

    steps: CurrentSteps = field(
        "Largest charging current of the pack by the reading, rows from cold to hot.",
        [{"from_degC": 0, "max_A": 20}, {"from_degC": 10, "max_A": 60}],
    )
    between_steps: Literal["hold", "linear"] = field(
        "Between two rows: the current of the colder row holds, or a straight line joins them.",
        "hold",
    )
    sensors: SensorList = field("Sensors that are asked.", ["skin"])
    decided_by: Decision = field("Which of their readings counts.", "lowest")


class ChargePath(Section):
    """Something that can push current into the pack."""

    name: Text = required("What it is.", "mains charger", "regeneration")
    max_A: Amperes = field("Largest current that it pushes in.", 60)
    obeys: Annotated[list[Obeyed], Field(max_length=20)] = field(
        "Protection functions that stop it; an empty list where nothing does.",
        ["charge_cold", "charge_hot"],
        [],
    )
    wakes_board: bool = field(
        "Whether it wakes a board that has switched itself off, as after under-voltage.", True, False
    )


class Balancing(Section):
    """Bleeds the higher cells."""

    start_above_V: Volts = field("Cell voltage above which it begins.", 3.40)
    difference_above_mV: Millivolts = field("Difference above which it works.", 10)
    current_mA: Milliamperes = field("Current that it bleeds from a cell.", 100)
    while_: Annotated[list[Literal["charge", "discharge", "rest"]], Field(max_length=3)] = field(
        "States of the pack in which it works.", ["charge"], ["charge", "rest"], alias="while"
    )


class FullCharge(Section):
    """How the board notices that the pack is full."""

    cell_above_V: Volts = field("Cell voltage that has to be exceeded.", 3.55)
    tail_below_A: Amperes = field("Current that has to be undercut.", 10)
    hold_s: Seconds = field("How long both have to hold.", 120)
    sets_full: bool = field("Whether the state of charge is then set to full.", True)


class Charger(Section):
    """The charger."""

    bulk_V: Volts = field("Voltage up to which it charges.", 28.8)
    float_V: OrNone[Volts] = field(
        "Voltage that it holds afterwards; `none` where it switches off.", 27.0, "none"
    )
    max_A: Amperes = field("Largest current.", 60)
    cold_compensation_mV_per_K: MillivoltsPerKelvin = field(
        "How much the voltage rises for each kelvin below 25 degC; 0 for none.", 0
    )


class Load(Section):
    """The load."""

    continuous_A: Amperes = field("Current that it draws continuously.", 150)
    surge_A: Amperes = field("Largest current for a short time.", 400)
    surge_s: Seconds = field("How long `surge_A` flows.", 3)


class Storage(Section):
    """Time without charging."""

    board_draw_mA: Milliamperes = field("Current that the board itself draws.", 8)
    days: Days = field("Longest time without charging.", 120)


class Site(Section):
    """Where the pack stands."""

    coldest_degC: Celsius = field("Lowest temperature of the air around the pack.", -25)
    hottest_degC: Celsius = field("Highest temperature of the air around the pack.", 40)
    warms_to_degC: OrNone[Celsius] = field(
        "The air that a cold pack is brought into; `none` where it is never brought into warm air.",
        18,
        "none",
    )
    floor_degC: Celsius = field("Lowest temperature of the floor below the pack.", -20)


class Accepted(Section):
    """A finding that a person took on; what lacks one of the four is a finding, and does not count."""

    rule: RuleId = field("Id of the rule.", "discharge-cold-below-cell")
    reason: Text = field("Why the finding is acceptable here.", "winter lay-up only")
    by: Text = field("Who took it on.", "site engineer")
    until: Date = field("Last day on which it holds, as year-month-day.", "2027-03-31")


class NotApplicable(Section):
    """A rule that lacks data and does not concern this pack; without a reason it is a finding."""

    rule: RuleId = field("Id of the rule.", "charging-stops-in-heat")
    reason: Text = field(
        "Why the rule does not concern this pack.", "the pack is charged in a cold room only"
    )
