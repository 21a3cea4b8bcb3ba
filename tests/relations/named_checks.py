"""What a check is, the test files that checks lie in, and the checks that hold several relations."""

from dataclasses import dataclass

Check = tuple[str, str]
"""A test's id below `tests/`, and what it is checked against."""


@dataclass(frozen=True)
class Held:
    """What holds one relation."""

    outside: tuple[Check, ...]
    limit: tuple[Check, ...]
    otherwise: tuple[Check, ...] = ()


EXACT, LAWS = "physics/test_conduction_exact.py::", "physics/test_conduction_laws.py::"
SOLVERS, GRID = "physics/test_conduction_solvers.py::", "physics/test_grid.py::"
ELECTRICAL, HISTORY = "physics/test_electrical.py::", "physics/test_history.py::"
VOLTAGE, COLD = "physics/test_voltage.py::", "physics/test_cold_cells.py::"
ROUND, SURFACES = "physics/test_round_cells.py::", "physics/test_surfaces.py::"
ROUND_PACK = "physics/test_round_pack.py::"
THERMISTOR, VARIED = "physics/test_thermistor.py::", "physics/test_varied_block.py::"
COOL, STUCK, HOT = (
    "physics/test_cool_down.py::", "physics/test_stuck_heater.py::", "physics/test_lasting_current.py::",
)  # fmt: skip
ALL_ROUND, MEASURED = "physics/test_heated_all_round.py::", "physics/test_measured_case.py::"
STEP, RELAXATION = "facts/test_voltage_step.py::", "facts/test_relaxation.py::"
FACTS, INVERSE = "facts/test_electrical_facts.py::", "facts/test_inverse.py::"
SENSING, RESPONSE = "facts/test_sensing_and_steps.py::", "facts/test_response.py::"
AXIS, FURTHER = "physics/test_axis_outside.py::", "physics/test_further_outside.py::"
PASSED, WAYS = "physics/test_charge_passed.py::", "physics/test_ways_out.py::"
CORNERS, STEPPING = "physics/test_corners_outside.py::", "physics/test_voltage_step_by_network.py::"
BALANCE, CELLS = "facts/test_balance_outside.py::", "facts/test_block_outside.py::"
CURRENTS, CHAIN = "facts/test_currents_outside.py::", "facts/test_pack_voltage_outside.py::"
JUMPS, SHORT = "facts/test_relaxation_outside.py::", "facts/test_short_circuit_outside.py::"
SCAN = "facts/test_steps_outside.py::"

STEPPED = "a board stepped through time"
ROOTS = "scipy's root finder around BDF on the sparse network"

FEM = (f"{SOLVERS}test_heated_block_against_finite_elements", "finite elements by scikit-fem, to 0.05 K")
FEM_SWITCHED = (f"{SOLVERS}test_switches_against_finite_elements", "finite elements by scikit-fem, to 0.05 K")
BDF_SWITCHED = (
    f"{SOLVERS}test_switches_against_a_stiff_integrator",
    "scipy's BDF on a sparse network of the same volumes, to 1e-4 K",
)
WALL = (f"{EXACT}test_plane_wall", "Carslaw and Jaeger 3.11 (number from memory), the series")
DIRECT = (f"{SOLVERS}test_steady_state_against_a_direct_solution", "scipy's sparse direct solution")
LOOP = (
    "facts/test_closed_loop.py::test_thermostat_and_release_against_scipy",
    "scipy's BDF with events on the sparse network: release, number of switches, coldest point",
)
BRENT = (f"{HISTORY}test_the_instant_of_a_switch_against_brent", "scipy's root finder (Brent)")
RANGES = (
    "facts/test_ranges.py::test_the_judged_corners_bound_the_unfavourable_end",
    "2,048 drawn property sets on the same model (scipy.stats.qmc)",
)
RANGES_LASTING = (
    "facts/test_ranges_lasting.py::test_the_judged_corners_bound_the_unfavourable_end",
    "2,048 drawn property sets on the same model (scipy.stats.qmc)",
)
CHARGED = (
    f"{PASSED}test_charge_passed_against_the_network",
    "a closed loop of its own by scipy's BDF on the sparse network, every second, to 1 %",
)
MIDDLE = (
    f"{MEASURED}test_the_middle_is_below_freezing_at_release",
    "a measured warm-up of four cells (common practice, no source)",
)
