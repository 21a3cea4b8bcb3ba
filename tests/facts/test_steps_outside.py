"""Steps of charge current against the cell's own, by scipy's interpolation at every hundredth of a kelvin."""

from typing import Any

import numpy as np
import pytest
from packs import changed, derived, of_profile
from scipy.interpolate import interp1d

from bmslint.facts import Quantity

# The mast's cells bear 4 A from 0, 12 A from 10, 8 A from 45 degC and nothing from 55; the charger gives 6 A.
BEARS = [(0.0, 4.0), (10.0, 12.0), (45.0, 8.0), (55.0, 0.0)]
GRID = np.arange(-4000, 7001) / 100.0


def stepped(rows: list[tuple[float, float]], kind: str) -> np.ndarray:
    """Rows over the grid by scipy: nothing below the first, the last without end."""
    starts, amps = zip(*rows, strict=True)
    inside = interp1d([*starts, 1e3], [*amps, amps[-1]], kind=kind, bounds_error=False, fill_value=0.0)
    return np.asarray(inside(GRID))


def scanned(
    steps: list[tuple[float, float]], kind: str, charger_A: float, parallel: int
) -> tuple[float, float]:
    """The largest excess where charging is not inhibited, and the first temperature at which it is."""
    flows = np.minimum(stepped(steps, kind), charger_A)
    excess = flows - stepped(BEARS, "previous") * parallel
    allowed = (GRID >= COLD_DEGC) & (GRID < HOT_DEGC)
    excess = np.where(allowed, excess, -np.inf)
    return float(excess.max()), float(GRID[int(np.argmax(excess > excess.max() - 1e-9))])


COLD_DEGC, HOT_DEGC = 1.0, 50.0


def facts(steps: list[tuple[float, float]], linear: bool, charger_A: float, parallel: int) -> dict[str, Any]:
    document = changed(
        of_profile("street-light-mast"),
        {
            "charge_current.steps": [{"from_degC": start, "max_A": amps} for start, amps in steps],
            "charge_current.between_steps": "linear" if linear else "hold",
            "charge_paths": [{"name": "one", "max_A": charger_A, "obeys": ["charge_current"]}],
            "charger.max_A": charger_A,
            "pack.parallel": parallel,
            "protection.charge_cold.inhibit_below_degC": COLD_DEGC,
            "protection.charge_hot.inhibit_above_degC": HOT_DEGC,
        },
    )
    group = derived(document).groups["charge_steps"]
    assert all(isinstance(item, Quantity) for item in group.values()), group
    return {name: item.value for name, item in group.items() if isinstance(item, Quantity)}


@pytest.mark.parametrize(
    ("steps", "charger_A", "parallel"),
    [
        ([(0.0, 6.0), (9.0, 14.0)], 20.0, 1),
        ([(-5.0, 3.0), (8.0, 9.0), (44.0, 9.0)], 20.0, 1),
        ([(2.0, 4.0), (12.0, 12.0), (47.0, 8.5)], 20.0, 1),
        ([(0.0, 10.0), (10.0, 30.0)], 18.0, 2),
        ([(0.0, 2.0), (20.0, 5.0)], 20.0, 1),
    ],
    ids=["early row", "late row", "hot row", "two side by side", "never too much"],
)
@pytest.mark.parametrize("linear", [False, True], ids=["held", "sloping"])
def test_the_largest_excess_of_every_hundredth_of_a_kelvin(
    steps: list[tuple[float, float]], charger_A: float, parallel: int, linear: bool
) -> None:
    """A slope within a hundredth of a kelvin is what the grid can miss, 0.01 K times at most 2 A/K."""
    excess, _ = scanned(steps, "linear" if linear else "previous", charger_A, parallel)
    found = facts(steps, linear, charger_A, parallel)
    assert found["excess_A"] == pytest.approx(max(excess, 0.0), abs=0.02 if linear else 1e-9)
    # There the permitted less the borne is the excess, by scipy's interpolation at that temperature.
    at = int(np.argmin(np.abs(GRID - found["excess_at_degC"])))
    kind = "linear" if linear else "previous"
    flows = min(float(stepped(steps, kind)[at]), charger_A)
    assert found["permitted_A"] == pytest.approx(flows, abs=0.02 if linear else 1e-9)
    assert found["allowed_A"] == pytest.approx(float(stepped(BEARS, "previous")[at]) * parallel, abs=1e-9)


@pytest.mark.parametrize("linear", [False, True])
def test_steps_that_are_the_cells_own_have_no_excess(linear: bool) -> None:
    """Limit: held, the settings' rows are the cells'. Sloping, they run above wherever the cells' rise."""
    found = facts(BEARS, linear, 50.0, 1)
    excess, _ = scanned(BEARS, "linear" if linear else "previous", 50.0, 1)
    assert found["excess_A"] == pytest.approx(max(excess, 0.0), abs=0.02 if linear else 0.0)
    assert (found["excess_A"] > 0.0) == linear


def test_the_place_of_the_excess_is_the_first_of_the_largest() -> None:
    steps = [(0.0, 6.0), (9.0, 14.0)]
    assert facts(steps, False, 20.0, 1)["excess_at_degC"] == scanned(steps, "previous", 20.0, 1)[1]
