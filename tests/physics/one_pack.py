"""One pack of four cells in a row as a settings file, for the facts and for the independent network alike.

Everything that counts is declared, so that no default hides: the cells of the tests conduct, store and
resist by the numbers below. Outside are still air and radiation, together 7.7 W/(m2 K), a floor contact
of 150 and an air gap of 5 W/(m2 K), the nominal defaults.
"""

from typing import Any

from cases import FACES, Case, Face

from bmslint.facts import Facts, derive
from bmslint.limits import load_limits
from bmslint.settings import read_text

OUTER, FLOOR, GAP, FILM = 3.5 + 4.2, 150.0, 5.0, 1 / 6e-4
SIZE_M, MASS_KG, HEAT_J_PER_KGK = (0.036, 0.130, 0.200), 2.0, 1020.0
CONTACT = 3e-4
PACK_M = (4 * SIZE_M[0], SIZE_M[1], SIZE_M[2])
VOLUME_M3 = PACK_M[0] * PACK_M[1] * PACK_M[2]
AREA_M2 = 2 * (PACK_M[0] * PACK_M[1] + PACK_M[1] * PACK_M[2] + PACK_M[0] * PACK_M[2])

TEXT = """
format: 1
title: Four invented cells in a row
pack:
  chemistry: lfp
  series: 4
  parallel: 1
  cell:
    shape: prismatic
    capacity_Ah: 100
    thickness_mm: 36
    width_mm: 130
    height_mm: 200
    mass_kg: 2.0
    resistance_mohm: 2.0
    resistance_ratio_0degC: 3
    thermal: {through_W_per_mK: THROUGH, along_W_per_mK: ALONG, specific_heat_J_per_kgK: 1020,
              basis: measured}
  layout: {stacked: 4, contact_m2K_per_W: 0.0003}
  enclosure: {insulation_mm: 0, underside: UNDERSIDE}
HEATER
sensors:
  core: {place: between_cells, accuracy_K: 1, lag_s: 0}
  end: {place: cell_face, face: ends, accuracy_K: 1, lag_s: 0}
protection:
  charge_cold: {inhibit_below_degC: 0, release_above_degC: 5, sensors: [core]}
  discharge_cold: {inhibit_below_degC: -10, release_above_degC: -5, sensors: [end]}
  charge_hot: {inhibit_above_degC: 45, release_below_degC: 40, sensors: [core]}
  discharge_hot: {inhibit_above_degC: 55, release_below_degC: 50, sensors: [end]}
charge_current: {steps: [{from_degC: 0, max_A: 60}], between_steps: hold, sensors: [core]}
charger: {max_A: 60}
load: {continuous_A: 80}
site: {coldest_degC: -25, hottest_degC: 30, floor_degC: -25}
"""
FILM_ENDS = (
    "heater: {power_W: 40, tolerance_pct: 0, faces: [ends], contact_m2K_per_W: 0.0006, cutout_degC: 60}"
)


def facts(
    conductivity: tuple[float, float] = (0.9, 19.0),
    underside: str = "insulated",
    heater: str = "",
    changes: dict[str, str] | None = None,
) -> Facts:
    """The facts of the pack, with pieces of its text exchanged."""
    text = TEXT.replace("THROUGH", str(conductivity[0])).replace("ALONG", str(conductivity[1]))
    text = text.replace("UNDERSIDE", underside).replace("HEATER", heater)
    for old, new in (changes or {}).items():
        assert old in text, old
        text = text.replace(old, new)
    document = read_text(text, "pack.yaml")
    assert document.problems == ()
    return derive(document.data, load_limits(document.data), whole=True)


def case(
    conductivity: tuple[float, float] = (0.9, 19.0),
    bottom_W_per_m2K: float = OUTER,
    outside_K: float = 0.0,
    film_W_per_m2: float | None = None,
    inside_W_per_m3: float = 0.0,
) -> Case:
    """The same pack for the network; temperatures in K above the start, a film on both ends if any."""
    faces: dict[str, Any] = dict.fromkeys(FACES, Face(OUTER, outside_K))
    faces["z_low"] = Face(bottom_W_per_m2K, outside_K)
    if film_W_per_m2 is not None:
        faces |= dict.fromkeys(FACES[:2], Face(OUTER, outside_K, film_W_per_m2, FILM))
    return Case(
        (4, 1, 1),
        SIZE_M,
        (conductivity[0], conductivity[1], conductivity[1]),
        (CONTACT, 0.0, 0.0),
        MASS_KG / float(SIZE_M[0] * SIZE_M[1] * SIZE_M[2]) * HEAT_J_PER_KGK,
        faces,
        inside_W_per_m3,
    )
