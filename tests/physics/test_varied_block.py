"""A block with another heat capacity and with heat that falls as it warms, against blocks built so."""

from dataclasses import replace

import numpy as np
import pytest
from cases import ours
from one_pack import case
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix, identity
from volume_block import VolumeBlock

HEATED = case(inside_W_per_m3=4000.0, outside_K=5.0)
STRENGTHS = {"film": 1.0, "outside": 1.0, "inside": 1.0, "between": 1.0}


@pytest.mark.parametrize("ratio", [0.5, 0.9, 1.7])
def test_another_heat_capacity_is_a_block_built_with_it(ratio: float) -> None:
    """The modes are the same by theory; what differs is rounding and the small modes that are left out."""
    varied = ours(HEATED, (6, 6, 6)).varied(ratio, 0.0)
    built = ours(replace(HEATED, heat_J_per_m3K=ratio * HEATED.heat_J_per_m3K), (6, 6, 6))
    for seconds in (60.0, 3600.0, 1e6):
        ends = [block.after(block.rest(), block.steady(STRENGTHS), seconds) for block in (varied, built)]
        fields = [block.full_field(end) for block, end in zip((varied, built), ends, strict=True)]
        np.testing.assert_allclose(fields[0], fields[1], atol=1e-3)
    assert varied.heat_J_per_m3K == built.heat_J_per_m3K


@pytest.mark.parametrize("sink_per_s", [1e-6, 1e-4, 2e-3])
def test_heat_that_falls_against_the_network(sink_per_s: float) -> None:
    """The network with the same fall on its diagonal, by BDF on the same volumes; 0.01 K is its tolerance
    over an hour and the modes left out."""
    network = VolumeBlock(HEATED, (6, 6, 6))
    matrix = csr_matrix(network.reduced / -network.capacity - sink_per_s * identity(network.number.size))
    heat = network.heat(HEATED) / network.capacity
    course = solve_ivp(
        lambda _, t: matrix @ t + heat, (0.0, 3600.0), np.zeros(network.number.size), "BDF",
        jac=matrix, rtol=1e-7, atol=1e-7,
    )  # fmt: skip
    block = ours(HEATED, (6, 6, 6)).varied(1.0, sink_per_s)
    state = block.after(block.rest(), block.steady(STRENGTHS), 3600.0)
    expected = course.y[:, -1].reshape(network.shape)
    np.testing.assert_allclose(block.full_field(state), expected, atol=0.01)


def test_a_strong_fall_alone_decides_the_end() -> None:
    """Heat q and a fall s: without the way out mattering, q / (rho c s) everywhere, as after a balance."""
    block = ours(case(inside_W_per_m3=4000.0), (6, 6, 6)).varied(1.0, 1.0)
    field = block.full_field(block.steady(STRENGTHS))
    assert field[12, 3, 3] == pytest.approx(4000.0 / block.heat_J_per_m3K, rel=1e-3)
