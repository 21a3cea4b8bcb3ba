"""Short circuits against a network of single cells, a printed example, and heated elements of fuses."""

from math import exp, log
from typing import Any

import numpy as np
import pytest
from electrical_pack import electrical
from nodes import Branch, pack, solve
from scipy import constants
from scipy.integrate import solve_ivp

from bmslint.facts import Quantity

# The defaults (rules/defaults.yaml): share of the 10 s resistance in per cent, joints in mohm, kJ/mol.
SHARES, JOINTS, ENERGIES = (80.0, 50.0, 30.0), (5.0, 2.0, 0.5), (25.0, 17.1, 10.0)


def ends(name: str, changes: dict[str, Any]) -> tuple[Any, Any, Any]:
    found = electrical(changes).find(f"short_circuit.{name}")
    assert isinstance(found, Quantity), found
    return found.low, found.value, found.high


def shorted_A(series: int, parallel: int, volts: float, cell_ohm: float, joints_ohm: float) -> float:
    """The current through the loop's joints, cell by cell; half of them at each pole."""
    branches = pack(series, parallel, volts, cell_ohm)
    pole = series + 1
    branches += [Branch(series, pole, joints_ohm / 2), Branch(pole, 0, joints_ohm / 2)]
    return float(solve(branches)[1][-1])


@pytest.mark.parametrize(
    ("series", "parallel", "mohm"), [(1, 1, 1.5), (4, 3, 0.9), (8, 1, 0.6), (16, 2, 0.25), (110, 4, 0.5)]
)
def test_prospective_current_of_single_cells(series: int, parallel: int, mohm: float) -> None:
    """Kirchhoff's laws by scipy's sparse solver; the ends with worst against worst. Rounding of some hundred
    equations. 2.5, 3.2 and 3.65 V are the profile's and the table's."""
    changes = {"pack.series": series, "pack.parallel": parallel, "pack.cell.resistance_mohm": mohm}
    expected = [
        shorted_A(series, parallel, volts, mohm * share * 1e-5, joints * 1e-3)
        for volts, share, joints in zip((2.5, 3.2, 3.65), SHARES, JOINTS, strict=True)
    ]
    assert ends("prospective_A", changes) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("strings", "printed_A"), [(1, 4.37e3), (4, 17.5e3)])
def test_a_printed_battery(strings: int, printed_A: float) -> None:
    """Printed in a guide to direct-current distribution (read; its publisher is a maker and not named here):
    240 V over 55 mohm of cells give 4.37 kA, four such strings side by side 17.5 kA, connections left out.

    Here 75 cells of 3.2 V, half of whose 10 s resistance counts; the 2 mohm of joints are taken out of the
    loop again. 240/55 is 4.364, and the print rounds up before it multiplies by four.
    """
    changes = {"pack.series": 75, "pack.parallel": strings, "pack.cell.resistance_mohm": 2 * 55.0 / 75}
    found = ends("prospective_A", changes)[1]
    assert 1 / (1 / found - 2e-3 / 240.0) == pytest.approx(printed_A, rel=3e-3)


@pytest.mark.parametrize(
    ("name", "site", "degC"),
    [
        ("prospective_hottest_A", "site.hottest_degC", 45.0),
        ("prospective_hottest_A", "site.hottest_degC", 60.0),
        ("prospective_coldest_A", "site.coldest_degC", -10.0),
    ],
)
def test_a_hot_or_cold_pack_by_cells_and_arrhenius(name: str, site: str, degC: float) -> None:
    """The single cells at another temperature, by scipy's gas constant; each end by trying both ends of the
    energy, since hot and cold want the opposite."""
    factors = [exp(e * 1e3 / constants.R * (1 / (degC + 273.15) - 1 / 298.15)) for e in ENERGIES]
    most, middle, least = max(factors), factors[1], min(factors)
    expected = [
        shorted_A(8, 1, volts, 0.6e-5 * share * factor, joints * 1e-3)
        for volts, share, factor, joints in zip(
            (2.5, 3.2, 3.65), SHARES, (most, middle, least), JOINTS, strict=True
        )
    ]
    assert ends(name, {site: degC}) == pytest.approx(expected, rel=1e-9)


def test_a_cell_without_resistance_leaves_the_joints() -> None:
    """Limit: volts over the joints alone."""
    found = ends("prospective_A", {"pack.cell.resistance_mohm": 1e-9})
    assert found == pytest.approx((20.0 / 5e-3, 25.6 / 2e-3, 29.2 / 0.5e-3), rel=1e-6)


