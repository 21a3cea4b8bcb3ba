"""The blocks of one pack and the probes on them, each built once for all runs that need them."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from bmslint.facts.inputs import Side
from bmslint.facts.pack import Corner, Pack
from bmslint.facts.sensors import Placing, Sensor

if TYPE_CHECKING:
    from bmslint.physics.conduction import Block
    from bmslint.physics.history import Probe


class Shelf:
    """The blocks of one pack by the corner that they stand at, with sensors on them, each built once."""

    def __init__(self) -> None:
        self._packs: list[Pack] = []
        self._blocks: dict[tuple[int, tuple[Side, ...]], Block] = {}
        self._probes: dict[tuple[int, tuple[Side, ...], str], Probe] = {}
        self._places: dict[tuple[int, tuple[Side, ...], bool], list[Probe]] = {}

    def number(self, pack: Pack) -> int:
        """Give the number that a pack is kept under; the same for equal packs."""
        for number, kept in enumerate(self._packs):
            if kept is pack or kept == pack:
                return number
        self._packs.append(pack)
        return len(self._packs) - 1

    def block(self, pack: Pack, corner: Corner) -> "Block":
        """Give the block of a pack at a corner, for every drive that the pack has."""
        block = self._built(pack, corner)
        ratio = pack.specific_heat.at(corner.specific_heat) / pack.specific_heat.value
        return block if ratio == 1.0 else block.varied(ratio, 0.0)

    def probe(self, pack: Pack, corner: Corner, lag: Mapping[Side, float], sensor: Sensor) -> "Probe":
        """Give the probe of a sensor; the heat that the cells store does not change it."""
        key = self.number(pack), (*_thermal(corner), corner.lag, corner.coupling), sensor.name
        probe = self._probes.get(key)
        if probe is None:
            placing = Placing(pack, self._built(pack, corner), corner, lag)
            probe = self._probes[key] = placing.probe(sensor)
        return probe

    def places(self, pack: Pack, corner: Corner, lag: Mapping[Side, float], heated: bool) -> "list[Probe]":
        """Give the probes of places without a sensor.

        Args:
            pack: the pack.
            corner: which end of its range each property takes.
            lag: lag of a sensor for which the file gives none, for each side (s).
            heated: whether film and skin are wanted.

        Returns:
            With a heater the film and the skin under it; then the places where the coldest point may be.
        """
        key = self.number(pack), (*_thermal(corner), corner.coupling), heated
        found = self._places.get(key)
        if found is None:
            placing = Placing(pack, self._built(pack, corner), corner, lag)
            found = [placing.film(), placing.skin()] if heated else []
            found = self._places[key] = found + placing.cold_places()
        return found

    def _built(self, pack: Pack, corner: Corner) -> "Block":
        key = self.number(pack), _thermal(corner)
        block = self._blocks.get(key)
        if block is None:
            possible = {
                "inside": True,
                "air": True,
                "floor": pack.floor_contact,
                "heater": pack.heated_m2 > 0.0,
            }
            drives = tuple(name for name, there in possible.items() if there)
            block = self._blocks[key] = pack.block(replace(corner, specific_heat="value"), drives)
        return block


def _thermal(corner: Corner) -> tuple[Side, ...]:
    """Give what a block depends on, its heat capacity apart."""
    return corner.through, corner.along, corner.contact, corner.film_contact, corner.loss
