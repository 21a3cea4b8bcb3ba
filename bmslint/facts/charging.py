"""The current that flows after release, and what it means for the coldest cell.

Validity: the cells' own heat is that at the coldest point's temperature; its reversible part is neglected.
Source: Joule's law and the Arrhenius equation; the comparison with the coldest point is our own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.loop import REACHED_K, Loop
from bmslint.facts.resistance import activation
from bmslint.facts.sensors import Deciding, deciding
from bmslint.limits import allowed_current_A
from bmslint.physics.conduction import Array
from bmslint.physics.history import Segment, first_time
from bmslint.physics.resistance import resistance_ratio

# How long after release the current is followed (s): by then a pack that is going to even out has.
FOLLOWED_S = 7200.0
# Shares of a stretch at which current and coldest cell are compared.
COMPARED = np.linspace(0.0, 1.0, 17)
# Shares of a stretch between which current and bearable current count as constant: middles of 256 parts.
FINE = (np.arange(256) + 0.5) / 256


@dataclass(frozen=True)
class ChargeCurrent:
    """What the settings let flow into the pack at what its sensors read.

    Args:
        steps: rows of `from_degC` and `max_A` of the whole pack; empty where nothing limits by temperature.
        linear: whether the current runs linearly between two rows instead of holding the lower one.
        deciding: the sensors that the steps go by; None with no steps.
        most_A: what the chargers and other paths can push together (A); infinite where only steps limit.
        free_A: the part of it that paths push which do not go by the steps (A).
    """

    steps: Sequence[Mapping[str, float]]
    linear: bool
    deciding: Deciding | None
    most_A: float
    free_A: float

    def at(self, reading_degC: Array) -> Array:
        """Give the current (A) at readings (degC), shape (times,)."""
        if not self.steps:
            return np.full(len(reading_degC), self.most_A)
        starts, currents = self._rows
        if self.linear:
            allowed: Array = np.interp(reading_degC, starts, currents, left=0.0)
        else:
            index = np.searchsorted(starts, reading_degC, side="right") - 1
            allowed = np.where(index < 0, 0.0, currents[np.maximum(index, 0)])
        result: Array = np.minimum(allowed + self.free_A, self.most_A)
        return result

    def permitted_A(self, temperature_degC: float) -> float:
        """Give the current (A) at one temperature (degC)."""
        return float(self.at(np.array([temperature_degC]))[0])

    def step(self, reading_degC: Array) -> Array:
        """Give the number of the row that applies at readings (degC), shape (times,)."""
        return np.searchsorted(self._rows[0], reading_degC, side="right").astype(float)

    @cached_property
    def _rows(self) -> tuple[Array, Array]:
        """Where each row begins (degC) and what it permits (A), shape (rows,)."""
        starts = np.array([row["from_degC"] for row in self.steps])
        return starts, np.array([row["max_A"] for row in self.steps])


@dataclass(frozen=True)
class Passed:
    """What passed in the time followed: charge below the limit, above the allowed current, the excess."""

    below_limit_Ah: float
    above_allowed_Ah: float
    excess_A: float


def charge_current(inputs: Inputs) -> ChargeCurrent:
    """Read what may flow into the pack.

    Args:
        inputs: the settings.

    Returns:
        The current by temperature.

    Raises:
        LackingError: neither steps, nor a charger, nor a charge path tells a current; or a charge path
            does not say how much it pushes or whether the steps limit it.
    """
    most, free = _pushed_A(inputs)
    steps = sorted(inputs.find("charge_current.steps") or (), key=lambda row: row["from_degC"])
    if not steps and most is None:
        wanted = ("charge_current.steps", "charger.max_A")
        raise LackingError(wanted, "not described: how much current may flow")
    return ChargeCurrent(
        steps=steps,
        linear=inputs.find("charge_current.between_steps") == "linear",
        deciding=deciding(inputs, "charge_current") if steps else None,
        most_A=float("inf") if most is None else float(most),
        free_A=free,
    )


def _pushed_A(inputs: Inputs) -> tuple[float | None, float]:
    """Give what can be pushed into the pack (A), None if nothing says; and what of it ignores the steps."""
    paths = inputs.find("charge_paths") or ()
    wanted = ("max_A", "obeys") if inputs.find("charge_current.steps") else ("max_A",)
    lacking = tuple(
        f"charge_paths[{number}].{key}"
        for number, path in enumerate(paths)
        for key in wanted
        if key not in path
    )
    if lacking:
        raise LackingError(lacking, "not described: " + ", ".join(lacking))
    charger = inputs.find("charger.max_A")
    if not paths:
        return charger, 0.0
    free = sum(path["max_A"] for path in paths if "charge_current" not in path.get("obeys", ()))
    return max(sum(path["max_A"] for path in paths), charger or 0.0), float(free)


@dataclass(frozen=True)
class Cells:
    """What the current meets: one cell's limits, how many stand side by side, resistance and its rise."""

    least_degC: float
    allowed: Sequence[Mapping[str, float]]
    parallel: float
    resistance_ohm: float
    activation_J_per_mol: float
    volume_m3: float

    def heat_W_per_m3(self, pack_A: float, temperature_degC: float) -> float:
        """Give the heat that a pack current makes in a cell; the reversible part is neglected."""
        ratio = resistance_ratio(max(temperature_degC, -60.0) + 273.15, self.activation_J_per_mol)
        return (pack_A / self.parallel) ** 2 * self.resistance_ohm * ratio / self.volume_m3


