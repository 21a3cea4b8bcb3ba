"""The blocks of one pack and the places on them, each built once for all runs that need them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.pack import Case, Corner, Pack
from bmslint.facts.sensors import Sensor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bmslint.facts.placing import Place
    from bmslint.physics.conduction import Block
    from bmslint.physics.history import Probe

Lag = Mapping[Side, float]
"""Lag of a sensor for which the file gives none, for each side (s)."""

Kind = TypeVar("Kind")
Key = tuple[int, tuple[Side, ...]]


class Shelf:
    """The blocks of one pack, by the corner that they stand at, with sensors on them, each built once.

    Args:
        corners: corners that are built together with the first that are asked for: one stack of all is
            quicker than a stack for each run.
    """

    def __init__(self, corners: Sequence[Corner] = ()) -> None:
        self._corners = corners
        self._packs: list[Pack] = []
        self._stacks: list[_Stack] = []
        self._read: dict[tuple[Callable[..., Any], tuple[str, ...]], tuple[Any, Inputs]] = {}

    def read(self, inputs: Inputs, how: Callable[..., Kind], *paths: str) -> Kind:
        """Read something of the settings, once for all inputs of one file.

        Args:
            inputs: the settings, of the same file each time; what was assumed is noted in them.
            how: what reads it from inputs.
            paths: what else it is given.

        Returns:
            What was read.

        Raises:
            LackingError: something is not described.
        """
        if (how, paths) not in self._read:
            fresh = Inputs(inputs.data, inputs.limits)
            try:
                self._read[how, paths] = how(fresh, *paths), fresh
            except LackingError as error:
                # Made anew here and below: where it was raised it would keep alive all that was built there.
                self._read[how, paths] = LackingError(error.paths, error.reason), fresh
        found, noted = self._read[how, paths]
        inputs.assumed |= noted.assumed
        inputs.bases |= noted.bases
        if isinstance(found, LackingError):
            raise LackingError(found.paths, found.reason)
        result: Kind = found
        return result

    def block(self, cases: Sequence[Case]) -> "Block":
        """Give a stack of blocks, for every drive that the packs have.

        Args:
            cases: packs that are cut alike, each at a corner.

        Returns:
            A block for each case.
        """
        import numpy as np

        stack, numbers = self._stack(cases)
        block = stack.block.picked(numbers)
        ratios = [
            pack.specific_heat.at(corner.specific_heat) / pack.specific_heat.value for pack, corner in cases
        ]
        return block if set(ratios) == {1.0} else block.varied(np.array(ratios), 0.0)

    def probes(self, cases: Sequence[Case], lags: Sequence[Lag], sensors: Sequence[Sensor]) -> "list[Probe]":
        """Give the probes of sensors; the heat that the cells store does not change them.

        Args:
            cases: packs that are cut alike, each at a corner.
            lags: for each case the lag of a sensor for which the file gives none, for each side (s).
            sensors: the sensors wanted.

        Returns:
            For each sensor a probe in all of the cases.
        """
        import numpy as np

        from bmslint.physics.history import Probe

        stack, numbers = self._stack(cases)
        found = []
        for sensor in sensors:
            seconds = [
                lag[corner.lag] if sensor.lag_s is None else sensor.lag_s
                for lag, (_, corner) in zip(lags, cases, strict=True)
            ]
            place = stack.place(sensor)
            offsets = {name: rise[numbers] for name, rise in place.offsets.items()}
            found.append(Probe(place.row[numbers], offsets, np.array(seconds)))
        return found

    def places(self, cases: Sequence[Case], heated: bool) -> "list[Probe]":
        """Give the probes of places without a sensor.

        Args:
            cases: packs that are cut alike, each at a corner.
            heated: whether film and skin are wanted.

        Returns:
            With a heater the film and the skin under it; then the places where the coldest point may be.
        """
        from bmslint.physics.history import Probe

        stack, numbers = self._stack(cases)
        return [
            Probe(place.row[numbers], {name: rise[numbers] for name, rise in place.offsets.items()}, 0.0)
            for place in (*(stack.heated if heated else ()), *stack.cold)
        ]

    def _stack(self, cases: Sequence[Case]) -> "tuple[_Stack, NDArray[np.int64]]":
        """Give a stack that has all of some cases, and their numbers in it."""
        import numpy as np

        keys = [self._key(case) for case in cases]
        for stack in self._stacks:
            if all(key in stack.numbers for key in keys):
                break
        else:
            first = cases[0][0]
            along = [] if self._stacks else [(first, corner) for corner in self._corners]
            stack = _Stack({self._key(case): case for case in (*cases, *along)})
            self._stacks.append(stack)
        return stack, np.array([stack.numbers[key] for key in keys])

    def _key(self, case: Case) -> Key:
        """Give what a block and the places on it depend on, its heat capacity apart."""
        pack, corner = case
        known = (number for number, kept in enumerate(self._packs) if kept is pack or kept == pack)
        number = next(known, len(self._packs))
        if number == len(self._packs):
            self._packs.append(pack)
        return number, (*_thermal(corner), corner.coupling)


class _Stack:
    """Blocks of several cases, with the places on them that were asked for."""

    def __init__(self, cases: Mapping[Key, Case]) -> None:
        import numpy as np

        from bmslint.facts.blocks import stacked
        from bmslint.facts.placing import Placing

        self.numbers = {key: number for number, key in enumerate(cases)}
        # How close a sensor sits to a film changes no block.
        blocks: dict[Key, Case] = {}
        for (number, sides), (pack, corner) in cases.items():
            blocks.setdefault((number, sides[:-1]), (pack, replace(corner, specific_heat="value")))
        packs = [pack for pack, _ in blocks.values()]
        possible = {
            "inside": True,
            "air": True,
            "floor": any(pack.floor_contact for pack in packs),
            "heater": packs[0].heated_m2 > 0.0,
        }
        built = stacked(tuple(blocks.values()), [name for name, there in possible.items() if there])
        order = list(blocks)
        self.block = built.picked(np.array([order.index((number, sides[:-1])) for number, sides in cases]))
        self.placing = Placing(tuple(cases.values()), self.block)
        self._places: dict[str, Place] = {}

    def place(self, sensor: Sensor) -> "Place":
        """Give the place of a sensor."""
        place = self._places.get(sensor.name)
        if place is None:
            place = self._places[sensor.name] = self.placing.place(sensor)
        return place

    @cached_property
    def heated(self) -> "tuple[Place, Place]":
        """The film and the skin under it."""
        return self.placing.film(), self.placing.skin()

    @cached_property
    def cold(self) -> "list[Place]":
        """Where the coldest point may be."""
        return self.placing.cold_places()


def _thermal(corner: Corner) -> tuple[Side, ...]:
    """Give what a block depends on, its heat capacity apart."""
    return corner.through, corner.along, corner.contact, corner.film_contact, corner.loss
