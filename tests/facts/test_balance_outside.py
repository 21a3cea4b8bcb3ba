"""Hours of balancing against strings of cells, their charge integrated in time while a board bleeds them."""

from typing import Any

import numpy as np
import pytest
from electrical_pack import electrical
from scipy.integrate import solve_ivp
from scipy.interpolate import make_interp_spline

from bmslint.facts import Quantity
from bmslint.limits import load_open_circuit


def ends(name: str, changes: dict[str, Any]) -> tuple[Any, Any, Any]:
    found = electrical(changes).find(f"balance_time.{name}")
    assert isinstance(found, Quantity), found
    return found.low, found.value, found.high


def cells_changes(cell_Ah: float, parallel: int, bleed_mA: float) -> dict[str, Any]:
    return {
        "pack.cell.capacity_Ah": cell_Ah,
        "pack.capacity_Ah": cell_Ah * parallel,
        "pack.parallel": parallel,
        "balancing.current_mA": bleed_mA,
    }


def together_h(charges_Ah: list[float], bleed_A: float) -> float:
    """scipy.integrate.solve_ivp of every group's charge: the board bleeds each that is above the lowest."""
    charges, hours = np.array(charges_Ah), 0.0
    while charges.max() - charges.min() > 1e-9:
        bled = charges > charges.min() + 1e-9

        def even(_: float, held: np.ndarray, bled: np.ndarray = bled) -> float:
            return float(held[bled].min() - held[~bled].min())

        even.terminal = True  # type: ignore[attr-defined]
        run = solve_ivp(
            lambda _, held, bled=bled: -bleed_A * bled, (0.0, 1e4), charges, events=even, max_step=50.0
        )
        hours += float(run.t[-1])
        charges = run.y[:, -1]
    return hours


@pytest.mark.parametrize(
    ("cell_Ah", "parallel", "bleed_mA"),
    [(230.0, 1, 150.0), (100.0, 1, 100.0), (50.0, 3, 60.0), (280.0, 2, 1000.0)],
)
def test_bleeding_a_string_until_all_groups_are_even(cell_Ah: float, parallel: int, bleed_mA: float) -> None:
    """Eight groups, one of them 1, 2 or 5 % of the capacity above the lowest and the others between; by hand
    2 % of 100 A h at 100 mA are 20 h. Root finding of the integrator."""
    group, expected = cell_Ah * parallel, []
    for surplus_pct in (1.0, 2.0, 5.0):
        shares = np.array([0.0, 0.3, 0.7, 1.0, 0.1, 0.0, 0.5, 0.9]) * surplus_pct / 100.0
        expected.append(together_h((group * (0.9 + shares)).tolist(), bleed_mA / 1e3))
    changes = cells_changes(cell_Ah, parallel, bleed_mA)
    assert ends("balance_hours", changes) == pytest.approx(expected, rel=1e-6)
    if (cell_Ah, bleed_mA) == (100.0, 100.0):
        assert expected[1] == pytest.approx(20.0, rel=1e-6)


@pytest.mark.parametrize(("cell_Ah", "bleed_mA"), [(230.0, 150.0), (100.0, 50.0), (20.0, 80.0)])
def test_an_hour_of_bleeding_moves_a_cells_charge(cell_Ah: float, bleed_mA: float) -> None:
    """One hour by scipy's integrator, as a share of the capacity."""
    run = solve_ivp(lambda _, q: [-bleed_mA / 1e3 / 3600.0], (0.0, 3600.0), [0.9 * cell_Ah], rtol=1e-10)
    moved = 100.0 * float(run.y[0, 0] - run.y[0, -1]) / cell_Ah
    assert ends("balance_pct_per_h", cells_changes(cell_Ah, 1, bleed_mA)) == pytest.approx((moved,) * 3)


@pytest.mark.parametrize("bleed_mA", [50.0, 150.0, 300.0])
def test_a_bleed_resistor_takes_as_long(bleed_mA: float) -> None:
    """A resistor that bleeds the stated current at 3.40 V, where balancing starts, across a cell that falls
    from 99.5 to 97.5 % of charge on the curve of iron phosphate, read off scipy's spline: within 3 %, since
    the voltage itself is from 3.38 to 3.32 V there."""
    curve = load_open_circuit("lfp")
    assert curve is not None
    spline = make_interp_spline(curve.charge, curve.cell_V, k=1)
    capacity, ohm = 230.0, 3.40 / (bleed_mA / 1e3)

    def done(_: float, charge: np.ndarray) -> float:
        return float(charge[0] - 0.975)

    done.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda _, charge: [-float(spline(charge[0])) / ohm / capacity], (0.0, 1e4), [0.995], events=done,
        rtol=1e-8, max_step=1.0,
    )  # fmt: skip
    found = ends("balance_hours", cells_changes(capacity, 1, bleed_mA))[1]
    assert float(run.t_events[0][0]) == pytest.approx(found, rel=0.03)


def test_a_bleed_as_large_as_the_surplus_takes_an_hour() -> None:
    """Limit, by hand: 2 A against 2 % (1 to 5 %) of 100 A h."""
    assert ends("balance_hours", cells_changes(100.0, 1, 2000.0)) == pytest.approx((0.5, 1.0, 2.5), rel=1e-12)
