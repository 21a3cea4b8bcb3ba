"""The limits of the file's cell: the chemistry's table, replaced row by row by the maker's data."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from bmslint.limits.current import allowed_current_A
from bmslint.limits.looser import looser_limits
from bmslint.limits.tables import chemistry_table, source_title

TABLE = "chemistry table"
MAKER = "cell maker"

RANGES = ("charge_degC", "discharge_degC", "storage_degC")
# What the cell maker's data in the file may replace; everything else is the chemistry's own.
DECLARABLE = ("charge_max_V", "discharge_min_V", "discharge_max_A")
CHEMISTRY_ONLY = ("nominal_V", "harm_below_V", "plating", "float_wanted", "float_max_V")
OTHERS = ("chemistry", "charge_current", "typical", "undeclared_source", "looser")
LIMIT_NAMES = frozenset({*RANGES, *DECLARABLE, *CHEMISTRY_ONLY, *OTHERS})
"""Every name below `limits`."""

_WEAKEST_FIRST = ("unverified", "common practice", "read")


class Source(NamedTuple):
    """Where one limit is from.

    Attributes:
        basis: `cell maker` or `chemistry table`.
        title: the title a reader can look for, with the place in it.
        how: `read`, `common practice`, `unverified`, or `declared` for the file's own.
    """

    basis: str
    title: str
    how: str


class Limits(NamedTuple):
    """What the cell of a file may endure.

    Attributes:
        data: the limits as rules see them; numbers are floats, currents are per cell in A.
        sources: the source of each limit, by its path in `data`.
        missing: each limit that is not known, with the settings paths that would give it.
    """

    data: dict[str, Any]
    sources: Mapping[str, Source]
    missing: Mapping[str, tuple[str, ...]]


def load_limits(data: dict[str, Any]) -> Limits:
    """Give the limits of a pack's cell.

    Args:
        data: validated settings; `pack.chemistry` must be there.

    Returns:
        The chemistry's limits, replaced by those in `pack.cell.limits`.

    Raises:
        UnknownChemistry: there is no table for `pack.chemistry`.
    """
    pack = data["pack"]
    table = chemistry_table(pack["chemistry"])
    declared: dict[str, Any] = pack.get("cell", {}).get("limits", {})
    book = _Book(declared.get("source", "cell limits in the file, no source given"))
    for name in RANGES:
        for end in ("min", "max"):
            book.put(name, end, declared.get(name, {}), table["limits"].get(name, {}))
    for name in DECLARABLE:
        book.put("", name, declared, table["limits"])
    for name in CHEMISTRY_ONLY:
        if name in table["limits"]:  # a chemistry that is never floated has no float voltage
            book.put("", name, {}, table["limits"])
    book.put_typical(table["typical"])
    table_rows = _table_rows(table["limits"].get("charge_current", []), _cell_capacity_Ah(pack))
    book.put_charge_current(declared, table["limits"].get("charge_current", []), table_rows)
    limits = {
        "chemistry": pack["chemistry"],
        **book.data,
        "undeclared_source": bool(declared.keys() - {"source"}) and "source" not in declared,
        "looser": looser_limits(declared, table["limits"], table_rows),
    }
    return Limits(limits, MappingProxyType(book.sources), MappingProxyType(book.missing))


class _Book:
    """Limits gathered one by one, each with its source or with what would give it."""

    def __init__(self, maker_title: str) -> None:
        self.data: dict[str, Any] = {}
        self.sources: dict[str, Source] = {}
        self.missing: dict[str, tuple[str, ...]] = {}
        self._maker = Source(MAKER, maker_title, "declared")

    def put(self, group: str, name: str, declared: Mapping[str, Any], table: Mapping[str, Any]) -> None:
        """Take the maker's value, else the table's, else note the limit as missing."""
        path = f"{group}.{name}" if group else name
        if name in declared:
            value, source = declared[name], self._maker
        elif name in table:
            value, source = table[name]["value"], _table_source(table[name])
        else:
            self.missing[path] = (f"pack.cell.limits.{group or name}",)
            return
        target = self.data.setdefault(group, {}) if group else self.data
        target[name] = value if isinstance(value, bool) else float(value)
        self.sources[path] = source

    def put_typical(self, typical: Mapping[str, Any]) -> None:
        """Take the trip settings that are usual for the chemistry."""
        self.data["typical"] = {}
        for name, row in typical.items():
            self.data["typical"][name] = {"min": float(row["min"]), "max": float(row["max"])}
            self.sources[f"typical.{name}"] = _table_source(row)

    def put_charge_current(
        self,
        declared: Mapping[str, Any],
        table: list[dict[str, Any]],
        table_rows: list[dict[str, float]] | None,
    ) -> None:
        """Take the maker's currents whole, else the table's inside the temperatures known here."""
        path = "charge_current"
        if path in declared:
            self.data[path] = sorted(declared[path], key=lambda row: row["from_degC"])
            self.sources[path] = self._maker
            return
        bounds = self.data.get("charge_degC", {})
        colder = table and bounds.get("min", table[0]["from_degC"]) < table[0]["from_degC"]
        if not table or colder:
            # A maker who allows charging where the chemistry's table allows none has another cell
            # than the table's, and only the maker can say with what current.
            self.missing[path] = ("pack.cell.limits.charge_current",)
            return
        if table_rows is None:
            self.missing[path] = ("pack.cell.capacity_Ah",)
            return
        self.data[path] = _inside(table_rows, bounds)
        weakest = min((row["source"] for row in table), key=_strength)
        self.sources[path] = Source(TABLE, source_title(weakest), weakest["how"])


def _table_source(row: Mapping[str, Any]) -> Source:
    return Source(TABLE, source_title(row["source"]), row["source"]["how"])


def _strength(source: Mapping[str, str]) -> int:
    return _WEAKEST_FIRST.index(source["how"])


def _cell_capacity_Ah(pack: Mapping[str, Any]) -> float | None:
    declared: float | None = pack.get("cell", {}).get("capacity_Ah")
    if declared is not None:
        return declared
    if "capacity_Ah" in pack and "parallel" in pack:
        return float(pack["capacity_Ah"] / pack["parallel"])
    return None


def _table_rows(table: list[dict[str, Any]], capacity_Ah: float | None) -> list[dict[str, float]] | None:
    """Turn rates in 1/h into currents of this cell in A."""
    if capacity_Ah is None:
        return None
    return [{"from_degC": float(row["from_degC"]), "max_A": row["max_per_h"] * capacity_Ah} for row in table]


def _inside(rows: list[dict[str, float]], bounds: Mapping[str, float]) -> list[dict[str, float]]:
    """Cut the rows to the temperatures at which the cell may be charged at all."""
    lowest, highest = bounds["min"], bounds["max"]
    if highest <= lowest:
        return [{"from_degC": lowest, "max_A": 0.0}]
    within = [row for row in rows if lowest < row["from_degC"] < highest]
    kept = [{"from_degC": lowest, "max_A": allowed_current_A(rows, lowest)}, *within]
    # Where the cell bears more heat than the table knows of, charging has ended already.
    return kept if kept[-1]["max_A"] == 0 else [*kept, {"from_degC": highest, "max_A": 0.0}]
