"""Says how sure a judgement is: what it rests on, and which properties were assumed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from bmslint.output.story.form import Entry, Section

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from bmslint.judge.inputs import Inputs

CONFIDENCE = {
    "default": "Some properties of this pack are not in the file. Usual ones were taken for them, each with "
    "a range; what is not known about this very pack can move the numbers within theirs.",
    "chemistry table": "The limit is the one that is usual for this chemistry. The cell maker's own may "
    "differ, and it is what counts.",
    "cell maker": "It rests on the cell maker's data, as the file gives them.",
    "declared": "It rests on what the file declares and on nothing that was assumed.",
    "measured": "It rests on data that were measured on this pack.",
}
"""What each confidence means for a person."""

HOW = {
    "read": "read for this rule",
    "common practice": "common practice of the trade",
    "unverified": "not verified; ask the cell maker",
    "declared": "stated in the file",
}
"""How a source is known."""

DEFAULTS: dict[str, tuple[str, str]] = {
    "through_W_per_mK": ("heat conduction across the layers of a cell", "W/(m K)"),
    "along_W_per_mK": ("heat conduction along the layers of a cell", "W/(m K)"),
    "specific_heat_J_per_kgK": ("heat that a kilogram of cell takes up for each degree", "J/(kg K)"),
    "density_kg_per_m3": ("density of a cell", "kg/m3"),
    "contact_contact_m2K_per_W": ("resistance to heat from cell to cell, pressed together", "m2 K/W"),
    "contact_pad_m2K_per_W": ("resistance to heat of the pad between cells", "m2 K/W"),
    "contact_foam_m2K_per_W": ("resistance to heat of the foam between cells", "m2 K/W"),
    "contact_air_m2K_per_W": ("resistance to heat of the air between cells", "m2 K/W"),
    "contact_plate_m2K_per_W": ("resistance to heat of the plate between cells", "m2 K/W"),
    "film_contact_m2K_per_W": ("resistance to heat from the film heater into the cell", "m2 K/W"),
    "film_coupling_pct": ("how much a sensor under the film feels of the film itself", "%"),
    "air_W_per_m2K": ("heat that still air carries off, each square metre and degree", "W/(m2 K)"),
    "radiation_W_per_m2K": ("heat that is radiated off, each square metre and degree", "W/(m2 K)"),
    "air_gap_W_per_m2K": ("heat that an air gap below the pack carries off", "W/(m2 K)"),
    "floor_contact_W_per_m2K": ("heat that a floor below the pack carries off", "W/(m2 K)"),
    "insulation_W_per_mK": ("heat conduction of the insulation", "W/(m K)"),
    "sensor_lag_s": ("time by which a sensor lags behind its place", "s"),
    "sensor_accuracy_K": ("how far a sensor may be off", "K"),
    "heater_tolerance_pct": ("how far the heater's power may be off", "%"),
    "activation_kJ_per_mol": ("how steeply a cell's resistance rises in the cold", "kJ/mol"),
    "instant_resistance_pct": ("share of a cell's resistance that acts at once", "%"),
    "instant_activation_kJ_per_mol": ("how steeply that share rises in the cold", "kJ/mol"),
    "connection_mohm": ("resistance of the joints between cells", "mohm"),
    "current_error_pct": ("error of the board's current measurement", "%"),
    "cell_error_mV": ("error of the board's cell voltage", "mV"),
    "pack_error_pct": ("error of the board's pack voltage", "%"),
    "self_discharge_pct_per_month": ("charge that a cell loses by itself", "%/month"),
    "reserve_pct": ("charge that a cell holds above harm when under-voltage trips", "%"),
    "imbalance_pct": ("difference in charge between cells", "%"),
}
"""Plain words and unit of each default property, by its name in the tables."""

_DEFAULT = re.compile(r"(\w+) = (\S+) \((\S+) to (\S+)\)(?:; declare (\S+))?")


class Assumed(NamedTuple):
    """A property that was assumed: what it is, value and range with units, the setting that replaces it."""

    words: str
    value: str
    range: str
    setting: str


def assumed(notes: Iterable[str]) -> tuple[Assumed, ...]:
    """Say in plain words what was assumed.

    Args:
        notes: what a finding or a fact names as assumed.

    Returns:
        An entry for each, in the same order; texts that are empty where a note has no such part.
    """
    return tuple(map(_assumed, notes))


def _assumed(note: str) -> Assumed:
    match = _DEFAULT.fullmatch(note)
    if match is None:
        name, _, value = note.partition(" = ")
        return Assumed(name, value, "", "")
    name, value, low, high, setting = match.groups()
    words, unit = DEFAULTS.get(name, (name, ""))
    return Assumed(words, f"{value} {unit}".rstrip(), f"{low} to {high} {unit}".rstrip(), setting or "")


def sure_part(
    confidence: str, notes: Sequence[str], before: Sequence[str] = (), after: Sequence[str] = ()
) -> Section:
    """Say what a judgement rests on.

    Args:
        confidence: how well it is known, one of `CONFIDENCE`.
        notes: what was assumed, as findings and facts name it.
        before: paragraphs before.
        after: paragraphs after, before the list of what was assumed.

    Returns:
        The part of a story.
    """
    paragraphs = [*before, CONFIDENCE[confidence], *after]
    entries = []
    for each in assumed(notes):
        within = f", between {each.range.replace(' to ', ' and ', 1)}" if each.range else ""
        declare = f"declare {each.setting}" if each.setting else ""
        entries.append(Entry(each.words, each.value + within, declare))
    if entries:
        paragraphs.append("Assumed, because the file does not say it:")
    return Section("sure", "How sure this is", tuple(paragraphs), tuple(entries))


def limit_source(inputs: Inputs, path: str) -> str:
    """Say where a limit is from.

    Args:
        inputs: what a rule was judged on.
        path: a path below `limits`.

    Returns:
        Words with the source's title and how it is known; empty where there is none.
    """
    rest = path.removeprefix("limits.")
    sources = inputs.limits.sources
    source = sources.get(rest) or sources.get(rest.rpartition(".")[0])
    if source is None:
        return ""
    maker = (
        "the cell maker's data in the file" if source.basis == "cell maker" else "the table of the chemistry"
    )
    return f"{maker}: {source.title} ({HOW.get(source.how, source.how)})"
