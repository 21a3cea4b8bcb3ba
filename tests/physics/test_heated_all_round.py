"""Plates and films between small cells, round cells with their own heat, and cells made for the cold."""

import numpy as np
import pytest
from cases import FACES, Case, Face
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix
from volume_block import VolumeBlock

from bmslint.facts import Facts, Missing, Quantity, derive
from bmslint.facts.inputs import exact
from bmslint.facts.joule import axis_rise_K
from bmslint.facts.pack import Pack
from bmslint.limits import load_limits
from bmslint.settings import read_text

SMALL = """
format: 1
title: Twelve invented small cells with heating plates
pack:
  chemistry: CHEMISTRY
  series: 12
  cell:
    shape: pouch
    capacity_Ah: 20
    thickness_mm: 10
    width_mm: 100
    height_mm: 160
    mass_kg: 0.34
    thermal: {through_W_per_mK: 0.6, along_W_per_mK: 25, specific_heat_J_per_kgK: 1050, basis: measured}
LIMITS
  layout: {stacked: 12, gap: plate}
  enclosure: {insulation_mm: 20, insulation_W_per_mK: 0.035, underside: insulated}
heater: {power_W: 60, tolerance_pct: 0, faces: FACES, sensors: [core], on_below_degC: 30, off_above_degC: 40}
sensors:
  core: {place: between_cells, lag_s: 0, accuracy_K: 0}
  end: {place: heated_face, lag_s: 0, accuracy_K: 0, film_coupling_pct: 0}
protection:
  charge_cold: {inhibit_below_degC: INHIBIT, release_above_degC: RELEASE, sensors: [SENSOR]}
charge_current: {steps: [{from_degC: INHIBIT, max_A: 4}], between_steps: hold, sensors: [SENSOR]}
charger: {max_A: 4}
site: {coldest_degC: COLDEST, hottest_degC: 30}
"""


def facts(**words: str) -> Facts:
    """The facts of the pack, with words of its text exchanged."""
    text = SMALL
    usual = {
        "CHEMISTRY": "lfp", "LIMITS": "", "FACES": "[between, ends, sides]", "INHIBIT": "0", "RELEASE": "5",
        "SENSOR": "core", "COLDEST": "-20",
    }  # fmt: skip
    for word, value in (usual | words).items():
        text = text.replace(word, value)
    document = read_text(text, "small.yaml")
    assert document.problems == ()
    return derive(document.data, load_limits(document.data), whole=True)


def number(found: Facts, path: str) -> float:
    item = found.find(path)
    assert isinstance(item, Quantity), item
    return float(item.value)


def test_small_cells_heated_all_round_have_hardly_a_lag() -> None:
    """Common practice, no source: with heat between all cells the core follows. A cell between two films of
    P'' has P''/2 on each face, so its middle lags by P'' L / (8 k), and the film stands P'' R'' / 4 above
    the face: 60 W on 0.2464 m2 are 244 W/m2, 0.51 and 0.04 K. 0.1 K is what top and bottom lose."""
    found = facts()
    flux = 60.0 / (11 * 0.016 + 2 * 0.016 + 2 * 0.12 * 0.160)
    lag = flux * 0.010 / (8 * 0.6) + flux * 6e-4 / 4
    coldest = number(found, "heated_warmup.coldest_at_release_degC")
    assert number(found, "heated_warmup.reading_at_release_degC") - coldest == pytest.approx(lag, abs=0.1)
    # A sensor at the end, where the film heats from outside too, runs ahead by a few kelvin; with films on
    # the ends alone it releases cells that are as cold as they were.
    all_round, ends_only = facts(SENSOR="end"), facts(SENSOR="end", FACES="[ends]")
    assert number(all_round, "heated_warmup.coldest_at_release_degC") > 0.0
    assert number(ends_only, "heated_warmup.coldest_at_release_degC") < -19.9


@pytest.mark.parametrize(("sensor", "release"), [("core", "5"), ("end", "5"), ("core", "12")])
def test_a_plate_heated_warm_up_against_the_network(sensor: str, release: str) -> None:
    """Films in every plane and on ends and sides as nodes of the network, to the instant of release."""
    found = facts(SENSOR=sensor, RELEASE=release)
    seconds = number(found, "heated_warmup.time_to_release_min") * 60.0
    this = all_round()
    network = VolumeBlock(this, (6, 7, 7))
    matrix, heat = csr_matrix(network.reduced / -network.capacity), network.heat(this) / network.capacity
    course = solve_ivp(
        lambda _, t: matrix @ t + heat, (0.0, seconds), np.zeros(network.number.size), "BDF",
        jac=matrix, rtol=1e-6, atol=1e-6,
    )  # fmt: skip
    # Two cuts into volumes on a spread of 2 K.
    coldest = number(found, "heated_warmup.coldest_at_release_degC")
    assert coldest == pytest.approx(float(course.y[:, -1].min()) - 20.0, abs=0.1)


