"""Where a file's own cell limits allow more than the chemistry's table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bmslint.limits.current import allowed_current_A

_AT = "pack.cell.limits"
# Rates times a capacity are not exact in binary: 0.3 x 230 is not 69. A billionth is far below any
# setting's resolution and far above rounding.
_RELATIVE = 1e-9


def looser_limits(
    declared: Mapping[str, Any],
    table: Mapping[str, Any],
    table_rows: list[dict[str, float]] | None,
) -> list[dict[str, Any]]:
    """List every limit that the file declares looser than the chemistry's table.

    Args:
        declared: `pack.cell.limits` of the file.
        table: `limits` of the chemistry's table.
        table_rows: the table's charge current for this cell in A, or None without a capacity.

    Returns:
        Entries of `path` (the setting), `declared`, `table` (both in the setting's own unit) and
        `direction`: `above` or `below`, how the declared value lies to the table's.
    """
    found = []
    for name in ("charge_degC", "discharge_degC", "storage_degC"):
        for end in ("min", "max"):
            found += _compare(f"{name}.{end}", declared.get(name, {}), table.get(name, {}), end, end == "max")
    found += _compare("charge_max_V", declared, table, "charge_max_V", True)
    found += _compare("discharge_min_V", declared, table, "discharge_min_V", False)
    if table_rows:
        found += _looser_currents(declared.get("charge_current", []), table_rows)
    return found


def _compare(
    path: str, declared: Mapping[str, Any], table: Mapping[str, Any], name: str, looser_above: bool
) -> list[dict[str, Any]]:
    if name not in declared or name not in table:
        return []
    mine, theirs = declared[name], float(table[name]["value"])
    if not (mine > theirs if looser_above else mine < theirs):
        return []
    return [_entry(path, mine, theirs, "above" if looser_above else "below")]


def _looser_currents(
    declared: list[dict[str, float]], table_rows: list[dict[str, float]]
) -> list[dict[str, Any]]:
    """Name each declared row that somewhere in its span allows more than the table."""
    found = []
    for index, row in enumerate(declared):
        later = [r["from_degC"] for r in declared if r["from_degC"] > row["from_degC"]]
        end = min(later, default=float("inf"))
        # Both are step functions, so the least of the table in a span is met at its start or at
        # one of the table's own steps inside it.
        met = [row["from_degC"]]
        met += [t["from_degC"] for t in table_rows if row["from_degC"] < t["from_degC"] < end]
        least = min(allowed_current_A(table_rows, at) for at in met)
        if row["max_A"] > least * (1 + _RELATIVE):
            found.append(_entry(f"charge_current[{index}].max_A", row["max_A"], least, "above"))
    return found


def _entry(path: str, declared: float, table: float, direction: str) -> dict[str, Any]:
    return {
        "path": f"{_AT}.{path}",
        "declared": declared,
        "table": table,
        "direction": direction,
    }
