"""Mean temperatures of whole cells in a block."""

from __future__ import annotations

import numpy as np

from bmslint.physics.axis import Array, Axis
from bmslint.physics.conduction import Block


def cell_means(block: Block, state: Array, counts: tuple[int, int, int]) -> Array:
    """Give the mean temperature of every cell.

    Args:
        block: The conduction model.
        state: Modal amplitudes, K, shape (modes,).
        counts: Number of cells along x, y and z; equal cells fill the block.

    Returns:
        Temperatures, K, shape of `counts`; along an axis with fewer volumes than cells, of the volumes.

    Validity: as the block's.
    Source: definition of a mean.
    """
    x, y, z = (
        _shares(axis, count) @ shapes
        for axis, count, shapes in zip(block.axes, counts, block.shapes, strict=True)
    )
    return block.gathered(state, x, y, z)


def _shares(axis: Axis, count: int) -> Array:
    """Give the share of each volume in each cell, shape (cells, volumes); rows sum to 1."""
    edges = np.concatenate(([0.0], np.cumsum(axis.steps_m)))
    cells = np.linspace(0.0, edges[-1], min(count, axis.count) + 1)
    overlap = np.minimum(edges[1:], cells[1:, None]) - np.maximum(edges[:-1], cells[:-1, None])
    held = np.maximum(overlap, 0.0)
    result: Array = held / held.sum(axis=1, keepdims=True)
    return result
