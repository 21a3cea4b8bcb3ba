"""The pack under its own settings, in several runs at once: until charging is released, until it is warm.

Validity: as `facts.runs`; 200 switches of the heater at most are followed.
Source: the exact solution in `physics.history` between switches, and their instants on the reports; our own.
"""

import numpy as np

from bmslint.facts.runs import REACHED_K, Flags, Runs
from bmslint.physics.axis import Array
from bmslint.physics.history import Left


def until_release(runs: Runs) -> Flags:
    """Run until charging is released, or until each run's horizon.

    Args:
        runs: the runs, advanced in place.

    Returns:
        Whether it was released, shape (runs,); the run then stands at that instant.
    """
    # A pack that never was inhibited charges from the start.
    released = runs.now_degC(runs.release) >= runs.inhibit_degC
    going = ~released
    runs.switch_heater(going)
    above_since = np.full(len(released), np.nan)
    while (going := going & (runs.time_s < runs.horizon_s) & ~runs.chatters).any():
        waiting = going & ~np.isnan(above_since)
        left = np.where(waiting, above_since + runs.wait_s, runs.horizon_s) - runs.time_s
        left = np.where(going, left, 0.0)

        def margin(reports: Array, seconds: Array, waiting: Flags = waiting) -> Array:
            reading = runs.decided(runs.release, reports) - runs.above_degC[:, None]
            crossing = np.where(waiting[:, None], -reading - 2 * REACHED_K, reading)
            return runs.heater_margin(crossing, reports, seconds)

        segment = runs.segment()
        found = segment.first(margin, runs.looks.ending(runs.probes, left), runs.watched)
        runs.go(segment, found.seconds, going)
        above = runs.now_degC(runs.release) >= runs.above_degC - REACHED_K
        first = above & np.isnan(above_since)
        above_since = np.where(first, runs.time_s, np.where(above, above_since, np.nan))
        waited = runs.time_s - above_since >= runs.wait_s - 1e-9
        held = np.where(found.reached, waited, waiting)
        released = released | (going & held)
        going = going & ~held & found.reached
        runs.switch_heater(going)
    return released


def until_warm(runs: Runs, least_degC: float, going: Flags) -> tuple[Array, Flags]:
    """Run on without charging until the coldest point is warm enough, or until each run's horizon.

    Args:
        runs: the runs, advanced in place; best a copy.
        least_degC: temperature that every point must reach (degC).
        going: which of the runs go on, shape (runs,).

    Returns:
        Time since the start (s), nan if it never is warm enough; and whether the deciding reading fell
        below the release again on the way; each of shape (runs,).
    """
    fell, warm_s = np.zeros(len(going), bool), np.full(len(going), np.nan)
    while (going := going & (runs.time_s < runs.horizon_s) & ~runs.chatters).any():
        left = np.where(going, runs.horizon_s - runs.time_s, 0.0)

        def margin(reports: Array, seconds: Array) -> Array:
            return runs.heater_margin(runs.coldest(reports) - least_degC, reports, seconds)

        segment = runs.segment()
        found = segment.first(margin, runs.looks.ending(runs.probes, left))
        runs.go(segment, found.seconds, going)
        readings = runs.decided(runs.release, found.looked)
        seen = np.where(found.looked_s < found.seconds[:, None], readings, np.inf).min(axis=1)
        lowest = np.minimum(seen, runs.now_degC(runs.release))
        fell = fell | (going & (lowest < runs.above_degC - 2 * REACHED_K))
        warm = going & found.reached & (runs.coldest_degC() >= least_degC - REACHED_K)
        warm_s = np.where(warm, runs.time_s, warm_s)
        going = going & found.reached & ~warm
        runs.switch_heater(going)
    return warm_s, fell


def when_warm(runs: Runs, least_degC: float) -> tuple[Array, Array]:
    """Look back over the runs for the instant at which the coldest point became warm enough.

    Args:
        runs: runs that were advanced.
        least_degC: temperature that every point must reach (degC).

    Returns:
        Time since the start (s), nan if it never was, and the deciding reading then (degC); each of
        shape (runs,).
    """
    start = runs.start_degC
    warm_s, reading = np.where(start >= least_degC, 0.0, np.nan), start.copy()
    for stretch in runs.stretches:
        here = np.isnan(warm_s) & (stretch.length_s > 0.0) & (stretch.coldest_degC >= least_degC)
        if not here.any():
            continue
        length = np.where(here, stretch.length_s, 0.0)

        def margin(reports: Array, _: Array) -> Array:
            return runs.coldest(reports) - least_degC

        found = stretch.segment.first(margin, runs.looks.ending(runs.probes, length))
        reports = stretch.segment.reports(Left.at(runs.probes, found.seconds[:, None]))
        warm_s = np.where(here, stretch.start_s + found.seconds, warm_s)
        reading = np.where(here, runs.decided(runs.release, reports)[:, 0], reading)
    return warm_s, reading
