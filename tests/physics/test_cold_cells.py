"""Cold cells against PyBaMM's porous-electrode model: voltage step, resistance, plating-free current."""

import math

import numpy as np
import pytest
from pybamm_cells import charged, plating_margin_V, resistance_ohm

from bmslint.limits import allowed_current_A, load_defaults
from bmslint.limits.tables import chemistry_table
from bmslint.physics.resistance import activation_J_per_mol, resistance_ratio
from bmslint.physics.voltage import ohmic_V, transfer_V

# Iron phosphate; nickel-manganese-cobalt oxide in an energy cell; the same with a silicon share.
SETS = ("Prada2013", "Ecker2015", "OKane2022")
# A rate (1/h) so small that the resistance does not depend on it.
SMALL = 0.05


def activation(name: str, rate_per_h: float) -> float:
    """What `pack.cell.resistance_ratio_0degC` of this cell, measured at a rate, would say (J/mol)."""
    ratio = resistance_ohm(name, 0, rate_per_h) / resistance_ohm(name, 25, rate_per_h)
    return activation_J_per_mol(ratio, 273.15)


@pytest.mark.parametrize("rate", [0.1, 0.3, 1.0])
@pytest.mark.parametrize("celsius", [10, 0, -10])
@pytest.mark.parametrize("name", SETS)
def test_step_from_two_resistances(name: str, celsius: int, rate: float) -> None:
    """Ours, from the resistance for small currents at 25 and 0 degC, against the model's step.

    Charge transfer with both electrodes alike: within 10 % for the nickel oxides; for the iron phosphate
    set, in which one electrode has most of it, too high by up to 42 %, never too low. Ohm's law bounds the
    step from above, but for 4 % where one Arrhenius law misses the resistance itself, and by up to threefold.
    """
    rest, end, current = charged(name, celsius, rate)
    kelvin = celsius + 273.15
    ohm = resistance_ohm(name, 25, SMALL) * resistance_ratio(kelvin, activation(name, SMALL))
    step = end - rest
    transfer = float(transfer_V(np.array(current), np.array(ohm), np.array(kelvin)))
    ohmic = float(ohmic_V(np.array(current), np.array(ohm)))
    most = 1.43 if name == "Prada2013" else 1.10
    assert 0.90 <= transfer / step <= most
    assert 0.96 <= ohmic / step <= 3.2


def test_cold_resistance_rises_without_exception() -> None:
    """Monotone in every set, at 10, 0, -10, -20 degC."""
    ratios = {
        name: [resistance_ohm(name, celsius) / resistance_ohm(name, 25) for celsius in (25, 10, 0, -10, -20)]
        for name in SETS
    }
    assert {name: sorted(row) == row for name, row in ratios.items()} == dict.fromkeys(SETS, True)


def test_activation_of_whole_cells_lies_about_the_default() -> None:
    """kJ/mol from the 10 s resistance at 0 and 25 degC, rounded, by the rate it is measured at.

    The default is 35 with 20 to 40. What a data sheet's large current shows is far less than what a cell
    does at the small currents of charging in the cold, where the default has to hold.
    """
    found = {name: [round(activation(name, rate) / 1e3) for rate in (SMALL, 0.3, 1.0)] for name in SETS}
    assert found == {"Prada2013": [31, 25, 15], "Ecker2015": [40, 39, 34], "OKane2022": [25, 18, 11]}
    default = load_defaults("lfp", "prismatic")["activation_kJ_per_mol"]
    assert all(default.low <= row[0] <= default.high for row in found.values())


# Largest rate (1/h) from 10 to 80 % of charge with the negative electrode at or above 0 V against lithium,
# computed beforehand with the same sets; here bracketed by 10 % on either side, which is several times
# what the coarse mesh moves it.
PLATING_FREE = {
    "Ecker2015": {25: 1.654, 0: 0.502, -10: 0.284},
    "Prada2013": {25: 1.350, 0: 0.533, -10: 0.333},
}


@pytest.mark.parametrize(
    ("name", "celsius", "rate"),
    [(name, celsius, rate) for name, row in PLATING_FREE.items() for celsius, rate in row.items()],
)
def test_plating_free_rate_is_bracketed(name: str, celsius: int, rate: float) -> None:
    below = plating_margin_V(name, celsius, 0.9 * rate)
    above = plating_margin_V(name, celsius, 1.1 * rate)
    assert below > 0.0 > above


def test_the_table_of_iron_phosphate_follows_the_plating_free_rate() -> None:
    """Slope and order of magnitude, not a limit: the table falls from 25 to 0 degC as much as both sets or
    more, but not by more than three times as much, and stays below both everywhere."""
    rows = [
        {"from_degC": row["from_degC"], "max_A": row["max_per_h"]}
        for row in chemistry_table("lfp")["limits"]["charge_current"]
    ]
    table = {celsius: allowed_current_A(rows, float(celsius)) for celsius in (25, 0, -10)}
    fall = math.log(table[25] / table[0])
    falls = {name: math.log(rates[25] / rates[0]) for name, rates in PLATING_FREE.items()}
    assert {name: 1.0 < fall / other < 1.0 + math.log(3) for name, other in falls.items()} == dict.fromkeys(
        PLATING_FREE, True
    )
    assert all(table[at] < rate for rates in PLATING_FREE.values() for at, rate in rates.items())
