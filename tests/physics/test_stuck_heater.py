"""A heater that stays on, films and their temperatures, against the sparse network and balances by hand."""

import numpy as np
import pytest
from cases import FACES, Case, Face
from one_pack import AREA_M2, FILM, FILM_ENDS, HEAT_J_PER_KGK, MASS_KG, OUTER, PACK_M, SIZE_M, case, facts
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix
from volume_block import VolumeBlock

from bmslint.facts import Facts, Missing, Quantity
from bmslint.facts.blocks import stacked
from bmslint.facts.inputs import exact
from bmslint.facts.pack import NOMINAL, Pack
from bmslint.facts.placing import Placing

METAL = (400.0, 400.0)
CUT = (8, 7, 7)
ENDS_M2 = 2 * PACK_M[1] * PACK_M[2]


def number(found: Facts, name: str) -> float:
    item = found.find(f"heater_stuck_on.{name}")
    assert isinstance(item, Quantity), item
    return float(item.value)


def of_power(watts: float, conductivity: tuple[float, float] = (0.9, 19.0), cutout: str = "60") -> Facts:
    heater = FILM_ENDS.replace("power_W: 40", f"power_W: {watts}").replace(
        "cutout_degC: 60", f"cutout_degC: {cutout}"
    )
    return facts(conductivity, heater=heater)


@pytest.mark.parametrize("watts", [10.0, 40.0, 80.0])
def test_a_lumped_pack_loses_in_the_end_what_the_film_gives(watts: float) -> None:
    """The cells lose U A (T - Tout), the film beside them U A_film (T_film - T) more: power in all.

    T_film - T is (P'' - U (T_film - Tout)) / h_c. 1 % of the rise is the metal's own gradient."""
    flux = watts / ENDS_M2
    # Two equations, T and T_film: film balance and balance of all, loss of the ends from the film.
    matrix = np.array([[-FILM, FILM + OUTER], [OUTER * (AREA_M2 - ENDS_M2), OUTER * ENDS_M2]])
    cells, film = np.linalg.solve(matrix, [flux, watts])
    found = of_power(watts, METAL)
    for prefix, start in (("", 30.0), ("mild_", 20.0)):
        assert number(found, f"{prefix}hottest_surface_degC") - start == pytest.approx(cells, rel=0.01)
        assert number(found, f"{prefix}hottest_film_degC") - start == pytest.approx(film, rel=0.01)


@pytest.mark.parametrize("watts", [10.0, 40.0, 80.0])
def test_film_and_surface_in_the_end_against_the_network(watts: float) -> None:
    """The network has the film as a node of its own; two cuts cost 0.3 % of the rise."""
    this = case(film_W_per_m2=watts / ENDS_M2)
    block = VolumeBlock(this, CUT)
    state = block.steady(this)
    film = float(block.film_temperatures(this, state, "x_low").max())
    half = 2 * 0.9 / (SIZE_M[0] / CUT[0])
    behind = float(state.reshape(block.shape)[0].max())
    way = 1 / half + 1 / FILM
    surface = behind + (film - behind) / half / way
    found = of_power(watts)
    assert number(found, "hottest_film_degC") - 30.0 == pytest.approx(film, rel=3e-3)
    assert number(found, "hottest_surface_degC") - 30.0 == pytest.approx(surface, rel=3e-3)


@pytest.mark.parametrize("cutout", [45.0, 60.0, 75.0])
def test_the_cut_out_against_the_network(cutout: float) -> None:
    """The network under 80 W until its film is at the cut-out, by BDF; the surface there within 0.1 K."""
    this = case(film_W_per_m2=80.0 / ENDS_M2)
    block = VolumeBlock(this, CUT)
    matrix, heat = csr_matrix(block.reduced / -block.capacity), block.heat(this) / block.capacity

    def film(_: float, rise: np.ndarray) -> float:
        return 30.0 + float(block.film_temperatures(this, rise, "x_low").max()) - cutout

    film.terminal = True  # type: ignore[attr-defined]
    course = solve_ivp(
        lambda _, t: matrix @ t + heat, (0.0, 1e6), np.zeros(block.number.size), "BDF", events=film,
        jac=matrix, rtol=1e-7, atol=1e-7,
    )  # fmt: skip
    behind = float(course.y_events[0].reshape(block.shape)[0].max())
    half = 2 * 0.9 / (SIZE_M[0] / CUT[0])
    surface = 30.0 + behind + (cutout - 30.0 - behind) / half / (1 / half + 1 / FILM)
    found = of_power(80.0, cutout=str(cutout))
    assert found.nominal()["heater_stuck_on"]["cutout_ends_it"] is True
    assert number(found, "hottest_surface_with_cutout_degC") == pytest.approx(surface, abs=0.1)


