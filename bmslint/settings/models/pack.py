"""The pack: its cells, how they stand, and what is around them."""

from typing import Annotated, Literal

from pydantic import Field

from bmslint.settings.models.cell import Cell
from bmslint.settings.models.units import (
    AmpereHours,
    Amperes,
    AmpereSquaredSeconds,
    Celsius,
    ContactResistance,
    MillimetresOrZero,
    OrNone,
    Section,
    ThermalConductivity,
    field,
    required,
)

CellCount = Annotated[int, Field(ge=1, le=10_000)]
Chemistry = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[a-z][a-z0-9_-]*$")]


class Layout(Section):
    """How the cells stand in the block."""

    stacked: CellCount = field("Number of cells one behind the other along their thickness.", 4)
    rows: CellCount = field("Number of cells beside each other along their width.", 2)
    tiers: CellCount = field("Number of cells above each other along their height.", 1)
    gap: Literal["contact", "pad", "foam", "air", "plate"] = field(
        "What lies between stacked cells: nothing (contact), a gap pad, foam, air, or a plate.",
        "pad",
    )
    contact_m2K_per_W: ContactResistance = field(
        "Thermal resistance of one square metre between neighbouring cells; it replaces the"
        " default of `gap`.",
        0.0005,
    )


class Enclosure(Section):
    """The box around the block."""

    insulation_mm: MillimetresOrZero = field("Thickness of the insulation; 0 for bare walls.", 20)
    insulation_W_per_mK: ThermalConductivity = field("Thermal conductivity of the insulation.", 0.035)
    underside: Literal["air_gap", "insulated", "floor_contact"] = field(
        "What is below: air between pack and floor, insulation as on the sides, or the floor itself.",
        "air_gap",
    )


class Board(Section):
    """The protection board itself."""

    max_degC: Celsius = field("Highest temperature of the board that its maker allows.", 85)
    continuous_A: Amperes = field("Current that the board carries continuously.", 200)
    short_circuit_max_A: Amperes = field("Largest current that the board can interrupt without damage.", 2500)


class Fuse(Section):
    """The fuse in the main circuit."""

    rated_A: Amperes = field("Rated current.", 250)
    melting_A2s: AmpereSquaredSeconds = field(
        "Current squared times time at which the fuse begins to melt.", 80000
    )


class Pack(Section):
    """The pack."""

    chemistry: Chemistry = required("Name of the chemistry, one of those that bmslint has limits for.", "lfp")
    series: CellCount = required("Number of cells, or groups of parallel cells, in series.", 8)
    parallel: CellCount = field("Number of cells in parallel in each group.", 1)
    capacity_Ah: AmpereHours = field(
        "Rated capacity of the pack; it is compared with cell capacity times `parallel`.", 230
    )
    cell: Cell = field("One cell.", {"shape": "prismatic", "capacity_Ah": 230})
    layout: Layout = field(
        "How the cells stand in the block.", {"stacked": 4, "rows": 2, "tiers": 1, "gap": "pad"}
    )
    enclosure: OrNone[Enclosure] = field(
        "The box around the block; `none` for a bare block.",
        {"insulation_mm": 20, "insulation_W_per_mK": 0.035, "underside": "air_gap"},
        "none",
    )
    board: Board = field("The protection board itself.", {"max_degC": 85})
    fuse: OrNone[Fuse] = field(
        "The fuse in the main circuit; `none` where there is none.",
        {"rated_A": 250, "melting_A2s": 80000},
        "none",
    )
