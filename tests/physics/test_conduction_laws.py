"""Laws that conduction in the block must keep, whatever the numbers."""

from dataclasses import replace

import numpy as np
import pytest
from cases import ALL_ON, FACES, Case, Face, ours
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from test_conduction_solvers import FILM, HEATED, STACK, VOLUMES, after, every_mode, fields_at_switches

from bmslint.physics.conduction import Block

__all__ = ["every_mode"]  # a fixture for this module too


def test_one_step_is_as_good_as_sixty() -> None:
    """Exact in time: one step of 3600 s is sixty of 60 s. Rounding of 60 additions to rises of 30 K."""
    block = ours(HEATED, VOLUMES)
    steady = block.steady(ALL_ON)
    once, state = block.after(block.rest(), steady, 3600.0), block.rest()
    for _ in range(60):
        state = block.after(state, steady, 60.0)
    assert np.abs(block.full_field(once) - block.full_field(state)).max() < 1e-9


def test_many_times_at_once_are_the_times_one_by_one() -> None:
    block = ours(HEATED, VOLUMES)
    times = np.array([0.0, 1.0, 60.0, 3600.0, 1e6])
    steady = block.steady(ALL_ON)
    together = block.after(block.rest(), steady, times)
    one_by_one = [block.after(block.rest(), steady, float(t)) for t in times]
    np.testing.assert_array_equal(together, one_by_one)
    assert not together[0].any()


def test_the_long_run_is_the_steady_state() -> None:
    """After thirty of the slowest time constants, exp(-30) = 1e-13 of the rise remains."""
    block = ours(HEATED, VOLUMES)
    steady = block.steady(ALL_ON)
    late = block.after(block.rest(), steady, 30 / block.rates.min())
    assert np.abs(block.full_field(late) - block.full_field(steady)).max() < 1e-9


def heat_flow_W(case: Case, block: Block, state: np.ndarray) -> float:
    """Heat into the cells at this instant: films, outside, inside."""
    field = block.full_field(state)
    total = case.inside_W_per_m3 * case.volume_m3
    planes = case.cells[0] - 1
    total += case.between_W_per_m2 * planes * case.area_m2("x_low")
    for name in FACES:
        behind = np.take(field, -1 if name.endswith("high") else 0, axis="xyz".index(name[0]))
        surface = np.mean(block.surface(behind, name, case.flux(name)))
        total += case.area_m2(name) * (case.flux(name) - case.loss(name) * surface)
    return float(total)


@pytest.mark.parametrize(
    ("case", "volumes"), [(HEATED, VOLUMES), (STACK, (4, 4, 4))], ids=["row", "rows and tiers"]
)
def test_heat_in_less_heat_lost_is_heat_stored(case: Case, volumes: tuple[int, int, int]) -> None:
    """First law, the flow integrated by scipy's quadrature to 1e-8 of the heat."""
    block = ours(case, volumes)
    steady = block.steady(ALL_ON)
    given_J, _ = quad(
        lambda t: heat_flow_W(case, block, block.after(block.rest(), steady, t)),
        0.0,
        3600.0,
        points=[1.0, 10.0, 100.0],
        epsrel=1e-8,
        limit=200,
    )
    mean = block.full_field(block.after(block.rest(), steady, 3600.0)).mean()
    assert given_J == pytest.approx(mean * case.heat_J_per_m3K * case.volume_m3, rel=1e-7)


def test_at_the_steady_state_nothing_flows() -> None:
    """At the start it is 32.9 W by hand, less what the outermost half volumes, warm at once, already lose:
    the films' 600, 450 and 200 W/m2 make surfaces 2.0, 1.5 and 0.03 K warmer, which cost 0.2 W."""
    block = ours(HEATED, VOLUMES)
    assert heat_flow_W(HEATED, block, block.rest()) == pytest.approx(32.9 - 0.2, abs=0.05)
    assert heat_flow_W(HEATED, block, block.steady(ALL_ON)) == pytest.approx(0.0, abs=1e-4)


def test_without_contact_resistance_cells_are_one_body() -> None:
    one = replace(HEATED, cells=(1, 1, 1), cell_m=(4 * 0.036, 0.13, 0.2))
    four = replace(HEATED, contact_m2K_per_W=(0.0, 0.0, 0.0))
    # The same numbers reach the eigensolver up to rounding.
    np.testing.assert_allclose(after(four, 3600.0), after(one, 3600.0, (24, 8, 10)), atol=1e-9)


def test_cells_that_do_not_touch_are_strangers() -> None:
    """A contact without measure: the first cell is a cell alone, insulated on its inner side. The heat
    that still passes is below 1e-9 W/(m2 K) times 100 K in an hour, some 1e-8 K."""
    apart = replace(HEATED, contact_m2K_per_W=(1e9, 0.0, 0.0))
    alone = replace(HEATED, cells=(1, 1, 1), faces={**HEATED.faces, "x_high": Face()})
    np.testing.assert_allclose(after(apart, 3600.0)[:6], after(alone, 3600.0), atol=1e-5)


