"""Plain explanations of the words of the trade, for someone who is no battery engineer."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable


class Term(NamedTuple):
    """A word of the trade and its explanation."""

    word: str
    means: str


class _Entry(NamedTuple):
    """A term with the pattern by which it is found in a text; letters of either case count alike."""

    word: str
    pattern: str
    means: str


_ENTRIES = (
    _Entry(
        "A, V, Ah, Wh, W", r"\d (?:A|V|mV|Ah|Wh|kWh|W)\b",
        "Ampere is how much current flows, volt how hard it is pushed. Ampere-hour (Ah) is charge: 1 A for "
        "an hour. Watt is power, watt-hour (Wh) energy: 1 W for an hour.",
    ),
    _Entry(
        "balancing", r"\bbalanc\w+",
        "Bleeding a little charge from the fullest cells, so that all cells of a pack become full together.",
    ),
    _Entry(
        "board", r"\b(?:the|protection) board\b",
        "The electronics that watch the cells and switch charging and discharging on and off; also called "
        "battery management system.",
    ),
    _Entry(
        "charge path", r"\bcharge paths?\b",
        "Anything that can push current into the pack: a charger, a solar controller, a braking motor.",
    ),
    _Entry(
        "chatter", r"\bchatter\w*",
        "A protection that switches off and on again within moments, over and over.",
    ),
    _Entry(
        "contact between cells", r"\bcontacts?\b|\bpad between cells\b",
        "Where two cells touch, heat passes less easily than inside a cell; a pad or foam between them "
        "slows it further.",
    ),
    _Entry(
        "contactor, relay", r"\bcontactors?\b|\brelays?\b",
        "A switch for large currents that a small current moves. Its contacts can weld together and then "
        "stay closed.",
    ),
    _Entry(
        "core", r"\bcore\b",
        "The inside of the innermost cells. Heat from outside gets there last, so it stays cold longest.",
    ),
    _Entry(
        "cut-out", r"\bcut-outs?\b",
        "A switch of its own on the heater that opens when it becomes too hot, without the board and "
        "whatever the board does.",
    ),
    _Entry(
        "deciding sensor", r"\bdeciding sensors?\b|\bsensors? decid\w+|\bdecided by\b",
        "The sensor whose reading a protection acts on. What other sensors read makes no difference to it.",
    ),
    _Entry(
        "degC, K", r"\d (?:degC|K)\b",
        "degC is a temperature in degrees Celsius. K (kelvin) is a difference of temperatures: from 0 degC "
        "to 5 degC it is 5 K.",
    ),
    _Entry(
        "dendrite", r"\bdendrites?\b",
        "A needle of metal that grows inside a cell and can connect its two sides.",
    ),
    _Entry(
        "derating", r"\bderat\w+|\bsteps? of the (?:charge current|settings)\b|\bcurrent by temperature\b",
        "Allowing less current where the cells are colder or hotter than they like, instead of all or "
        "nothing.",
    ),
    _Entry(
        "electrode, electrolyte, separator", r"\belectrodes?\b|\belectrolytes?\b|\bseparators?\b",
        "The two layers in a cell that take up and give off lithium; the liquid between them; and the thin "
        "sheet that keeps them apart.",
    ),
    _Entry(
        "film heater", r"\bfilms?\b",
        "A thin heating foil glued to the outside of the cells. It warms their surface first; the middle "
        "follows slowly.",
    ),
    _Entry(
        "float", r"\bfloat\w*",
        "The voltage that a charger goes on holding when the pack is full.",
    ),
    _Entry(
        "fuse", r"\bfuses?\b", "A part that melts and opens for good when far too much current flows.",
    ),
    _Entry(
        "gassing, venting", r"\bgass?es\b|\bvents?\b",
        "A cell that is ill-treated makes gas, swells, and in the end lets it out, which can burn.",
    ),
    _Entry(
        "hold time", r"\bhold time\b|\bhold_s\b|\bstayed there for\b",
        "How long a reading must stay good before charging is let go on.",
    ),
    _Entry(
        "hysteresis", r"\bhysteresis\b",
        "The distance between the reading that stops something and the one that lets it go on. Without it a "
        "protection chatters.",
    ),
    _Entry(
        "inhibit", r"\binhibit\w*",
        "To keep charging or discharging blocked while a reading is too low or too high. It ends by itself "
        "at the release.",
    ),
    _Entry(
        "lag", r"\blags?\b", "A sensor needs a while to follow the temperature of the place where it sits.",
    ),
    _Entry(
        "noise", r"\bnoise\b|\bnoisy\b",
        "Small jumps of a reading that do not come from what is measured.",
    ),
    _Entry(
        "nominal", r"\bnominal\b",
        "With every property at the value that is to be expected of such a pack.",
    ),
    _Entry(
        "nominal voltage", r"\bnominal voltage\b",
        "The voltage that a cell is named by; about what it has through most of a discharge.",
    ),
    _Entry(
        "over-current, overload", r"\bover-current\b|\boverloads?\b",
        "More current than something bears for long. A short overload may be allowed, a long one not.",
    ),
    _Entry(
        "over-voltage, under-voltage", r"\b(?:over|under)-voltage\b",
        "A cell above, or below, the voltage that it bears. The protection then stops charging, or "
        "discharging.",
    ),
    _Entry(
        "plating", r"\bplat(?:es?|ed|ing)\b",
        "In a cell that is charged while too cold, lithium settles as metal on an electrode instead of "
        "going into it. That charge is lost for good, and needles of metal may later short the cell inside.",
    ),
    _Entry(
        "pulse", r"\bpulses?\b|\bsurges?\b",
        "More current than usual for a short time, as when a motor starts.",
    ),
    _Entry(
        "relaxation", r"\brelax\w+|\bfalls back by itself\b|\brises again by itself\b",
        "When a current stops, the voltage of a cell creeps back to its value at rest, within seconds to "
        "minutes.",
    ),
    _Entry(
        "release", r"\breleas\w+|\ballows again\b",
        "The reading at which a protection lets charging or discharging go on again, and the moment when it "
        "does.",
    ),
    _Entry(
        "resolution", r"\bresolution\b", "The smallest step in which a reading changes.",
    ),
    _Entry(
        "self-discharge", r"\bself-discharge\b|\bown losses\b|\bown loss\b",
        "What a cell loses of its charge by itself, with nothing connected.",
    ),
    _Entry(
        "series, parallel", r"\bseries\b|\bparallel\b",
        "Cells in series add their voltages, cells in parallel their currents.",
    ),
    _Entry(
        "short circuit", r"\bshort[- ]circuits?\b",
        "Plus and minus connected with almost nothing between them: a current of thousands of amperes.",
    ),
    _Entry(
        "shunt", r"\bshunts?\b", "A small known resistance by which the board measures the current.",
    ),
    _Entry(
        "soaked", r"\bsoaked\b",
        "Left in one place so long that everything in it has the temperature of the air.",
    ),
    _Entry(
        "state of charge", r"\bstate of charge\b|\bhalf charged\b|% of charge\b",
        "How full a cell is: 100 % is full, 0 % empty.",
    ),
    _Entry(
        "string", r"\bstrings?\b", "All the cells that stand in series, one after the other.",
    ),
    _Entry(
        "tail current", r"\btail\b",
        "Near full the charge current falls by itself; below the tail current the pack counts as full.",
    ),
    _Entry(
        "terminal, busbar", r"\bterminals?\b|\bbusbars?\b",
        "The posts of a cell and the metal bars that connect them. They are warmed by the current and "
        "cooled by the air, and say little about the inside.",
    ),
    _Entry(
        "thermistor", r"\bthermistors?\b",
        "A resistor whose resistance falls as it becomes warmer. The board turns resistance into degrees by "
        "a curve, which must be that of the very part.",
    ),
    _Entry(
        "trickle, pre-charge", r"\btrickle\b|\bpre-charge\b",
        "A small current that some chargers give before the real charge, or for ever after it.",
    ),
    _Entry(
        "trip", r"\btrip(?:s|ped|ping)?\b",
        "A protection acts, because a limit was passed: it stops the current.",
    ),
    _Entry(
        "under the film", r"\bheated_face\b|\bunder the (?:heating )?film\b",
        "A sensor there is warmed by the heater itself and reads more than the cells have.",
    ),
    _Entry(
        "unfavourable properties", r"\bunfavourable\b|\bbad end of\b",
        "The same pack with everything that is not exactly known taken at the bad end of what is possible: "
        "poorer conduction, a weaker or stronger heater, a sensor that errs to the bad side.",
    ),
)  # fmt: skip

GLOSSARY = tuple(Term(each.word, each.means) for each in _ENTRIES)
"""Every term, in alphabetic order."""


def terms_in(texts: Iterable[str]) -> tuple[Term, ...]:
    """Find the terms that occur in some texts.

    Args:
        texts: what a person is going to read.

    Returns:
        The terms, in alphabetic order.
    """
    whole = "\n".join(texts)
    found = (re.search(each.pattern, whole, re.IGNORECASE) for each in _ENTRIES)
    return tuple(term for term, match in zip(GLOSSARY, found, strict=True) if match)
