"""What a derived quantity is, and how a set of them is handed on."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from typing import Literal

Value = float | bool | str

BASES = ("default", "chemistry table", "cell maker", "declared", "measured")
"""How well a value is known, weakest first."""


@dataclass(frozen=True)
class Quantity:
    """One derived value with its range.

    Args:
        value: at nominal properties, in `unit`.
        low: smallest over the corners of the properties' ranges, in `unit`.
        high: largest over the corners, in `unit`.
        unit: `degC`, `K`, `s`, ...; empty for a word or a truth value.
        basis: the weakest of `BASES` that the value rests on.
        worse: which end of the range is unfavourable; None where the range has no bad end.
        assumed: names of the defaults that were used.
    """

    value: Value
    low: Value
    high: Value
    unit: str
    basis: str
    worse: Literal["low", "high"] | None
    assumed: tuple[str, ...] = ()

    @property
    def unfavourable(self) -> Value:
        """The value at the unfavourable end of the range."""
        return {"low": self.low, "high": self.high, None: self.value}[self.worse]


@dataclass(frozen=True)
class Missing:
    """A quantity that could not be derived.

    Args:
        paths: settings that would let it be derived; empty where this pack does not have it.
        reason: why, for a person.
    """

    paths: tuple[str, ...]
    reason: str


Group = Mapping[str, Quantity | Missing]


@dataclass(frozen=True)
class Facts:
    """Every derived quantity of one pack, by group and name."""

    groups: Mapping[str, Group]

    def nominal(self) -> dict[str, dict[str, Value]]:
        """Give the values at nominal properties, without what is missing."""
        return {
            group: {name: item.value for name, item in items.items() if isinstance(item, Quantity)}
            for group, items in self.groups.items()
        }

    def unfavourable(self) -> dict[str, dict[str, Value]]:
        """Give the values at the unfavourable end of each range, without what is missing."""
        return {
            group: {name: item.unfavourable for name, item in items.items() if isinstance(item, Quantity)}
            for group, items in self.groups.items()
        }

    def find(self, path: str) -> Quantity | Missing | None:
        """Look up `group.name`; None if there is no such fact."""
        group, _, name = path.partition(".")
        return self.groups.get(group, {}).get(name)


def rounded_up(value: float, step: float) -> float:
    """Round a setting up to the next step, so that it stays safe; a millionth of a step is not counted."""
    return ceil(value / step - 1e-6) * step
