"""Masses, heat and energy of a pack against published cells, meshes of scikit-fem and measured discharges."""

from typing import Any

import numpy as np
import pybamm
import pytest
from packs import changed, derived, of_profile
from scipy.integrate import solve_ivp, trapezoid
from skfem import Basis, BilinearForm, ElementHex1, ElementTriP1, Functional, MeshHex, MeshTri

from bmslint.facts import Facts, Quantity
from bmslint.settings import read_text

TEXT = """
format: 1
title: Cells of one kind, invented but for what is declared
pack:
  chemistry: {chemistry}
  series: {stacked}
  parallel: {parallel}
  cell: {{shape: {shape}, {cell}}}
  layout: {{stacked: {stacked}, rows: {parallel}}}
"""


def facts(chemistry: str, shape: str, cell: str, stacked: int = 1, parallel: int = 1) -> Facts:
    words = {"chemistry": chemistry, "shape": shape, "cell": cell, "stacked": stacked, "parallel": parallel}
    document = read_text(TEXT.format(**words), "cells.yaml")
    assert document.problems == ()
    return derived(document)


def value(found: Facts, name: str) -> float:
    item = found.find(f"block.{name}")
    assert isinstance(item, Quantity), item
    return float(item.value)


def test_a_measured_pouch_cell() -> None:
    """Anisotropic thermal characterisation of large-format lithium-ion pouch cells, arXiv:2112.09768,
    abstract (read): 489 g, 224 mL, 541 J/K at full charge, of a 20 Ah iron phosphate cell.

    Its size is not printed; a box of 7 x 160 x 200 mm has that volume. Half a joule is what the print rounds
    to, and 1 J/K what the specific heat of the table does.
    """
    found = facts("lfp", "pouch", "thickness_mm: 7, width_mm: 160, height_mm: 200, mass_kg: 0.489")
    assert value(found, "density_kg_per_m3") == pytest.approx(0.489 / 224e-6, rel=1e-9)
    assert value(found, "heat_capacity_J_per_K") == pytest.approx(541.0, abs=1.5)
    assert value(found, "mass_kg") == 0.489


@pytest.mark.parametrize(
    ("chemistry", "shape", "size", "density", "heat", "litres"),
    [
        ("lfp", "cylindrical", "diameter_mm: 18.25, height_mm: 65", 1940.0, 999.0, 0.017),
        ("nmc", "pouch", "thickness_mm: 8, width_mm: 100, height_mm: 160", 1847.0, 913.0, 0.128),
    ],
    ids=["18650", "pouch"],
)
def test_the_cells_of_the_open_parameter_standard(
    chemistry: str, shape: str, size: str, density: float, heat: float, litres: float
) -> None:
    """Battery Parameter eXchange (BPX) open standard, examples/lfp_18650_cell_BPX.json and
    nmc_pouch_cell_BPX.json (read): density, specific heat and volume of a cell. With the mass of the volume
    and a usual size of the kind, the pack of twelve gives the same density and twelve times the heat capacity
    of one. 0.3 %: the round cell's volume is printed to two digits."""
    mass = density * litres / 1e3
    cell = f"{size}, mass_kg: {mass}, thermal: {{specific_heat_J_per_kgK: {heat}, basis: measured}}"
    found = facts(chemistry, shape, cell, stacked=4, parallel=3)
    assert value(found, "density_kg_per_m3") == pytest.approx(density, rel=3e-3)
    assert value(found, "heat_capacity_J_per_K") == pytest.approx(
        12 * density * heat * litres / 1e3, rel=3e-3
    )
    assert value(found, "mass_kg") == pytest.approx(12 * mass, rel=1e-12)


@BilinearForm
def stored(u: Any, v: Any, w: Any) -> Any:
    """Heat that one kelvin stores, for 1 J/(m3 K)."""
    return u * v


@Functional
def one(w: Any) -> Any:
    """Volume or area."""
    return 1.0 + 0.0 * w.x[0]


CELL = "thickness_mm: 36, width_mm: 130, height_mm: 200, mass_kg: 2.1"