def meeting(inputs: Inputs) -> Cells:
    """Read what the current meets.

    Args:
        inputs: the settings.

    Returns:
        The cells. Without a declared resistance their own heat is left out, and that is noted.

    Raises:
        LackingError: the cell's limits in the cold are not known, or its capacity is not.
    """
    limits = inputs.limits
    least = limits.data.get("charge_degC", {}).get("min")
    allowed = limits.data.get("charge_current")
    lacking = [
        path
        for name, value in (("charge_degC.min", least), ("charge_current", allowed))
        if value is None
        for path in limits.missing.get(name, ())
    ]
    if least is None or allowed is None:
        raise LackingError(tuple(lacking), "not known: how much current the cell bears in the cold")
    resistance = inputs.find("pack.cell.resistance_mohm")
    if resistance is None:
        inputs.note("pack.cell.resistance_mohm = heat of the current left out")
    lengths = inputs.need("pack.cell.height_mm")
    sides = ("diameter_mm", "diameter_mm") if inputs.shape == "cylindrical" else ("thickness_mm", "width_mm")
    lengths += inputs.need(*(f"pack.cell.{side}" for side in sides))
    return Cells(
        least_degC=least,
        allowed=allowed,
        parallel=inputs.assume("pack.parallel", 1.0),
        resistance_ohm=(resistance or 0.0) / 1e3,
        activation_J_per_mol=activation(inputs).value,
        volume_m3=lengths[0] * lengths[1] * lengths[2] * 1e-9,
    )


def charge_on(loop: Loop, current: ChargeCurrent, cells: Cells) -> Passed:
    """Follow the charge current after release.

    Args:
        loop: the run at the instant of release, advanced in place.
        current: what the settings let flow.
        cells: what the current meets.

    Returns:
        The charge (Ah) that passed while the coldest point was below the limit, and while the current
        was above what the cells bear there; the largest excess over that (A, whole pack).
    """
    release, end = loop.release, loop.time_s + FOLLOWED_S
    below = above = excess = 0.0
    charging = True
    while loop.time_s < end - 1.0 and not loop.chatters:
        amount = current_now_A(loop, current) if charging else 0.0
        middle = float(loop.coldest(loop.lagged[None])[0])
        loop.inside_W_per_m3 = cells.heat_W_per_m3(amount, middle)
        segment = loop.segment()
        row_now = float(current.step(_reading(loop, current))[0]) if current.deciding else 0.0

        def margin(
            at: Array, segment: Segment = segment, charging: bool = charging, row_now: float = row_now
        ) -> Array:
            reports = segment.reports(at)
            reading = loop.decided(release.deciding, reports)
            if charging:
                change = release.inhibit_below_degC - reading - REACHED_K
            else:
                change = reading - release.release_above_degC
            if current.deciding is not None:
                row = current.step(loop.decided(current.deciding, reports))
                change = np.maximum(change, np.abs(row - row_now) - 0.5)
            return np.maximum(change, loop.heater_margin(reports, at))

        left = end - loop.time_s
        seconds = first_time(margin, left * COMPARED)
        # At least a second passes, so that settings which contradict each other cannot stop the clock.
        length = left if seconds is None else min(max(seconds, 1.0), left)
        if charging:
            part = _compare(loop, segment.reports(length * COMPARED), length * COMPARED, current, cells)
            below, above, excess = below + part[0], above + part[1], max(excess, part[2])
        loop.go(segment, length)
        reading = loop.reading(release.deciding)
        if charging:
            charging = reading > release.inhibit_below_degC - REACHED_K
        else:
            charging = reading >= release.release_above_degC - REACHED_K
        loop.switch_heater()
    loop.inside_W_per_m3 = 0.0
    return Passed(below / 3600.0, above / 3600.0, excess)


def current_now_A(loop: Loop, current: ChargeCurrent) -> float:
    """Give the current (A, whole pack) that the settings let flow at what the sensors report now."""
    return float(current.at(_reading(loop, current))[0])


def _reading(loop: Loop, current: ChargeCurrent) -> Array:
    """Give the reading that the current goes by now (degC), shape (1,)."""
    chosen = current.deciding or loop.release.deciding
    return loop.decided(chosen, loop.lagged[None])


def _compare(
    loop: Loop, reports: Array, times: Array, current: ChargeCurrent, cells: Cells
) -> tuple[float, float, float]:
    """Compare current and coldest cell over one stretch: charge below, charge above (As), excess (A)."""
    chosen = current.deciding or loop.release.deciding
    # Readings and temperatures are smooth between looks, what flows and what is allowed jumps.
    fine = times[-1] * FINE
    flowing = current.at(np.interp(fine, times, loop.decided(chosen, reports)))
    cold = np.interp(fine, times, loop.coldest(reports))
    over = flowing - allowed_current_A(cells.allowed, cold) * cells.parallel
    step = fine[1] - fine[0]
    return (
        float(flowing[cold < cells.least_degC].sum() * step),
        float(flowing[over > 1e-9].sum() * step),
        float(max(over.max(), 0.0)),
    )
