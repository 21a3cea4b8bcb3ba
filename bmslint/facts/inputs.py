"""Reading settings for the physics: what is missing is collected, what is assumed is noted."""

from collections.abc import Mapping
from functools import cache
from typing import Any, Literal, NamedTuple

from bmslint.facts.quantity import BASES
from bmslint.limits import Default, Limits, load_defaults

Side = Literal["low", "value", "high"]

# How far a declared property may be off, by how it is known (judgement: a data sheet gives one figure for
# a series of cells, a measurement is of this cell, an assumption is worth less than either).
DECLARED_RANGE = {"measured": 0.05, "datasheet": 0.10, "assumed": 0.30}
DECLARED_BASIS = {"measured": "measured", "datasheet": "cell maker", "assumed": "default"}


# The setting that replaces a default property, by the property's name or the first word of it.
SETTING_OF = {
    "through_W_per_mK": "pack.cell.thermal.through_W_per_mK",
    "along_W_per_mK": "pack.cell.thermal.along_W_per_mK",
    "specific_heat_J_per_kgK": "pack.cell.thermal.specific_heat_J_per_kgK",
    "density_kg_per_m3": "pack.cell.mass_kg",
    "contact": "pack.layout.contact_m2K_per_W",
    "film_contact_m2K_per_W": "heater.contact_m2K_per_W",
    "heater_tolerance_pct": "heater.tolerance_pct",
    "insulation_W_per_mK": "pack.enclosure.insulation_W_per_mK",
    "sensor_lag_s": "sensors.*.lag_s",
    "sensor_accuracy_K": "sensors.*.accuracy_K",
    "film_coupling_pct": "sensors.*.film_coupling_pct",
    "activation_kJ_per_mol": "pack.cell.resistance_ratio_0degC",
}


class LackingError(Exception):
    """What a quantity needs is not there.

    Args:
        paths: settings to add; empty where the pack does not have the thing at all.
        reason: why, for a person.
    """

    def __init__(self, paths: tuple[str, ...], reason: str) -> None:
        super().__init__(reason)
        self.paths = paths
        self.reason = reason


class Property(NamedTuple):
    """A physical property with its range and how it is known."""

    low: float
    value: float
    high: float
    basis: str

    def at(self, side: Side) -> float:
        """Give the nominal value or an end of the range."""
        return self.value if side == "value" else self.low if side == "low" else self.high

    def scaled(self, factor: float) -> "Property":
        """Multiply value and range by a positive factor."""
        return Property(self.low * factor, self.value * factor, self.high * factor, self.basis)


def exact(value: float) -> Property:
    """Wrap a declared value that has no range of its own."""
    return Property(value, value, value, "declared")


@cache
def _parts(path: str) -> tuple[str, ...]:
    """Split a path of settings that the facts ask for, of which there are some hundred."""
    return tuple(path.split("."))


@cache
def _default(chemistry: str, shape: str, name: str) -> tuple[Property, str]:
    """Give a default property, and what is told of its use."""
    row: Default = load_defaults(chemistry, shape)[name]
    known = SETTING_OF.get(name.partition("_")[0]) or SETTING_OF.get(name)
    declare = f"; declare {known}" if known else ""
    told = f"{name} = {row.value:g} ({row.low:g} to {row.high:g}){declare}"
    return Property(row.low, row.value, row.high, "default"), told


class Inputs:
    """The settings of one pack, as the facts look things up in them.

    Args:
        data: the validated settings.
        limits: what the cells may endure.
    """

    def __init__(self, data: Mapping[str, Any], limits: Limits) -> None:
        self.data = data
        self.limits = limits
        self.bases: set[str] = set()
        self.assumed: set[str] = set()

    def find(self, path: str) -> Any:
        """Look up a dotted path in the settings; None where it is not there."""
        node: Any = self.data
        for part in _parts(path):
            node = node.get(part) if isinstance(node, dict) else None
            if node is None:
                return None
        return node

    def need(self, *paths: str) -> list[Any]:
        """Look up paths that must be there.

        Raises:
            LackingError: one or more are absent, and it names them all; or what one of them belongs to is
                `none`, so that there is nothing to add.
        """
        found = list(map(self.find, paths))
        if None not in found:
            return found
        absent = tuple(path for path, value in zip(paths, found, strict=True) if value is None)
        for path in absent:
            parts = path.split(".")
            for owner in (".".join(parts[:length]) for length in range(1, len(parts))):
                if self.find(owner) == "none":
                    raise LackingError((), f"{owner} is none")
        raise LackingError(absent, "not described: " + ", ".join(absent))

    def assume(self, path: str, value: Any) -> Any:
        """Look up a path, or take a value that is then named as assumed."""
        found = self.find(path)
        if found is None:
            self.note(f"{path} = {value}")
            return value
        return found

    def note(self, what: str) -> None:
        """Remember that a default was used."""
        self.assumed.add(what)
        self.bases.add("default")

    @property
    def shape(self) -> str:
        """The cell's shape; prismatic where the file does not say."""
        return str(self.assume("pack.cell.shape", "prismatic"))

    def default(self, name: str) -> Property:
        """Give a default property with its range, and note that it was used."""
        found, told = _default(str(self.data["pack"]["chemistry"]), self.shape, name)
        self.note(told)
        return found

    def thermal(self, name: str) -> Property:
        """Give a thermal property of the cell: declared in the file, or the default."""
        value = self.find(f"pack.cell.thermal.{name}")
        if value is None:
            return self.default(name)
        known = self.find("pack.cell.thermal.basis") or "assumed"
        part = DECLARED_RANGE[known]
        self.bases.add(DECLARED_BASIS[known])
        return Property(value * (1 - part), value, value * (1 + part), DECLARED_BASIS[known])

    def declared_or_default(self, path: str, name: str) -> Property:
        """Give a property that the file may state as one number, or the default."""
        value = self.find(path)
        return self.default(name) if value is None else exact(float(value))

    @property
    def basis(self) -> str:
        """The weakest basis noted so far."""
        return min(self.bases | {"declared"}, key=BASES.index)
