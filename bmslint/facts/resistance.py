"""The resistance of one cell by temperature, with the range that is known of it.

Validity: as `resistance_ratio`, and colder than -60 degC as at -60 degC.
Source: Arrhenius equation, as in `physics.resistance`.
"""

from typing import NamedTuple

from bmslint.facts.inputs import Inputs, Property
from bmslint.physics.resistance import activation_J_per_mol, resistance_ratio

# Colder than this no cell is charged, and the Arrhenius law says nothing any more (degC).
COLDEST_DEGC = -60.0
ZERO_K = 273.15
# Temperature at which a cell's resistance is declared (degC).
RATED_DEGC = 25.0


def kelvin(temperature_degC: float) -> float:
    """Give a cell's temperature in K, not below what the laws of its resistance hold for."""
    return max(temperature_degC, COLDEST_DEGC) + ZERO_K


class Resistance(NamedTuple):
    """Direct-current resistance of one cell over 10 s: at 25 degC (ohm), and how it rises in the cold."""

    rated_ohm: float
    activation_J_per_mol: Property

    def at(self, temperature_degC: float, activation_J_per_mol: float) -> float:
        """Give the resistance (ohm) at a temperature (degC) for one activation energy (J/mol)."""
        return self.rated_ohm * resistance_ratio(kelvin(temperature_degC), activation_J_per_mol)

    def over(self, temperature_degC: Property) -> Property:
        """Give the resistance (ohm) over a range of temperature (degC) and of activation."""
        energy = self.activation_J_per_mol
        found = [
            self.at(degC, joule)
            for degC in (temperature_degC.low, temperature_degC.value, temperature_degC.high)
            for joule in (energy.low, energy.value, energy.high)
        ]
        return Property(min(found), found[4], max(found), energy.basis)


def activation(inputs: Inputs) -> Property:
    """Give the activation energy of a cell's resistance (J/mol).

    Args:
        inputs: the settings.

    Returns:
        From `pack.cell.resistance_ratio_0degC` where that is declared, else the default with its range.
    """
    ratio = inputs.find("pack.cell.resistance_ratio_0degC")
    if ratio is None:
        return inputs.default("activation_kJ_per_mol").scaled(1e3)
    energy = activation_J_per_mol(ratio, ZERO_K)
    return Property(energy, energy, energy, "declared")


def cell_resistance(inputs: Inputs) -> Resistance:
    """Give the resistance of one cell.

    Args:
        inputs: the settings.

    Returns:
        The resistance.

    Raises:
        LackingError: `pack.cell.resistance_mohm` is not described.
    """
    return Resistance(rated_ohm(inputs), activation(inputs))


def note_law(inputs: Inputs) -> None:
    """Note which law is taken for the rise under current: charge transfer, and Ohm's as its upper end."""
    inputs.note("share of charge transfer in the resistance = 100 % (0 to 100)")


def rated_ohm(inputs: Inputs) -> float:
    """Give the resistance of one cell over 10 s at 25 degC.

    Args:
        inputs: the settings.

    Returns:
        Resistance (ohm).

    Raises:
        LackingError: `pack.cell.resistance_mohm` is not described.
    """
    (milliohms,) = inputs.need("pack.cell.resistance_mohm")
    return float(milliohms) / 1e3
