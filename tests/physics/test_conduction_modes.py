"""What the reduced form of the block leaves out, and what a sensor of it reads."""

from dataclasses import replace

import numpy as np
import pytest
from cases import ALL_ON, FACES, Case, ours
from test_conduction_solvers import FOAM, HEATED, STACK, VOLUMES
from volume_block import VolumeBlock


@pytest.mark.parametrize(
    ("case", "volumes"),
    [(HEATED, VOLUMES), (FOAM, VOLUMES), (STACK, (4, 4, 4))],
    ids=["dry contact", "foam", "rows and tiers"],
)
def test_modes_left_out_change_nothing_that_counts(case: Case, volumes: tuple[int, int, int]) -> None:
    """Against scipy's sparse direct solution with every mode: below 5 mK on rises of 70 to 150 K, a tenth
    of what the volumes may cost (0.05 K)."""
    block = ours(case, volumes)
    everything = VolumeBlock(case, volumes).steady(case)
    found = block.full_field(block.steady(ALL_ON)).ravel()
    assert block.modes < everything.size / 2
    assert everything.max() > 70.0
    assert np.abs(found - everything).max() < 5e-3


def test_a_symmetric_block_is_built_by_half() -> None:
    """`field` gives one half of an axis whose two ends are alike, and it is the half of `full_field`."""
    alike = {name: HEATED.faces[f"{name[0]}_low"] for name in FACES}
    block = ours(replace(HEATED, faces=alike), VOLUMES)
    state = block.after(block.rest(), block.steady(ALL_ON), 3600.0)
    half, full = block.field(state), block.full_field(state)
    assert half.shape == (12, 4, 5)
    np.testing.assert_allclose(half, full[:12, :4, :5], atol=1e-10)
    np.testing.assert_allclose(full, full[::-1, ::-1, ::-1], atol=1e-8)
    uneven = ours(HEATED, VOLUMES)
    assert uneven.field(uneven.steady(ALL_ON)).shape == (24, 8, 10)
