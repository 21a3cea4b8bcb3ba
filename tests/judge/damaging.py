"""How damages to a settings file are made: each changes the plain data of a good profile in place.

Where a profile has nothing to damage, the damage changes nothing and gives the reason.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bmslint.settings.paths import put, split

Data = dict[str, Any]
Damage = Callable[[Data], str | None]
DAMAGES: dict[str, Damage] = {}

NO_HEATER = "no heater on this profile"


def named(name: str) -> Callable[[Damage], Damage]:
    def keep(damage: Damage) -> Damage:
        DAMAGES[name] = damage
        return damage

    return keep


def at(data: Data, path: str) -> Any:
    value: Any = data
    for part in split(path):
        value = value[part]
    return value


def puts(name: str, *changes: tuple[str, object], needs_heater: bool = False) -> None:
    """A damage that gives settings other values."""

    def damage(data: Data) -> str | None:
        if needs_heater and data["heater"] == "none":
            return NO_HEATER
        for path, value in changes:
            put(data, path, value)
        return None

    DAMAGES[name] = damage


def scales(name: str, *paths: str, by: float = 1.0, plus: float = 0.0, needs_heater: bool = False) -> None:
    """A damage that gives numbers in another unit, or off by a factor."""

    def damage(data: Data) -> str | None:
        if needs_heater and data["heater"] == "none":
            return NO_HEATER
        for path in paths:
            put(data, path, round(at(data, path) * by + plus, 6))
        return None

    DAMAGES[name] = damage


def exchanges(name: str, holder: str, one: str, other: str) -> None:
    """A damage that exchanges two settings."""

    def damage(data: Data) -> None:
        inside = at(data, holder)
        inside[one], inside[other] = inside[other], inside[one]

    DAMAGES[name] = damage


def removes(name: str, path: str) -> None:
    """A damage that leaves a setting out, where it is there."""
    *above, last = split(path)

    def damage(data: Data) -> str | None:
        holder: Any = data
        for part in above:
            holder = holder.get(part, {})
        if last not in holder:
            return f"{path} is not described on this profile"
        del holder[last]
        return None

    DAMAGES[name] = damage