def test_films_between_cells_stuck_on_against_the_network() -> None:
    """The network's films are nodes of their own, in the planes as on the faces: hottest film of all in the
    end, 0.5 % of the rise for two cuts. The cells' surface is below it by half the flux over half the
    contact."""
    this = all_round()
    network = VolumeBlock(this, (6, 7, 7))
    state = network.steady(this)
    films = []
    for node, low, high in network.planes:
        ways = -network.conductance[node, low], -network.conductance[node, high]
        power = this.between_W_per_m2 * float(network.step[1] * network.step[2])
        films.append((power + ways[0] * state[low] + ways[1] * state[high]) / sum(ways))
    hottest = max(films)
    found = facts(FACES="[between, ends, sides]")
    surface = number(found, "heater_stuck_on.hottest_surface_degC") - 30.0
    assert surface == pytest.approx(hottest - this.between_W_per_m2 / 2 * 6e-4 / 2, rel=5e-3)


def all_round() -> Case:
    """The pack for the network: a film in every plane, on both ends and both sides."""
    outward = 1 / (0.020 / 0.035 + 1 / 7.7)
    flux = 60.0 / (11 * 0.016 + 2 * 0.016 + 2 * 0.12 * 0.160)
    film = Face(outward, 0.0, flux, 1 / 6e-4)
    faces = dict.fromkeys(FACES, Face(outward)) | dict.fromkeys(FACES[:4], film)
    return Case(
        (12, 1, 1), (0.010, 0.100, 0.160), (0.6, 25.0, 25.0), (6e-4, 0.0, 0.0),
        0.34 / 0.16e-3 * 1050.0, faces, between_W_per_m2=flux,
    )  # fmt: skip


COLD_LIMITS = """    limits:
      source: invented maker's sheet
      charge_degC: {min: -30, max: 45}
      charge_current: [{from_degC: -30, max_A: 2}, {from_degC: 0, max_A: 10}, {from_degC: 45, max_A: 0}]"""


def test_cells_that_their_maker_lets_charge_at_30_below() -> None:
    """The limit comes from the file alone, and the warm-up is judged against it: soaked at -40 degC."""
    words = {"CHEMISTRY": "lfp_low_temperature", "COLDEST": "-40", "FACES": "[ends]", "INHIBIT": "-30"}
    words["LIMITS"] = COLD_LIMITS
    early = facts(**words, SENSOR="end", RELEASE="-28")
    late = facts(**words, SENSOR="core", RELEASE="-24")
    assert number(early, "heated_warmup.coldest_at_release_degC") < -30.0
    assert number(early, "heated_warmup.below_limit_Ah") > 0.0
    assert number(late, "heated_warmup.coldest_at_release_degC") > -30.0
    assert number(late, "heated_warmup.below_limit_Ah") == 0.0
    safe = number(early, "heated_warmup.safe_release_degC")
    again = facts(**words, SENSOR="end", RELEASE=str(safe))
    assert number(again, "heated_warmup.coldest_at_release_degC") >= -30.0
    # Of the current, too: 4 A at a cell that bears 2 A below freezing.
    assert number(late, "heated_warmup.above_allowed_Ah") > 0.0


def test_without_the_makers_limit_a_cold_cell_is_not_judged() -> None:
    found = facts(CHEMISTRY="lfp_low_temperature", COLDEST="-40", INHIBIT="-30", RELEASE="-28")
    item = found.find("heated_warmup.below_limit_Ah")
    assert isinstance(item, Missing)
    assert "pack.cell.limits.charge_degC" in item.paths
    assert isinstance(found.find("heated_warmup.coldest_at_release_degC"), Quantity)


def test_the_axis_of_a_round_cell_by_hand() -> None:
    """18 mm cells: 35.56 kW in a cubic metre of boxes are 45.28 in the cells, and 4.58 K at 0.2 W/(m K)."""
    common = {
        "counts": (4, 4, 1), "lengths_m": (0.018, 0.018, 0.065), "along": exact(20.0), "contact": exact(3e-4),
        "density": exact(2000.0), "specific_heat": exact(1000.0), "outer": exact(7.7),
        "insulation_m2K_per_W": 0.0, "underside": exact(7.7), "floor_contact": False, "heated": (),
        "between": False, "film_contact": exact(6e-4), "coupling": exact(50.0),
    }  # fmt: skip
    around = Pack(**common, through=exact(0.13), radius_m=0.009, radial=exact(0.2))
    flat = Pack(**common, through=exact(0.9), radius_m=0.0, radial=exact(0.9))
    assert round(axis_rise_K(around, 35560.0, "value"), 2) == 4.58
    assert axis_rise_K(flat, 35560.0, "value") == 0.0
