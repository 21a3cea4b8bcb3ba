"""The default properties: what the loader gives, and each computed one derived again."""

import math

import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from scipy import constants

from bmslint.limits import Default, UnknownChemistry, known_chemistries, load_defaults

GENERAL = (
    "activation_kJ_per_mol",
    "air_W_per_m2K",
    "air_gap_W_per_m2K",
    "cell_error_mV",
    "connection_mohm",
    "contact_air_m2K_per_W",
    "contact_contact_m2K_per_W",
    "contact_foam_m2K_per_W",
    "contact_pad_m2K_per_W",
    "contact_plate_m2K_per_W",
    "current_error_pct",
    "film_contact_m2K_per_W",
    "film_coupling_pct",
    "floor_contact_W_per_m2K",
    "heater_tolerance_pct",
    "imbalance_pct",
    "instant_activation_kJ_per_mol",
    "instant_resistance_pct",
    "insulation_W_per_mK",
    "pack_error_pct",
    "radiation_W_per_m2K",
    "reserve_pct",
    "self_discharge_pct_per_month",
    "sensor_accuracy_K",
    "sensor_lag_s",
)
CELL = ("along_W_per_mK", "density_kg_per_m3", "specific_heat_J_per_kgK", "through_W_per_mK")
SHAPES = ("prismatic", "pouch", "cylindrical")
LFP = load_defaults("lfp", "prismatic")


@pytest.mark.parametrize("chemistry", known_chemistries())
@pytest.mark.parametrize("shape", SHAPES)
def test_every_chemistry_and_shape_has_every_property(chemistry: str, shape: str) -> None:
    assert tuple(sorted(load_defaults(chemistry, shape))) == tuple(sorted(GENERAL + CELL))


def test_a_whole_default() -> None:
    assert load_defaults("lfp", "pouch")["through_W_per_mK"] == Default(
        value=0.52,
        low=0.4,
        high=1.0,
        unit="W/(m K)",
        title=(
            "Anisotropic thermal characterisation of large-format lithium-ion pouch cells, arXiv:2112.09768; "
            "the range is judgement, abstract, 20 Ah iron phosphate cell, through-plane"
        ),
        how="read",
    )


def test_shapes_differ() -> None:
    values = {shape: load_defaults("lfp", shape)["through_W_per_mK"].value for shape in SHAPES}
    assert values == {"prismatic": 0.9, "pouch": 0.52, "cylindrical": 0.2}


def test_a_chemistry_or_shape_that_is_none() -> None:
    with pytest.raises(UnknownChemistry):
        load_defaults("nimh", "prismatic")
    with pytest.raises(KeyError):
        load_defaults("lfp", "round")


def test_the_pouch_cell_that_was_read_is_one_cell() -> None:
    """arXiv:2112.09768, abstract: 489 g, 224 mL, 541 J/K; half a unit of the last digit for rounding."""
    pouch = load_defaults("lfp", "pouch")
    assert pouch["density_kg_per_m3"].value == pytest.approx(0.489 / 224e-6, abs=0.5)
    assert pouch["specific_heat_J_per_kgK"].value == pytest.approx(541 / 0.489, abs=0.5)


@pytest.mark.parametrize(("end", "degC"), [("low", -20), ("value", 0), ("high", 25)])
def test_radiation_is_4_eps_sigma_T3(end: str, degC: float) -> None:
    """Emissivity 0.9; half a unit of the last digit given, 0.05, for the rounding."""
    expected = 4 * 0.9 * constants.sigma * constants.convert_temperature(degC, "C", "K") ** 3
    assert getattr(LFP["radiation_W_per_m2K"], end) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("name", "thickness_mm", "W_per_mK"),
    [
        # Thicknesses and conductivities are common practice, no source.
        ("contact_pad_m2K_per_W", 1.0, 2.0),
        ("contact_foam_m2K_per_W", 2.0, 0.08),
        ("film_contact_m2K_per_W", 0.125, 0.21),
    ],
)
def test_a_layer_is_thickness_over_conductivity(name: str, thickness_mm: float, W_per_mK: float) -> None:
    """Rounded to one digit, so within 5 % of it."""
    assert LFP[name].value == pytest.approx(thickness_mm / 1000 / W_per_mK, rel=0.05)


def between_two_surfaces(gap_mm: float, degC: float = 0.0) -> float:
    """Still air and radiation side by side, W/(m2 K); air from the package `fluids` (1976 atmosphere)."""
    kelvin = degC + constants.zero_Celsius
    both = 1 / (1 / 0.9 + 1 / 0.9 - 1)
    air = ATMOSPHERE_1976.thermal_conductivity(kelvin) / (gap_mm / 1000)
    return float(air + 4 * both * constants.sigma * kelvin**3)


def test_air_gap_below_is_still_air_and_radiation() -> None:
    """A gap of 20 mm under a warm bottom; 2 % for rounding to one digit after the point."""
    assert LFP["air_gap_W_per_m2K"].value == pytest.approx(between_two_surfaces(20), rel=0.02)


@pytest.mark.parametrize(("end", "gap_mm"), [("low", 1), ("value", 3), ("high", 10)])
def test_air_between_cells_is_still_air_and_radiation(end: str, gap_mm: float) -> None:
    """5 % for rounding to the digits given."""
    expected = 1 / between_two_surfaces(gap_mm)
    assert getattr(LFP["contact_air_m2K_per_W"], end) == pytest.approx(expected, rel=0.05)


def test_an_air_gap_takes_away_95_percent_of_floor_contact() -> None:
    """Common practice, no source."""
    gap, floor = LFP["air_gap_W_per_m2K"], LFP["floor_contact_W_per_m2K"]
    assert 1 - gap.value / floor.value >= 0.95


def test_a_plate_is_two_dry_contacts() -> None:
    """An aluminium plate of 2 mm and 200 W/(m K) adds 1e-5, a sixtieth, and is left out."""
    assert LFP["contact_plate_m2K_per_W"].value == 2 * LFP["contact_contact_m2K_per_W"].value


@pytest.mark.parametrize(("degC", "ratio"), [(0, 3.64), (-20, 12.30)])
def test_activation_gives_the_usual_resistance_ratios(degC: float, ratio: float) -> None:
    """Arrhenius against 25 degC; the ratios are rounded to two digits after the point."""
    kelvin = constants.convert_temperature([degC, 25], "C", "K")
    energy = LFP["activation_kJ_per_mol"].value * 1000
    found = math.exp(energy / constants.R * (1 / kelvin[0] - 1 / kelvin[1]))
    assert found == pytest.approx(ratio, abs=0.005)