def test_an_endless_conductance_holds_the_surface() -> None:
    held = replace(HEATED, faces={**HEATED.faces, "z_low": Face(1e9, -10.0)})
    block = ours(held, VOLUMES)
    state = block.after(block.rest(), block.steady(ALL_ON), 60.0)
    surface = block.surface(block.full_field(state)[:, :, 0], "z_low", held.flux("z_low"))
    np.testing.assert_allclose(surface, -10.0, atol=1e-4)  # 1900 W/(m2 K) of half a volume against 1e9


def test_a_closed_block_keeps_all_heat() -> None:
    """Mean rise = heat / heat capacity. A loss of 1e-11 / s stands in for none: 2e-8 in an hour."""
    faces = {name: Face(film_W_per_m2=100.0, film_contact_W_per_m2K=FILM) for name in FACES}
    closed = replace(HEATED, faces=faces)
    watts = 300.0 * closed.volume_m3 + 100.0 * sum(closed.area_m2(name) for name in FACES)
    capacity = closed.heat_J_per_m3K * closed.volume_m3
    assert after(closed, 3600.0).mean() == pytest.approx(watts * 3600.0 / capacity, rel=1e-7)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_mirrored_block_has_the_mirrored_field(axis: int) -> None:
    low, high = FACES[2 * axis], FACES[2 * axis + 1]
    swapped = {**HEATED.faces, low: HEATED.faces[high], high: HEATED.faces[low]}
    mirrored = after(replace(HEATED, faces=swapped), 3600.0)
    np.testing.assert_allclose(np.flip(mirrored, axis), after(HEATED, 3600.0), atol=1e-9)  # rounding


def test_turning_the_block_turns_the_field() -> None:
    """y and z change places: cells, contacts, faces and volumes with them."""
    turned_faces = {name.translate(str.maketrans("yz", "zy")): face for name, face in STACK.faces.items()}
    cells, cell_m, contact = (
        (value[0], value[2], value[1]) for value in (STACK.cells, STACK.cell_m, STACK.contact_m2K_per_W)
    )
    turned = replace(STACK, cells=cells, cell_m=cell_m, contact_m2K_per_W=contact, faces=turned_faces)
    found = np.swapaxes(after(turned, 3600.0, (4, 5, 3)), 1, 2)
    np.testing.assert_allclose(found, after(STACK, 3600.0, (4, 3, 5)), atol=1e-9)  # rounding


def test_switches_leave_no_jump() -> None:
    """The field is the same just before and just after each switch, and moves on from there."""
    before = fields_at_switches(ours(HEATED, VOLUMES), HEATED)
    block = ours(HEATED, VOLUMES)
    state = block.after(block.rest(), block.steady({"film": 1.0, "outside": 1.0}), 2400.0)
    for strengths in ({"outside": 1.0}, {"film": 2.0}, {"inside": 1.0}, {}):
        still = block.after(state, block.steady(strengths), 0.0)
        np.testing.assert_array_equal(block.full_field(still), before[0])


faces = st.builds(
    Face,
    loss_W_per_m2K=st.floats(0.0, 50.0),
    outside_K=st.floats(-40.0, 40.0),
    film_W_per_m2=st.floats(0.0, 2000.0),
    film_contact_W_per_m2K=st.none() | st.floats(10.0, 5000.0),
)


@settings(deadline=None, max_examples=30)
@given(st.fixed_dictionaries(dict.fromkeys(FACES, faces)), st.floats(1.0, 1e6))
def test_more_heat_never_cools(drawn: dict[str, Face], seconds: float) -> None:
    """Maximum principle: with the air at the start's temperature and films that only heat, no volume
    falls below the start, and more film power leaves none colder, but for rounding."""
    calm = {name: replace(face, outside_K=0.0) for name, face in drawn.items()}
    more = {name: replace(face, film_W_per_m2=face.film_W_per_m2 + 50.0) for name, face in calm.items()}
    small = replace(HEATED, faces=calm, inside_W_per_m3=0.0)
    cool = after(small, seconds, (3, 4, 4))
    warm = after(replace(small, faces=more), seconds, (3, 4, 4))
    slack = 1e-9 * warm.max()
    assert cool.min() >= -slack
    assert (warm - cool).min() >= -slack


@settings(deadline=None, max_examples=30)
@given(st.fixed_dictionaries(dict.fromkeys(FACES, faces)), st.floats(1.0, 1e6))
def test_without_heat_the_block_stays_within_its_surroundings(drawn: dict[str, Face], seconds: float) -> None:
    """Maximum principle again; rounding as above."""
    calm = {name: replace(face, film_W_per_m2=0.0) for name, face in drawn.items()}
    field = after(replace(HEATED, faces=calm, inside_W_per_m3=0.0), seconds, (3, 4, 4))
    outside = [0.0, *(face.outside_K for face in calm.values())]
    assert min(outside) - 1e-7 <= field.min()
    assert field.max() <= max(outside) + 1e-7
