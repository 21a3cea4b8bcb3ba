"""The voltage of a cell at rest by its state of charge, as the chemistry's table has it."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from bmslint.limits.tables import chemistry_table, source_title


class OpenCircuit(NamedTuple):
    """The open-circuit curve of one chemistry at 25 degC, between charging and discharging.

    Attributes:
        charge: states of charge, 0 to 1, rising.
        cell_V: voltage of one cell at rest at each of them, in V, rising.
        range_V: how far a cell of this chemistry may lie above or below, in V.
        title: where it is from.
        how: how it is known: `read`, `common practice` or `unverified`.
    """

    charge: tuple[float, ...]
    cell_V: tuple[float, ...]
    range_V: float
    title: str
    how: str


@cache
def load_open_circuit(chemistry: str) -> OpenCircuit | None:
    """Give the open-circuit curve of a chemistry.

    Args:
        chemistry: a name from `known_chemistries()`.

    Returns:
        The curve; None for a chemistry whose kinds differ too much to share one.

    Raises:
        UnknownChemistry: there is no table of that name.
    """
    row = chemistry_table(chemistry).get("open_circuit")
    if row is None:
        return None
    return OpenCircuit(
        charge=tuple(percent / 100.0 for percent in row["charge_pct"]),
        cell_V=tuple(float(volts) for volts in row["cell_V"]),
        range_V=row["range_mV"] / 1e3,
        title=source_title(row["source"]),
        how=row["source"]["how"],
    )
