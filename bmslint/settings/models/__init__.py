"""Settings format 1 as pydantic models: the source of the JSON Schema and of `compiled.json`.

Left out means not described; what the board or the pack truly lacks is written as `none`. What
one key means for another is for the rules, so that the models hold no functions and can be
compiled (see `bmslint.settings.compiled`).
"""

from typing import Annotated

from pydantic import Field

from bmslint.settings.models.heating import Heater, Sensor
from bmslint.settings.models.operation import (
    Accepted,
    Balancing,
    ChargeCurrent,
    ChargePath,
    Charger,
    FullCharge,
    Load,
    NotApplicable,
    Site,
    Storage,
)
from bmslint.settings.models.pack import Pack
from bmslint.settings.models.protection import Protection
from bmslint.settings.models.units import OrNone, Section, Text, Word, field, required

__all__ = ["Settings"]

# Not Literal[1], which takes true and 1.0 for 1.
FormatVersion = Annotated[int, Field(ge=1, le=1)]
RelativePath = Annotated[str, Field(min_length=1, max_length=1000)]


class Settings(Section):
    """The settings of one pack's battery management system."""

    format: FormatVersion = required("Version of this format.", 1)
    title: Text = field("What the settings are for.", "Ridge hut store, 8S, heated")
    extends: RelativePath = field(
        "Another settings file, relative to this one, whose values hold where this file has none."
        " Mappings merge, lists are replaced, an empty value removes.",
        "base/8s-lfp.yaml",
    )
    pack: Pack = required("The pack.", {"chemistry": "lfp", "series": 8})
    heater: OrNone[Heater] = field(
        "The heater; `none` where the pack has none.",
        {"power_W": 160, "faces": ["ends", "sides"], "sensors": ["skin"]},
        "none",
    )
    sensors: Annotated[dict[Word, Sensor], Field(max_length=1000)] = field(
        "The temperature sensors by name.",
        {"skin": {"place": "heated_face", "accuracy_K": 1}},
    )
    protection: Protection = field(
        "What the protection does, and at which readings.",
        {"charge_cold": {"inhibit_below_degC": 0, "release_above_degC": 5, "sensors": ["skin"]}},
    )
    charge_current: OrNone[ChargeCurrent] = field(
        "The charging current allowed by temperature; `none` where the board does not limit it.",
        {"steps": [{"from_degC": 0, "max_A": 20}], "sensors": ["skin"]},
        "none",
    )
    charge_paths: Annotated[list[ChargePath], Field(max_length=100)] = field(
        "Everything that can push current into the pack.",
        [{"name": "mains charger", "max_A": 60, "obeys": ["charge_cold"]}],
    )
    balancing: OrNone[Balancing] = field(
        "How the cells are balanced; `none` where they are not.",
        {"start_above_V": 3.40, "difference_above_mV": 10, "current_mA": 100},
        "none",
    )
    full_charge: OrNone[FullCharge] = field(
        "How a full pack is noticed; `none` where it is not.",
        {"cell_above_V": 3.55, "tail_below_A": 10, "hold_s": 120},
        "none",
    )
    charger: Charger = field("The charger.", {"bulk_V": 28.8, "float_V": 27.0, "max_A": 60})
    load: Load = field("The load.", {"continuous_A": 150, "surge_A": 400, "surge_s": 3})
    storage: Storage = field("Time without charging.", {"board_draw_mA": 8, "days": 120})
    site: Site = field(
        "Where the pack stands.", {"coldest_degC": -25, "hottest_degC": 40, "warms_to_degC": 18}
    )
    accepted: Annotated[list[Accepted], Field(max_length=200)] = field(
        "Findings that a person took on; each needs rule, reason, by and until.",
        [
            {
                "rule": "discharge-cold-below-cell",
                "reason": "winter lay-up only",
                "by": "site engineer",
                "until": "2027-03-31",
            }
        ],
    )
    not_applicable: Annotated[list[NotApplicable], Field(max_length=200)] = field(
        "Rules that lack data and do not concern this pack, each with a reason; they are shown, and do not"
        " keep a file from being accepted.",
        [{"rule": "charging-stops-in-heat", "reason": "the pack is charged in a cold room only"}],
    )
