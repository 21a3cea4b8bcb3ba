"""What sensors with a lag report over a stretch, against scipy's integrator."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from cases import ALL_ON, ours
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from test_conduction_solvers import HEATED, VOLUMES

from bmslint.physics.axis import Axis
from bmslint.physics.conduction import Block
from bmslint.physics.history import Left, Probe, Probes, Segment

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
    np.testing.assert_allclose(segment.reports(Left.at(probes, TIMES)), expected, atol=1e-4)


def test_without_a_lag_the_place_itself_is_reported() -> None:
    """Lagging and prompt sensors side by side, in the order given; the prompt ones from the field."""
    block = ours(HEATED, VOLUMES)
    places = rows(block)
    mixed = [Probe(places[0], {}, 0.0), Probe(places[1], {}, 12.0), Probe(places[2], {"outside": 1.5}, 0.0)]
    probes = Probes(mixed, block)
    segment = Segment(block, probes, block.rest(), np.zeros(3), ALL_ON)
    reports = segment.reports(Left.at(probes, TIMES))
    fields = [block.full_field(np.asarray(segment.states(float(t)))) for t in TIMES]
    np.testing.assert_allclose(reports[0], [f[0, 4, 5] for f in fields], atol=1e-9)  # rounding
    np.testing.assert_allclose(reports[2], [f[23, 7, 0] + 1.5 for f in fields], atol=1e-9)
    single = Probes(mixed[1:2], block)
    alone = Segment(block, single, block.rest(), np.zeros(1), ALL_ON)
    np.testing.assert_allclose(reports[1], alone.reports(Left.at(single, TIMES))[0], atol=1e-12)


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


@pytest.mark.parametrize("kind", ["looks", "evenly"])
def test_what_is_left_is_an_exponential(kind: str) -> None:
    """Looks by squares and even times by products against numpy's exponential: to 1e-11 of one, which is 20
    roundings, doubled with every square."""
    block = ours(HEATED, VOLUMES)
    probes = Probes([Probe(row, {"film": 3.0}, 12.0) for row in rows(block)], block)
    left = Left.looks(probes, 1e6) if kind == "looks" else Left.evenly(probes, 30.0, 7230.0)
    if kind == "evenly":
        left = Left.evenly(probes, 30.0, 7230.0, Left.at(probes, np.array([30.0])).parts[:, 0])
    np.testing.assert_allclose(left.parts, np.exp(-np.outer(probes.rates, left.seconds)), atol=1e-11)
    assert left.seconds[-1] >= (1e6 if kind == "looks" else 7230.0)


def test_a_stack_is_its_blocks_side_by_side() -> None:
    """Three blocks of other conductivities and losses, each with its own drives and end of the time."""
    contact, losses = np.array([3e-4, 1e-3, 5e-5]), np.array([4.0, 9.0, 7.0])
    axis = Axis(4, 0.036, np.array([0.9, 0.5, 1.5]), contact, losses, losses, 6)
    side = Axis(1, 0.13, np.array([19.0, 10.0, 27.0]), contact, losses, losses, 10)
    heat, drives = (
        np.array([2.2e6, 1.9e6, 2.5e6]),
        {"film": {"x_low": 1.0, "x_high": 1.0}, "inside": {"inside": 1.0}},
    )
    stack, until = Block((axis, side, side), heat, drives), np.array([3600.0, 900.0, 3.0])
    strengths = {"film": np.array([300.0, 0.0, 150.0]), "inside": np.array([0.0, 4e3, 1e3])}

    def found(block: Block, strengths: Mapping[str, Any], until_s: np.ndarray) -> list[np.ndarray]:
        row = block.points(([0], [4], [5]))[..., 0, :]
        probes = Probes([Probe(row, {"film": 0.01}, 12.0), Probe(row, {}, 0.0)], block)
        segment = Segment(block, probes, block.rest(), probes.rest(), strengths)
        looks = Left.looks(probes, 3600.0).ending(probes, until_s)
        first = segment.first(lambda reports, _: reports[..., 0, :] - 0.5, looks)
        state, reports = segment.end(first.seconds)
        return [first.seconds, first.reached, reports, block.full_field(state), block.mean(state)]

    together = found(stack, strengths, until)
    for number in range(3):
        alone = found(stack.picked(number), {n: s[number] for n, s in strengths.items()}, until[number])
        for one, many in zip(alone, together, strict=True):
            np.testing.assert_allclose(many[number], one, rtol=1e-9, atol=1e-12)  # rounding
    assert together[1].tolist() == [True, True, False]


@pytest.mark.parametrize("threshold_K", [0.5, 5.0, 20.0, 40.0])
def test_the_instant_of_a_switch_against_brent(threshold_K: float) -> None:
    """scipy's Brent on the same report. The search ends with a parabola over a sixteenth of a step;
    what the report bends there has to stay below the 1e-3 K that a run takes for reached, and below 1e-4
    of the time, a second in three hours."""
    block = ours(HEATED, VOLUMES)
    probes = Probes([Probe(rows(block)[0], {}, 12.0)], block)
    segment = Segment(block, probes, block.rest(), np.zeros(1), ALL_ON)

    def at(seconds: float) -> float:
        return float(segment.reports(Left.at(probes, np.array([seconds])))[0, 0]) - threshold_K

    expected = brentq(at, 0.0, 36000.0, xtol=1e-6)
    looks = Left.looks(probes, 172800.0).ending(probes, np.array(172800.0))
    found = segment.first(lambda reports, _: reports[0] - threshold_K, looks)
    assert bool(found.reached)
    assert float(found.seconds) == pytest.approx(expected, rel=1e-4)
    assert abs(at(float(found.seconds))) < 1e-3


@pytest.mark.parametrize(("zero_s", "expected"), [(100.0, None), (-1.0, 0.0), (50.0, 50.0), (7.0, 7.0)])
def test_a_margin_that_is_never_or_at_once_reached(zero_s: float, expected: float | None) -> None:
    """A straight line in time, searched for 50 s."""
    block = ours(HEATED, VOLUMES)
    probes = Probes([Probe(rows(block)[0], {}, 12.0)], block)
    segment = Segment(block, probes, block.rest(), np.zeros(1), ALL_ON)
    looks = Left.looks(probes, 50.0).ending(probes, np.array(50.0))
    found = segment.first(lambda _, seconds: seconds - zero_s, looks)
    assert (bool(found.reached), float(found.seconds)) == (
        expected is not None, pytest.approx(50.0 if expected is None else expected, rel=1e-12)
    )  # fmt: skip