@pytest.mark.parametrize("watts", [45.0, 60.0, 80.0])
def test_hours_to_the_cells_limit_of_a_lumped_pack(watts: float) -> None:
    """m c dT/dt = P - what is lost, to 60 degC (iron phosphate's discharge limit in the table): the film's
    own loss and temperature as above, so a share h_c / (h_c + U) of its power reaches the cells."""
    share = FILM / (FILM + OUTER)
    loss = OUTER * (AREA_M2 - ENDS_M2) + OUTER * share * ENDS_M2
    tau = 4 * MASS_KG * HEAT_J_PER_KGK / loss
    end = watts * share / loss
    hours = -tau * np.log(1 - 30.0 / end) / 3600.0
    # 1 % is the gradient in metal and contacts: the surface under the film is the hottest place.
    assert number(of_power(watts, METAL), "hours_to_cell_limit") == pytest.approx(hours, rel=0.01)


def test_without_a_cut_out_nothing_ends_it_and_an_undescribed_one_is_missing() -> None:
    found = of_power(80.0, cutout="none")
    assert found.nominal()["heater_stuck_on"]["cutout_ends_it"] is False
    assert number(found, "hottest_surface_with_cutout_degC") == number(found, "hottest_surface_degC")
    undescribed = facts(heater=FILM_ENDS.replace(", cutout_degC: 60", ""))
    lacking = Missing(("heater.cutout_degC",), "not described: heater.cutout_degC")
    assert undescribed.find("heater_stuck_on.cutout_ends_it") == lacking
    assert undescribed.find("heater_stuck_on.hottest_surface_with_cutout_degC") == lacking
    assert isinstance(undescribed.find("heater_stuck_on.hottest_film_degC"), Quantity)


def test_no_power_stays_at_the_start() -> None:
    found = of_power(0.0)
    assert number(found, "hottest_surface_degC") == number(found, "hottest_film_degC") == 30.0
    assert found.find("heater_stuck_on.hours_to_cell_limit") == Missing((), "it never becomes so hot")


@pytest.mark.parametrize(("outside_K", "flux"), [(0.0, 900.0), (60.0, 0.0), (60.0, 900.0), (-20.0, 900.0)])
def test_a_film_between_the_cell_and_a_hotter_or_colder_outside(outside_K: float, flux: float) -> None:
    """Film node of the network against the probe on the film: over a case much hotter than the cell the film
    passes heat inwards without power. 600 s after an even start; the facts' outermost volume of 2 mm, not the
    network's of 1.8 mm, costs 0.4 % (test_grid allows 0.3 K under 500 W/m2)."""
    face = Face(9.0, outside_K, flux, FILM)
    faces = dict.fromkeys(FACES, Face(9.0, outside_K)) | dict.fromkeys(FACES[:2], face)
    this = Case((4, 1, 1), SIZE_M, (0.9, 19.0, 19.0), (3e-4, 0.0, 0.0), 2.1794e6, faces)
    network = VolumeBlock(this, (20, 5, 5))
    state = network.march(this, np.zeros(network.number.size), 600.0, 1e-7)
    expected = network.film_temperatures(this, state, "x_low").reshape(5, 5)[2, 2]
    pack = Pack(
        counts=(4, 1, 1), lengths_m=SIZE_M, through=exact(0.9), along=exact(19.0), contact=exact(3e-4),
        density=exact(2.1794e6 / 1020.0), specific_heat=exact(1020.0), outer=exact(9.0),
        insulation_m2K_per_W=0.0, underside=exact(9.0), floor_contact=False, heated=("ends",),
        between=False, film_contact=exact(1 / FILM), coupling=exact(50.0), radius_m=0.0, radial=exact(0.9),
    )  # fmt: skip
    block = stacked([(pack, NOMINAL)], ("heater", "air"))
    strengths = {"heater": flux, "air": outside_K}
    film = Placing([(pack, NOMINAL)], block).film()
    after = block.after(block.rest(), block.steady(strengths), 600.0)
    found = float((film.row * after).sum()) + sum(float(film.offsets[n][0]) * s for n, s in strengths.items())
    assert found == pytest.approx(float(expected), rel=5e-3)
