"""What a cell may endure: chemistry tables, overridden by the cell maker's data in the file."""

from bmslint.limits.cell import Limits, Source, load_limits
from bmslint.limits.current import allowed_current_A
from bmslint.limits.defaults import Default, load_defaults
from bmslint.limits.open_circuit import OpenCircuit, load_open_circuit
from bmslint.limits.tables import UnknownChemistry, UnusableTable, known_chemistries

__all__ = [
    "Default",
    "Limits",
    "OpenCircuit",
    "Source",
    "UnknownChemistry",
    "UnusableTable",
    "allowed_current_A",
    "known_chemistries",
    "load_defaults",
    "load_limits",
    "load_open_circuit",
]
