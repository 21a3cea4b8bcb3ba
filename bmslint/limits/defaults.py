"""Properties that are assumed where the file declares none."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple

from bmslint.limits.tables import chemistry_table, general_defaults, source_title


class Default(NamedTuple):
    """One assumed property.

    Attributes:
        value: the nominal value, in `unit`.
        low: the lower end of its range, in `unit`.
        high: the upper end of its range, in `unit`.
        unit: the unit, in plain text.
        title: where it is from.
        how: how it is known: `read`, `common practice` or `unverified`.
    """

    value: float
    low: float
    high: float
    unit: str
    title: str
    how: str


@cache
def load_defaults(chemistry: str, shape: str) -> Mapping[str, Default]:
    """Give every default property of a pack of this chemistry and cell shape.

    Args:
        chemistry: a name from `known_chemistries()`.
        shape: `prismatic`, `pouch` or `cylindrical`; of a cylindrical cell `through_W_per_mK` is
            the radial and `along_W_per_mK` the axial conductivity.

    Returns:
        The defaults by name; each name ends in its unit.

    Raises:
        UnknownChemistry: there is no table of that name.
        KeyError: the shape is none of the three.
    """
    cell = chemistry_table(chemistry)["thermal"][shape]
    rows = general_defaults()["defaults"] | cell
    return MappingProxyType({name: _default(row) for name, row in rows.items()})


def _default(row: dict[str, Any]) -> Default:
    return Default(
        value=float(row["value"]),
        low=float(row["low"]),
        high=float(row["high"]),
        unit=row["unit"],
        title=source_title(row["source"]),
        how=row["source"]["how"],
    )
