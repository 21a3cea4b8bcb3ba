"""Kirchhoff's laws for any circuit, by nodal analysis on scipy's sparse matrices.

A branch is a source of voltage in series with a resistance, as a real cell is; node 0 is earth. Knows nothing
of rows, strings or packs: what is in series or side by side comes out of the nodes alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve


@dataclass(frozen=True)
class Branch:
    """From one node to another; its source drives current that way."""

    low: int
    high: int
    ohm: float
    volts: float = 0.0


def solve(
    branches: Sequence[Branch], pushed_A: dict[int, float] | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the voltage of every node against earth, and the current of every branch along its way."""
    count = 1 + max(max(each.low, each.high) for each in branches)
    rows, columns, values, sources = [], [], [], np.zeros(count)
    for each in branches:
        siemens = 1.0 / each.ohm
        for node, other in ((each.low, each.high), (each.high, each.low)):
            rows += [node, node]
            columns += [node, other]
            values += [siemens, -siemens]
        sources[each.high] += each.volts * siemens
        sources[each.low] -= each.volts * siemens
    for node, amps in (pushed_A or {}).items():
        sources[node] += amps
    matrix = coo_matrix((values, (rows, columns)), shape=(count, count)).tocsc()
    volts = np.zeros(count)
    volts[1:] = np.atleast_1d(spsolve(matrix[1:, 1:], sources[1:]))
    flows = [(volts[each.low] - volts[each.high] + each.volts) / each.ohm for each in branches]
    return volts, np.array(flows)


def pack(series: int, parallel: int, volts: float, ohm: float) -> list[Branch]:
    """Groups of cells side by side, one above the other; the lowest stands on earth, the last is the pole."""
    return [Branch(at, at + 1, ohm, volts) for at in range(series) for _ in range(parallel)]
