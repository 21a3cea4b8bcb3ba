"""Derived quantities: settings and limits fed to the physics, results named."""

from bmslint.facts.derive import derive
from bmslint.facts.names import FACT_NAMES
from bmslint.facts.quantity import BASES, Facts, Missing, Quantity

__all__ = ["BASES", "FACT_NAMES", "Facts", "Missing", "Quantity", "derive"]
