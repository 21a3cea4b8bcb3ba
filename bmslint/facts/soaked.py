"""What the runs of a soaked pack share: sensors on its blocks, and corners joined to ranges."""

from collections.abc import Mapping, Sequence
from math import prod
from typing import TYPE_CHECKING, Literal

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.names import unit_of
from bmslint.facts.pack import Case, Pack, describe
from bmslint.facts.quantity import Group, Missing, Quantity, Value
from bmslint.facts.sensors import Deciding, deciding
from bmslint.facts.shelf import Shelf

if TYPE_CHECKING:
    from bmslint.physics.axis import Array

Result = dict[str, Value | LackingError]
Worse = Literal["low", "high"]

# Multiples of the slowest time constant after which nothing moves any more: exp(-20) is 2e-9.
SETTLED = 20.0


class Watched:
    """The sensors that decide something, in several runs of packs that are cut alike.

    Args:
        cases: the pack of each run, and which end of its range each property takes.
        shelf: gives the blocks and the probes on them.
        lag: lag of a sensor for which the file gives none, for each side (s).
        groups: the sensors that decide; a sensor that stands in several is watched once.
        start_degC: temperature that reports count from (degC).
    """

    def __init__(
        self,
        cases: Sequence[Case],
        shelf: Shelf,
        lag: Mapping[Side, float],
        groups: Sequence[Deciding],
        start_degC: float,
    ) -> None:
        import numpy as np

        from bmslint.facts.reading import Reading

        self.block = shelf.block(cases)
        sensors = {sensor.name: sensor for group in groups for sensor in group.sensors}
        self.probes = shelf.probes(cases, [lag] * len(cases), list(sensors.values()))
        self.columns = {name: number for number, name in enumerate(sensors)}
        sides, start = [corner.reading for _, corner in cases], np.full(len(cases), start_degC)
        self._readings = {
            group.path: Reading([group] * len(cases), sides, self.columns, start) for group in groups
        }

    def decided(self, group: Deciding, rises_K: "Array") -> "Array":
        """Give the reading that decides (degC), shape (runs, times).

        Args:
            group: the sensors and how they are combined, one of the groups given.
            rises_K: temperatures of all that is watched (K above the start), shape (runs, watched, times).

        Returns:
            The reading (degC), with each corner's share of error.
        """
        return self._readings[group.path](rises_K)

    def settled(self, strengths: Mapping[str, "float | Array"]) -> "Array":
        """Give what the sensors settle at under constant drives (K above the start), (runs, sensors)."""
        import numpy as np

        steady = self.block.steady(strengths)
        rises = np.zeros((len(steady), len(self.probes)))
        for number, probe in enumerate(self.probes):
            rises[:, number] = (probe.row * steady).sum(axis=-1)
            for name, rise in probe.offsets.items():
                rises[:, number] += rise * strengths.get(name, 0.0)
        return rises

    def settles_s(self) -> "Array":
        """Give the time after which nothing moves any more (s), shape (runs,)."""
        result: Array = SETTLED / self.block.rates.min(axis=-1)
        return result


def sensors_of(inputs: Inputs, shelf: Shelf, pack: Pack, path: str) -> Deciding:
    """Read which sensors decide an entry, and hold that the pack has their places.

    Args:
        inputs: the settings.
        shelf: keeps what runs of this file share.
        pack: the pack.
        path: the entry, such as `protection.charge_hot`.

    Returns:
        The sensors and how they are combined.

    Raises:
        LackingError: a sensor is not described, or its place does not exist in this pack.
    """
    group = shelf.read(inputs, deciding, path)
    alone = tuple(f"sensors.{each.name}.place" for each in group.sensors if each.place == "between_cells")
    if prod(pack.counts) == 1 and alone:
        raise LackingError(alone, "a pack of one cell has no place between cells")
    return group


def lags(inputs: Inputs) -> dict[Side, float]:
    """Read the lag of a sensor for which the file gives none, for each side (s)."""
    lag = inputs.default("sensor_lag_s")
    return {"low": lag.low, "value": lag.value, "high": lag.high}


def pack_and(inputs: Inputs, shelf: Shelf, *paths: str) -> Pack:
    """Describe the pack, and hold that all else needed is there.

    Args:
        inputs: the settings.
        shelf: keeps what runs of this file share.
        paths: what is needed besides the pack.

    Returns:
        The pack.

    Raises:
        LackingError: something is not described; it names all of it at once.
    """
    lacking: list[str] = []
    try:
        inputs.need(*paths)
    except LackingError as error:
        lacking += error.paths
    try:
        pack = shelf.read(inputs, describe)
    except LackingError as error:
        raise LackingError(
            (*lacking, *error.paths), "not described: " + ", ".join((*lacking, *error.paths))
        ) from None
    if lacking:
        raise LackingError(tuple(lacking), "not described: " + ", ".join(lacking))
    return pack


def ranged(group: str, results: Sequence[Result], worse: Mapping[str, Worse], inputs: Inputs) -> Group:
    """Join the runs at the corners into quantities with ranges.

    Args:
        group: name of the fact group.
        results: what each corner gave, the nominal one first.
        worse: the unfavourable end of each range; none for a fact that has no bad end.
        inputs: the settings, with what was assumed.

    Returns:
        The facts; one that the nominal run does not have is missing.
    """
    facts: dict[str, Quantity | Missing] = {}
    assumed = tuple(sorted(inputs.assumed))
    for name, nominal in results[0].items():
        if isinstance(nominal, LackingError):
            facts[name] = Missing(nominal.paths, nominal.reason)
            continue
        values = [value for result in results if not isinstance(value := result[name], LackingError)]
        facts[name] = Quantity(
            nominal, min(values), max(values), unit_of(group, name), inputs.basis, worse.get(name), assumed
        )
    return facts