# Resistivity at 20 degC (ohm m), its coefficient (1/K), heat capacity (J/(m3 K)), melting point (degC), and
# K (A s^0.5/mm2) and beta (K) of IEC 60949, all from memory.
COPPER = (1.7241e-8, 0.00393, 3.45e6, 1083.0, 226.0, 234.5)
ALUMINIUM = (2.8264e-8, 0.00403, 2.5e6, 660.0, 148.0, 228.0)
LEAD = (21.4e-8, 0.0040, 1.45e6, 327.0, 41.0, 230.0)


def melting_A2s(metal: tuple[float, ...], mm2: float, from_degC: float) -> float:
    """The adiabatic integral of IEC 60949: K^2 S^2 ln((melting + beta) / (start + beta))."""
    *_, melts, K, beta = metal
    return K**2 * mm2**2 * log((melts + beta) / (from_degC + beta))


def heated_us(metal: tuple[float, ...], mm2: float, amps: float) -> float:
    """An element heated by scipy from 30 degC without cooling, its resistance rising, until it melts."""
    ohm_m, per_K, J_per_m3K, melts, *_ = metal
    area = mm2 * 1e-6

    def melted(_: float, y: np.ndarray) -> float:
        return float(y[0] - melts)

    melted.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda _, y: [ohm_m * (1 + per_K * (y[0] - 20)) * (amps / area) ** 2 / J_per_m3K],
        (0.0, 1.0), [30.0], events=melted, rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    return 1e6 * float(run.t_events[0][0])


@pytest.mark.parametrize("metal", [COPPER, ALUMINIUM, LEAD], ids=["copper", "aluminium", "lead"])
@pytest.mark.parametrize("mm2", [0.5, 1.5])
def test_a_fuse_melts_when_its_heated_element_does(metal: tuple[float, ...], mm2: float) -> None:
    """An element with the integral of IEC 60949 declared, under the pack's current; K is printed to
    three digits and rounded properties go into it: 1.5 % of the integral."""
    changes = {"pack.fuse.melting_A2s": melting_A2s(metal, mm2, 30.0)}
    amps, told_us = ends("prospective_hottest_A", changes), ends("fuse_melts_after_us", changes)
    heated = [heated_us(metal, mm2, current) for current in reversed(amps)]
    assert told_us == pytest.approx(heated, rel=0.015)


@pytest.mark.parametrize("circular_mils", [1624.0, 2581.0, 4110.0])
def test_a_copper_wire_by_the_cable_makers_equation(circular_mils: float) -> None:
    """(I/A)^2 t = 0.0297 log10((T2 + 234) / (T1 + 234)), A in circular mils: the short-circuit equation for
    copper cables (ICEA P-32-382, number from memory; the equation was read). A fuse with that integral begins
    to melt when an element heated by scipy does, but for 3 %, which the constants of the two differ by."""
    integral = 0.0297 * np.log10((1083.0 + 234.0) / (30.0 + 234.0)) * circular_mils**2
    assert melting_A2s(COPPER, circular_mils * 5.067e-4, 30.0) == pytest.approx(integral, rel=0.03)
    changes = {"pack.fuse.melting_A2s": float(integral)}
    amps, found = ends("prospective_hottest_A", changes)[1], ends("fuse_melts_after_us", changes)[1]
    assert found == pytest.approx(heated_us(COPPER, circular_mils * 5.067e-4, amps), rel=0.03)


@pytest.mark.parametrize("delay_us", [100.0, 300.0, 1000.0])
def test_which_of_board_and_fuse_is_first_by_integration(delay_us: float) -> None:
    """The Joule integral of a shorted loop by scipy until the board opens, with no inductance; the fuse melts
    first where that reaches its own. Elements a tenth below and above what each end lets through."""
    changes: dict[str, Any] = {"protection.short_circuit.delay_us": delay_us}
    amps = ends("prospective_hottest_A", changes)
    passed = [
        float(solve_ivp(lambda _, __, a=a: [a * a], (0.0, delay_us * 1e-6), [0.0]).y[0, -1]) for a in amps
    ]
    assert ends("let_through_A2s", changes) == pytest.approx(passed, rel=1e-9)
    for end, integral in enumerate(passed):
        for part, melts in ((0.9, True), (1.1, False)):
            found = ends("fuse_melts_first", changes | {"pack.fuse.melting_A2s": part * integral})
            assert found[end] is melts


def test_a_board_that_opens_at_once_lets_nothing_through() -> None:
    """Limit: no delay, no integral, and no fuse that melts first."""
    changes = {"protection.short_circuit.delay_us": 0.0}
    assert ends("let_through_A2s", changes) == (0.0, 0.0, 0.0)
    assert ends("fuse_melts_first", changes) == (False, False, False)
