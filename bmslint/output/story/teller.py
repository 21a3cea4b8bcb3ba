"""Puts the numbers of one file into sentences, each with its unit and the digits that its range deserves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from bmslint.facts.quantity import Quantity
from bmslint.judge.inputs import Inapplicable, Lacking
from bmslint.judge.template import show
from bmslint.judge.units import unit_at
from bmslint.output.digits import MOST_DECIMALS, NONE, rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bmslint.judge.inputs import Inputs, Item

FIELD = re.compile(r"\{([^{}]+)\}")
WORST = "!worst"
"""At the end of a field: the value at the unfavourable end of its range."""

# From how much of a unit on another one reads better, and how much of it makes one of the other.
LONGER: dict[str, tuple[float, float, str]] = {
    "us": (10_000.0, 1e3, "ms"),
    "ms": (10_000.0, 1e3, "s"),
    "s": (180.0, 60.0, "min"),
    "min": (180.0, 60.0, "h"),
    "Wh": (10_000.0, 1e3, "kWh"),
}
DECIMALS = {
    **dict.fromkeys(("degC", "K", "h", "A", "Ah", "W", "%", "%/month", "%/h", "1/h"), (NONE, 1)),
    **dict.fromkeys(("min", "Wh", "mV"), (NONE, 0)),
    "d": (NONE, 1),
    "V": (2, 3),
}
"""Fewest and most decimals by unit; of others as many as any number may have."""

SAID: dict[str, str] = {"d": "days", "%/month": "% a month", "%/h": "% an hour", "1/h": "times an hour"}
"""Units that are said in words."""


class Number(NamedTuple):
    """A number as a story shows it.

    Args:
        text: its digits.
        unit: the unit that stands behind them.
        value: the number itself, in `unit`, not rounded.
        source: path of the fact, limit or setting, with `!worst` for its unfavourable end; `course` for one
            read off the warm-up, empty for a difference of others.
    """

    text: str
    unit: str
    value: float
    source: str

    def __str__(self) -> str:
        return f"{self.text} {self.unit}".rstrip()


def number(
    value: float,
    unit: str,
    source: str,
    error: float = 0.0,
    apart_from: float | None = None,
    beside: float = 0.0,
) -> Number:
    """Make a number ready to be told.

    Args:
        value: the number, in `unit`.
        unit: its unit.
        source: where it is from, as `Number` has it.
        error: how far the end of its range is off that is farther, in `unit`; 0 where it has none.
        apart_from: a number that it is held against, in `unit`.
        beside: the largest number that it is told together with, in `unit`, so that all have one unit.

    Returns:
        The number, a long time in a longer unit.
    """
    while unit in LONGER and max(abs(value), beside) >= LONGER[unit][0]:
        _, factor, unit = LONGER[unit]
        value, error, beside = value / factor, error / factor, beside / factor
        apart_from = None if apart_from is None else apart_from / factor
    text = rounded(value, value - error, value + error, apart_from, DECIMALS.get(unit, (NONE, MOST_DECIMALS)))
    return Number(text, SAID.get(unit, unit), value, source)


def error(fact: Quantity | None) -> float:
    """Give how far the farther end of a fact's range is off its value.

    Args:
        fact: the fact, or None.

    Returns:
        The distance in the fact's unit; 0 where it has no range. It counts for the ends themselves too, so
        that they are told with the digits of the value.
    """
    if fact is None or not all(isinstance(each, float) for each in (fact.low, fact.value, fact.high)):
        return 0.0
    return max(float(fact.high) - float(fact.value), float(fact.value) - float(fact.low), 0.0)


class Teller:
    """Fills sentences with the numbers of one file, and keeps every number that it told."""

    def __init__(self, inputs: Inputs, item: Item | None = None) -> None:
        """Keep the file's inputs.

        Args:
            inputs: settings, limits and facts.
            item: the match that a rule is told for, if it is one of several.
        """
        self.inputs = inputs
        self.item = item
        self.told: list[Number] = []

    def value(self, path: str) -> object:
        """Look up a value.

        Args:
            path: below `facts` or `limits`, or of a setting.

        Returns:
            The value, None if there is none.
        """
        found = self.inputs.resolve(path, self.item)
        return None if isinstance(found, Lacking | Inapplicable) else found

    def quantity(self, path: str) -> Quantity | None:
        """Look up a fact.

        Args:
            path: below `facts`.

        Returns:
            The quantity with its range, None if it was not derived.
        """
        found = self.inputs.facts.find(path.removeprefix("facts."))
        return found if isinstance(found, Quantity) else None

    def number(self, path: str, apart_from: float | None = None) -> Number | None:
        """Give a number of the file, ready to be told.

        Args:
            path: below `facts` or `limits`, or of a setting; may end in `!worst`.
            apart_from: a number that it is held against, in its own unit.

        Returns:
            The number, None if there is none at the path.
        """
        plain = path.removesuffix(WORST)
        fact = self.quantity(plain) if plain.startswith("facts.") else None
        value = fact.value if fact is not None else self.value(plain)
        if fact is not None and path != plain:
            value = fact.unfavourable
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        return number(value, unit_at(plain), path, error(fact), apart_from)

    def tell(self, told: Number) -> str:
        """Keep a number as told.

        Args:
            told: the number.

        Returns:
            Its text with its unit.
        """
        self.told.append(told)
        return str(told)

    def shown(self, path: str) -> str | None:
        """Give a value of the file as text, and keep it as told.

        Args:
            path: below `facts` or `limits`, or of a setting; may end in `!worst`.

        Returns:
            The text, with its unit if it is a number; None if there is no value.
        """
        found = self.number(path)
        if found is not None:
            return self.tell(found)
        value = self.value(path.removesuffix(WORST))
        return None if value is None else show(value)

    def fill(self, sentence: str) -> str | None:
        """Put values in the place of a sentence's fields.

        Args:
            sentence: text with paths in braces.

        Returns:
            The sentence; None if one of the values is not known in this file.
        """
        parts = FIELD.split(sentence)
        kept = len(self.told)
        for place in range(1, len(parts), 2):
            shown = self.shown(parts[place])
            if shown is None:
                del self.told[kept:]
                return None
            parts[place] = shown
        return "".join(parts)

    def sentences(self, wanted: Sequence[str]) -> str:
        """Join those of some sentences that this file has the values for.

        Args:
            wanted: sentences with fields.

        Returns:
            One paragraph, empty if no sentence can be filled.
        """
        return " ".join(filled for each in wanted if (filled := self.fill(each)) is not None)
