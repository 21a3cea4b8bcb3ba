"""Which derived quantities a change moved, and to which side."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from bmslint.facts.names import FACT_NAMES
from bmslint.facts.quantity import Quantity

if TYPE_CHECKING:
    from bmslint.facts import Facts
    from bmslint.facts.quantity import Value
    from bmslint.judge.rule import Rule

AMOUNTS: Mapping[str, float] = MappingProxyType(
    {
        "degC": 0.5, "K": 0.5, "V": 0.005, "mV": 1.0, "A": 0.1, "Ah": 0.1, "W": 0.5, "Wh": 1.0, "min": 1.0,
        "h": 0.5, "s": 1.0, "d": 1.0, "us": 1.0, "%": 1.0,
    }
)  # fmt: skip
"""Least amount, by unit, by which a quantity has to move to be told: what a person would notice."""

LEAST_SHARE = 0.02
"""Least share of itself by which any quantity but a temperature has to move, too; judgement likewise."""

TEMPERATURES = ("degC", "K")


class FactChange(NamedTuple):
    """A derived quantity that moved.

    `was` and `now` are at nominal properties, the two others at the unfavourable end of its range.
    """

    fact: str
    means: str
    unit: str
    side: Literal["worse", "better"]
    was: Value
    now: Value
    unfavourable_was: Value
    unfavourable_now: Value


def deciding_facts(rules: Iterable[Rule]) -> frozenset[str]:
    """Give the derived quantities that matter most.

    Args:
        rules: of a pack.

    Returns:
        Those that a rule of severity `reject` rests on, by `group.name`.
    """
    named = (path for rule in rules if rule.severity == "reject" for path in rule.named())
    return frozenset(path.removeprefix("facts.") for path in named if path.startswith("facts."))


def changed_facts(old: Facts, new: Facts, among: Container[str]) -> tuple[FactChange, ...]:
    """Compare the derived quantities of two settings files.

    Args:
        old: before.
        new: after.
        among: those to look at, by `group.name`.

    Returns:
        Those with a known worse side that both files give and that moved by more than the amount of their
        unit, at nominal properties or at the unfavourable end; worse ones first, then by name.
    """
    found = []
    for group, entries in new.groups.items():
        for name, now in entries.items():
            was = old.groups.get(group, {}).get(name)
            if f"{group}.{name}" not in among:
                continue
            if isinstance(was, Quantity) and isinstance(now, Quantity) and now.worse is not None:
                moved = _side(was, now)
                if moved:
                    means = FACT_NAMES[group][name][1]
                    values = (was.value, now.value, was.unfavourable, now.unfavourable)
                    found.append(FactChange(f"{group}.{name}", means, now.unit, moved, *values))
    return tuple(sorted(found, key=lambda each: (each.side == "better", each.fact)))


def _side(was: Quantity, now: Quantity) -> Literal["worse", "better"] | None:
    """To which side it moved; where its nominal value did not, its unfavourable end decides."""
    for before, after in ((was.value, now.value), (was.unfavourable, now.unfavourable)):
        if isinstance(before, str) or isinstance(after, str):
            continue
        if _moved(float(before), float(after), now.unit):
            return "worse" if (after > before) == (now.worse == "high") else "better"
    return None


def _moved(before: float, after: float, unit: str) -> bool:
    apart = abs(after - before)
    if unit not in TEMPERATURES and apart < LEAST_SHARE * max(abs(before), abs(after)):
        return False
    return apart > 0.0 and apart >= AMOUNTS.get(unit, 0.0)
