"""A heated warm-up: bmslint against scikit-fem and scipy's stiff integrator, at no larger an error.

    python tests/benchmarks/bench_conduction.py

Four cells in a row with the heater on for one hour, then the temperature of every volume. The error is
the largest difference to a finite-element solution far finer than any of them. Each rival gets the
coarsest setting whose error is no larger than ours. Counted is all from the bare numbers of a pack to the
field, and for the rivals also the march in time alone, with their matrices assembled beforehand. Medians
of several runs, alternating.
"""

import logging
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "physics"))
logging.disable(logging.WARNING)  # scikit-fem tells of every large mesh it reorders

from cases import ALL_ON, centres, ours  # noqa: E402
from fem_block import FemBlock  # noqa: E402
from test_conduction_solvers import HEATED  # noqa: E402
from volume_block import VolumeBlock  # noqa: E402

VOLUMES = (6, 10, 10)
SECONDS = 3600.0
RUNS = 7
PLACES = centres(HEATED, VOLUMES)
# From coarse to fine: elements in each cell along x, y and z, with steps; tolerances for scipy.
MESHES = (
    ((1, 1, 1), 12),
    ((2, 1, 1), 12),
    ((2, 2, 2), 12),
    ((2, 2, 2), 24),
    ((3, 3, 3), 24),
    ((4, 3, 3), 60),
)
FINEST = ((6, 4, 4), 120)
TOLERANCES = (1e-1, 1e-2, 1e-3, 1e-4, 1e-5)

Run = Callable[[], Any]
Assemble = Callable[[], Run]


def by_modes() -> np.ndarray:
    block = ours(HEATED, VOLUMES)
    return block.full_field(block.after(block.rest(), block.steady(ALL_ON), SECONDS))


def by_elements(mesh: tuple[int, int, int], steps: int) -> tuple[np.ndarray, Assemble]:
    def assemble() -> Run:
        block = FemBlock(HEATED, mesh)

        def march() -> FemBlock:
            block.state = np.zeros_like(block.state)
            block.march(HEATED, SECONDS, steps)
            return block

        return march

    return assemble()().at(*PLACES), assemble


def by_stiff_integrator(tolerance: float) -> tuple[np.ndarray, Assemble]:
    def assemble() -> Run:
        network = VolumeBlock(HEATED, VOLUMES)
        soaked = np.zeros(network.number.size)
        return lambda: network.march(HEATED, soaked, SECONDS, tolerance).reshape(network.shape)

    return assemble()(), assemble


def main() -> None:
    reference, _ = by_elements(*FINEST)

    def error(field: np.ndarray) -> float:
        return float(np.abs(field - reference).max())

    allowed = error(by_modes())
    runs: dict[str, Assemble] = {"bmslint": lambda: by_modes}
    print(f"{'bmslint':40} {allowed:.4f} K")
    rivals = {
        "scikit-fem": ((f"{mesh}, {steps} steps", by_elements, (mesh, steps)) for mesh, steps in MESHES),
        "scipy BDF": ((f"tolerance {t:g}", by_stiff_integrator, (t,)) for t in TOLERANCES),
    }
    for rival, settings in rivals.items():
        best = np.inf
        for setting, solve, arguments in settings:
            field, run = solve(*arguments)
            print(f"{rival + ', ' + setting:40} {error(field):.4f} K")
            if error(field) < best:
                best, runs[rival] = error(field), run
            # scipy shares our volumes, so its error tends to ours and cannot fall below it.
            if best <= 1.1 * allowed:
                break
    whole: dict[str, list[float]] = {name: [] for name in runs}
    march: dict[str, list[float]] = {name: [] for name in runs}
    for _ in range(RUNS):
        for name, assemble in runs.items():
            start = time.perf_counter()
            run = assemble()
            assembled = time.perf_counter()
            run()
            whole[name].append(time.perf_counter() - start)
            march[name].append(time.perf_counter() - assembled)
    own = statistics.median(whole["bmslint"])
    for name in runs:
        all_of_it, alone = statistics.median(whole[name]), statistics.median(march[name])
        print(
            f"{name:12} {1e3 * all_of_it:8.2f} ms, {all_of_it / own:6.1f} x;"
            f"  march alone {1e3 * alone:8.2f} ms, {alone / own:6.1f} x"
        )


if __name__ == "__main__":
    main()
