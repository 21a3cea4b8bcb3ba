"""What sensors with a lag report over a stretch, against scipy's integrator."""

import numpy as np
import pytest
from cases import ALL_ON, ours
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from test_conduction_solvers import HEATED, VOLUMES

from bmslint.physics.conduction import Block
from bmslint.physics.history import Probe, Probes, Segment, first_time

TIMES = np.array([0.0, 1.0, 7.0, 30.0, 120.0, 600.0, 3600.0])


def rows(block: Block) -> np.ndarray:
    """Three places: an outer volume, one in the middle, one at the far corner."""
    return np.array([block.points(([x], [y], [z]))[0] for x, y, z in ((0, 4, 5), (12, 4, 5), (23, 7, 0))])


def lagging(block: Block, row: np.ndarray, rise_K: float, lag_s: float, segment: Segment) -> np.ndarray:
    """First-order lag, lag_s dR/dt = T - R, integrated by scipy (DOP853) with T from the block's state."""

    def slope(t: float, report: np.ndarray) -> np.ndarray:
        return (row @ segment.states(t) + rise_K - report) / lag_s

    found = solve_ivp(slope, (0.0, TIMES[-1]), [2.0], "DOP853", TIMES, rtol=1e-10, atol=1e-10, max_step=20.0)
    return np.asarray(found.y[0])


@pytest.mark.parametrize("lag_s", [2.0, 12.0, 60.0, "resonant"])
def test_a_lag_against_an_integrator(lag_s: float | str) -> None:
    """Each sensor starts at 2 K, and its own place stands above the block by 3 K for each unit of film.

    `resonant` is the inverse of the rate of the block's strongest mode, where the closed form divides by
    nothing and takes a lag changed by 1e-6 instead: 1e-4 K in rises of 30 K.
    """
    block = ours(HEATED, VOLUMES)
    if lag_s == "resonant":
        lag_s = float(1 / block.rates[np.argmax(np.abs(block.steady(ALL_ON)))])
    assert isinstance(lag_s, float)
    probes = Probes([Probe(row, {"film": 3.0}, lag_s) for row in rows(block)], block)
    segment = Segment(block, probes, block.rest(), np.full(3, 2.0), ALL_ON)
    expected = [lagging(block, row, 3.0, lag_s, segment) for row in rows(block)]
    np.testing.assert_allclose(segment.reports(TIMES).T, expected, atol=1e-4)


def test_without_a_lag_the_place_itself_is_reported() -> None:
    """Lagging and prompt sensors side by side, in the order given; the prompt ones from the field."""
    block = ours(HEATED, VOLUMES)
    places = rows(block)
    mixed = [Probe(places[0], {}, 0.0), Probe(places[1], {}, 12.0), Probe(places[2], {"outside": 1.5}, 0.0)]
    segment = Segment(block, Probes(mixed, block), block.rest(), np.zeros(3), ALL_ON)
    reports = segment.reports(TIMES)
    fields = [block.full_field(np.asarray(segment.states(float(t)))) for t in TIMES]
    np.testing.assert_allclose(reports[:, 0], [f[0, 4, 5] for f in fields], atol=1e-9)  # rounding
    np.testing.assert_allclose(reports[:, 2], [f[23, 7, 0] + 1.5 for f in fields], atol=1e-9)
    alone = Segment(block, Probes(mixed[1:2], block), block.rest(), np.zeros(1), ALL_ON)
    np.testing.assert_allclose(reports[:, 1], alone.reports(TIMES)[:, 0], atol=1e-12)


def test_a_stretch_continues_the_one_before() -> None:
    """Two stretches of 300 s are one of 600 s, for block and sensors."""
    block = ours(HEATED, VOLUMES)
    probes = Probes([Probe(row, {"film": 3.0}, 12.0) for row in rows(block)], block)
    whole = Segment(block, probes, block.rest(), np.zeros(3), ALL_ON)
    half = whole.end(300.0)
    state, reports = Segment(block, probes, *half, ALL_ON).end(300.0)
    expected_state, expected_reports = whole.end(600.0)
    np.testing.assert_allclose(state, expected_state, atol=1e-9)  # rounding
    np.testing.assert_allclose(reports, expected_reports, atol=1e-9)


@pytest.mark.parametrize("threshold_K", [0.5, 5.0, 20.0, 40.0])
def test_the_instant_of_a_switch_against_brent(threshold_K: float) -> None:
    """scipy's Brent on the same report. The search ends with a straight line over a sixteenth of a step;
    what the report bends there has to stay below the 1e-3 K that a run takes for reached, and below 1e-4
    of the time, a second in three hours."""
    block = ours(HEATED, VOLUMES)
    probes = Probes([Probe(rows(block)[0], {}, 12.0)], block)
    segment = Segment(block, probes, block.rest(), np.zeros(1), ALL_ON)

    def margin(times: np.ndarray) -> np.ndarray:
        return segment.reports(np.asarray(times))[:, 0] - threshold_K

    expected = brentq(lambda t: margin(np.array([t]))[0], 0.0, 36000.0, xtol=1e-6)
    found = first_time(margin, np.concatenate(([0.0], np.geomspace(2.0, 172800.0, 40))))
    assert found == pytest.approx(expected, rel=1e-4)
    assert abs(margin(np.array([found]))[0]) < 1e-3


def test_a_margin_that_is_never_or_at_once_reached() -> None:
    assert first_time(lambda t: t - 100.0, np.array([0.0, 1.0, 50.0])) is None
    assert first_time(lambda t: t + 1.0, np.array([0.0, 1.0, 50.0])) == 0.0
    assert first_time(lambda t: t - 50.0, np.array([0.0, 1.0, 50.0])) == 50.0
