"""The current that flows after release, and what it means for the coldest cell.

Validity: the cells' own heat is that at their mean temperature, taken anew each time it moves by 2 K; its
    reversible part is neglected.
Source: Joule's law and the Arrhenius equation; the comparison with the coldest point is our own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.resistance import activation
from bmslint.facts.runs import REACHED_K, Flags, Runs
from bmslint.facts.sensors import Deciding, deciding
from bmslint.limits import allowed_current_A
from bmslint.physics.axis import Array
from bmslint.physics.history import FRACTIONS, Left, Margin, Segment
from bmslint.physics.resistance import resistance_ratio

Numbers = NDArray[np.int64]

# How long after release the current is followed (s): by then a pack that is going to even out has.
FOLLOWED_S = 7200.0
# Warming of the cells' mean (K) after which their heat is taken anew, as their resistance has fallen, and the
# least time between (s).
RENEWED_K, RENEWED_S = 2.0, 60.0
# Parts of a stretch within which current and bearable current count as constant, and what leads from the
# evenly spaced times of a stretch to the middles of these parts on straight lines.
FINE = 400
FINER = np.maximum(
    1.0 - np.abs(np.subtract.outer(FRACTIONS, (np.arange(FINE) + 0.5) / FINE)) * (len(FRACTIONS) - 1), 0.0
)


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
        """Give the current (A) at readings (degC), of any shape."""
        if not self.steps:
            return np.full(reading_degC.shape, self.most_A)
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
        """Give the number of the row that applies at readings (degC), of any shape."""
        return np.searchsorted(self._rows[0], reading_degC, side="right").astype(float)

    @cached_property
    def _rows(self) -> tuple[Array, Array]:
        """Where each row begins (degC) and what it permits (A), shape (rows,)."""
        starts = np.array([row["from_degC"] for row in self.steps])
        return starts, np.array([row["max_A"] for row in self.steps])


@dataclass(frozen=True)
class Passed:
    """What passed in the time followed, shape (runs,): below the limit, above the allowed current, excess."""

    below_limit_Ah: Array
    above_allowed_Ah: Array
    excess_A: Array


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


def charge_on(runs: Runs, current: ChargeCurrent, cells: Cells, going: Flags) -> Passed:
    """Follow the charge current after release.

    Args:
        runs: the runs at the instant of release, advanced in place.
        current: what the settings let flow.
        cells: what the current meets.
        going: which of the runs are followed, shape (runs,).

    Returns:
        The charge (Ah) that passed while the coldest point was below the limit, and while the current
        was above what the cells bear there; the largest excess over that (A, whole pack).
    """
    numbers = np.flatnonzero(going)
    part = runs.picked(numbers)
    end, charging = part.time_s + FOLLOWED_S, np.ones(len(numbers), bool)
    compared: list[tuple[Numbers, Array, Array, Array]] = []
    while (going := (part.time_s < end - 1.0) & ~part.chatters).any():
        if 2 * going.sum() <= len(going):
            # The others are done, and would be carried along for nothing.
            runs.put(numbers, part)
            few = np.flatnonzero(going)
            part, numbers, end, charging = part.picked(few), numbers[few], end[few], charging[few]
            going = going[few]
        charging = charging & going
        part.inside_W_per_m3 = _heats_W_per_m3(part, current, cells, charging)
        segment = part.segment()
        left = np.where(going, np.minimum(end - part.time_s, _renewed_s(part, segment)), 0.0)
        looks = Left.evenly(part.probes, 0.0 * left, left)
        found = segment.first(_changes(part, current, charging), looks, part.watched)
        # At least a second passes, so that settings which contradict each other cannot stop the clock.
        length = np.where(found.reached, np.minimum(np.maximum(found.seconds, 1.0), left), left)
        if charging.any():
            reports = segment.reports(Left.evenly(part.probes, 0.0 * length, length))
            readings, cold = part.decided(part.current, reports), part.coldest(reports)
            compared.append((numbers[charging], readings[charging], cold[charging], length[charging]))
        part.go(segment, length, going)
        reading = part.now_degC(part.release)
        inhibit, release = part.inhibit_degC, part.above_degC
        charging = np.where(charging, reading > inhibit - REACHED_K, reading >= release - REACHED_K)
        part.switch_heater(going)
    runs.put(numbers, part)
    return _passed(len(runs.time_s), compared, current, cells)


def _heats_W_per_m3(runs: Runs, current: ChargeCurrent, cells: Cells, charging: Flags) -> Array:
    """Give the heat of the current that flows now, shape (runs,)."""
    amounts = np.where(charging, current_now_A(runs, current), 0.0)
    means = runs.block.mean(runs.state) + runs.start_degC
    pairs = zip(amounts.tolist(), means.tolist(), strict=True)
    return np.array([cells.heat_W_per_m3(amount, degC) for amount, degC in pairs])


def _changes(runs: Runs, current: ChargeCurrent, charging: Flags) -> Margin:
    """Give how close reports are to what changes the current or the heater; zero or more is reached."""
    row_now = current.step(runs.now_degC(runs.current))[:, None] if current.deciding else None

    def margin(reports: Array, seconds: Array) -> Array:
        reading = runs.decided(runs.release, reports)
        inhibits = runs.inhibit_degC[:, None] - reading - REACHED_K
        change = np.where(charging[:, None], inhibits, reading - runs.above_degC[:, None])
        if row_now is not None:
            row = current.step(runs.decided(runs.current, reports))
            change = np.maximum(change, np.abs(row - row_now) - 0.5)
        return runs.heater_margin(change, reports, seconds)

    return margin


def _renewed_s(runs: Runs, segment: Segment) -> Array:
    """Give how long the cells' own heat may be taken as constant (s), shape (runs,)."""
    block = runs.block
    # Warming slows down, so that the speed at the start is on the safe side.
    speed = np.abs((block.mean_row * block.rates * (segment.steady - segment.state)).sum(axis=-1))
    heats = runs.inside_W_per_m3 > 0.0
    wait = RENEWED_K / np.maximum(speed, 1e-12)
    return np.where(heats, np.maximum(wait, RENEWED_S), np.inf)


def current_now_A(runs: Runs, current: ChargeCurrent) -> Array:
    """Give the current (A, whole pack) that the settings let flow at what the sensors report now, (runs,)."""
    return current.at(runs.now_degC(runs.current))


def _passed(
    count: int,
    compared: Sequence[tuple[Numbers, Array, Array, Array]],
    current: ChargeCurrent,
    cells: Cells,
) -> Passed:
    """Compare current and coldest cell over all stretches: run, readings and coldest (degC), length (s)."""
    below, above, excess = (np.zeros(count) for _ in range(3))
    if not compared:
        return Passed(below, above, excess)
    numbers, readings, coldest, lengths = (np.concatenate(each) for each in zip(*compared, strict=True))
    # Readings and temperatures are smooth between looks, what flows and what is allowed jumps.
    flowing, cold = current.at(readings @ FINER), coldest @ FINER
    over = flowing - allowed_current_A(cells.allowed, cold) * cells.parallel
    hours = lengths / FINE / 3600.0
    np.add.at(below, numbers, np.where(cold < cells.least_degC, flowing, 0.0).sum(axis=1) * hours)
    np.add.at(above, numbers, np.where(over > 1e-9, flowing, 0.0).sum(axis=1) * hours)
    np.maximum.at(excess, numbers, over.max(axis=1))
    return Passed(below, above, excess)