@pytest.mark.parametrize(("stacked", "parallel"), [(1, 1), (4, 1), (4, 3)])
def test_a_mesh_of_the_pack_stores_as_much(stacked: int, parallel: int) -> None:
    """scikit-fem: one hexahedron for each cell. Their number, the sum of the mass matrix at the density of a
    cell and 1020 J/(kg K), and the rise in an hour of 50 W into the closed pack by scipy's integrator."""
    mesh = MeshHex.init_tensor(
        np.linspace(0, 0.036 * stacked, stacked + 1),
        np.linspace(0, 0.130 * parallel, parallel + 1),
        np.array([0.0, 0.2]),
    )
    basis = Basis(mesh, ElementHex1())
    found = facts("lfp", "prismatic", CELL, stacked, parallel)
    assert value(found, "cells") == value(found, "cells_declared") == mesh.nelements
    density = value(found, "density_kg_per_m3")
    volume = float(one.assemble(basis))
    assert value(found, "mass_kg") == pytest.approx(density * volume, rel=1e-9)
    capacity = value(found, "heat_capacity_J_per_K")
    assert capacity == pytest.approx(density * 1020.0 * float(stored.assemble(basis).sum()), rel=1e-9)
    # The rise of all volumes together: heat in over what the mesh stores, integrated.
    ones = np.ones(basis.N)
    matrix = 2.1 / (0.036 * 0.130 * 0.2) * 1020.0 * stored.assemble(basis)
    run = solve_ivp(lambda _, t: [50.0 / float(ones @ matrix @ ones)], (0.0, 3600.0), [0.0])
    assert 50.0 * 3600.0 / capacity == pytest.approx(float(run.y[0, -1]), rel=1e-9)


def test_a_round_cells_volume_by_triangles() -> None:
    """The circle meshed by scikit-fem, refined until its polygon lacks a part in a thousand of the area."""
    found = facts("nmc", "cylindrical", "diameter_mm: 21, height_mm: 70, mass_kg: 0.07")
    mesh = MeshTri.init_circle(6).scaled(0.0105)
    area = float(one.assemble(Basis(mesh, ElementTriP1())))
    assert 0.07 / value(found, "density_kg_per_m3") == pytest.approx(area * 0.070, rel=1e-3)


# BPX open standard, examples/nmc_pouch_cell_BPX.json, Validation, C/20 discharge (read): every 5000 s of the
# measured voltage at 0.625 A; the last is at 75000 s.
MEASURED_V = [
    4.19367569, 4.09952412, 4.02186346, 3.94727088, 3.87191127, 3.79482587, 3.73173857, 3.68859376,
    3.65752958, 3.63298489, 3.6088238, 3.57891014, 3.53864157, 3.49204517, 3.44218895, 2.89472934,
]  # fmt: skip


def test_energy_of_a_measured_discharge() -> None:
    """Twelve groups of two of these cells: the measured mean voltage, 3.71 V, times their charge is 3.1 %
    more than the chemistry's nominal 3.6 V makes of it, which is what counting at nominal voltage costs."""
    mean = float(trapezoid(MEASURED_V, dx=5000.0)) / 75000.0
    assert round(mean, 2) == 3.71
    size = "thickness_mm: 8, width_mm: 100, height_mm: 160, mass_kg: 0.2364, capacity_Ah: 12.5"
    found = facts("nmc", "pouch", size, stacked=12, parallel=2)
    assert value(found, "capacity_Ah") == 25.0
    assert value(found, "energy_Wh") == pytest.approx(12 * mean * 25.0, rel=0.035)


@pytest.mark.parametrize(
    ("name", "chemistry", "mean_V"),
    [("Prada2013", "lfp", 3.19), ("OKane2022", "nmc", 3.72), ("Ecker2015", "nmc", 3.77)],
)
def test_energy_of_a_slow_discharge_by_pybamm(name: str, chemistry: str, mean_V: float) -> None:
    """PyBaMM, single particles, from full to empty in fifty hours: charge and energy of published cells. The
    nominal voltages are 3.2 and 3.6 V, so the energy of nickel oxides is up to 4.5 % more than is counted."""
    values = pybamm.ParameterValues(name)
    amps = float(values["Nominal cell capacity [A.h]"]) / 50.0
    values["Current function [A]"] = amps
    cell = pybamm.Simulation(pybamm.lithium_ion.SPM(), parameter_values=values)
    looks = np.linspace(0.0, 60 * 3600.0, 2001)
    run = cell.solve([0.0, looks[-1]], t_interp=looks, initial_soc=1.0)
    seconds, volts = run["Time [s]"].entries, run["Terminal voltage [V]"].entries
    hours = float(seconds[-1]) / 3600.0
    energy = float(trapezoid(volts, seconds)) * amps / 3600.0
    assert round(energy / (amps * hours), 2) == mean_V
    size = f"thickness_mm: 10, width_mm: 100, height_mm: 100, mass_kg: 0.2, capacity_Ah: {amps * hours}"
    assert value(facts(chemistry, "pouch", size), "energy_Wh") == pytest.approx(energy, rel=0.05)


def test_a_pack_of_one_cell_is_the_cell() -> None:
    """Limit, and what the file declares of the whole pack counts before the cells do."""
    cell = f"{CELL}, capacity_Ah: 100"
    found = facts("lfp", "prismatic", cell)
    assert (value(found, "cells"), value(found, "mass_kg"), value(found, "capacity_Ah")) == (1, 2.1, 100.0)
    declared = derived(changed(of_profile("ridge-hut"), {"pack.capacity_Ah": 200.0, "pack.series": 8}))
    assert value(declared, "capacity_Ah") == 200.0
