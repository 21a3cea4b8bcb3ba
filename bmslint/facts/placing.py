"""Where sensors sit: places of the format turned into rows over the modes of blocks.

Everything is done for several cases at once, a pack at a corner each, and the cases are the first axis of
every array.

Validity: a sensor too small to change what it measures; on a face it reads the middle of the face.
Source: resistances in series; where between cell and film a sensor reads is a default.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bmslint.facts.blocks import film_W_per_m2K, outside
from bmslint.facts.pack import OUTER, Case
from bmslint.facts.sensors import Sensor
from bmslint.physics.axis import Array
from bmslint.physics.conduction import FACES, Block


@dataclass(frozen=True)
class Place:
    """A place in each of the cases.

    Args:
        row: weights over the blocks' modes, shape (cases, modes).
        offsets: rise of the place itself by each named drive at unit strength (K), shape (cases,).
    """

    row: Array
    offsets: Mapping[str, Array]

    def warmed(self, steady: Array, name: str) -> Array:
        """Give how warm a drive at unit strength makes it in the end (K), shape (cases,)."""
        warmth: Array = (self.row * steady).sum(axis=-1) + self.offsets.get(name, 0.0)
        return warmth


class Placing:
    """Turns places of the format into places of a stack of blocks.

    Args:
        cases: packs that are cut alike, each at a corner.
        block: their stack.
    """

    def __init__(self, cases: Sequence[Case], block: Block) -> None:
        self.cases = cases
        self.pack = cases[0][0]
        self.block = block
        self._outside = outside(cases)
        # Film, skin and sensors meet on the same faces.
        self._faces: dict[tuple[str, tuple[float, float] | None], Place] = {}

    def film(self) -> Place:
        """Give the film itself, in the middle of the face where it is hottest."""
        return self._hottest(lambda face: self._film(face, np.ones(len(self.cases))))

    def skin(self) -> Place:
        """Give the cell's surface under the film, where that is hottest."""
        return self._hottest(lambda face: self._surface(face, None))

    def _hottest(self, place: Callable[[str], Place]) -> Place:
        """Give the place, of one on each heated face and between the cells, that a heater warms most."""
        places = [place(face) for name in self.pack.heated for face in OUTER[name] if not self._twin(face)]
        if self.pack.between or not places:
            places.append(self._between("middle"))
        if len(places) == 1:
            return places[0]
        steady = self.block.steady({"heater": 1.0})
        best = np.argmax([each.warmed(steady, "heater") for each in places], axis=0)
        every = np.arange(len(best))
        names = {name for each in places for name in each.offsets}
        none = np.zeros(len(best))
        return Place(
            np.stack([each.row for each in places])[best, every],
            {
                name: np.stack([each.offsets.get(name, none) for each in places])[best, every]
                for name in sorted(names)
            },
        )

    def _twin(self, face: str) -> bool:
        """Whether a face is the mirror image of the one at the other end, which then stands for both."""
        number, high = divmod(FACES.index(face), 2)
        return bool(high) and self.block.alike[number]

    def cold_places(self) -> list[Place]:
        """Give places where the coldest point may be.

        The coldest point lies, along each axis, at an end, in the middle of the block or in the middle
        of its innermost cell; along z, where top and bottom are not alike, it may lie between those.
        """
        x, y, z = self.block.axes
        inner = int(np.abs(x.middles_m - (x.cells // 2 + 0.5) * x.length_m).argmin())
        upwards = {0, z.count // 2}
        if not self.block.alike[2]:
            upwards |= {z.count // 4, 3 * z.count // 4, z.count - 1}
        rows = self.block.points(
            (sorted({0, x.count // 2, inner}), sorted({0, y.count // 2}), sorted(upwards))
        )
        return [Place(rows[:, number], {}) for number in range(rows.shape[1])]

    def place(self, sensor: Sensor) -> Place:
        """Give the place of a sensor."""
        if sensor.place in ("ambient", "board"):
            return Place(self.block.rest(), {"air": np.ones(len(self.cases))})
        if sensor.place == "between_cells":
            return self._between(sensor.position)
        if sensor.place in ("terminal", "busbar"):
            return self._surface("z_high", self._above(sensor.cell))
        face = OUTER[sensor.face][0]
        if sensor.place == "case":
            return self._case(face)
        if sensor.place == "heated_face" and self.pack.has_film(face):
            known = sensor.coupling_pct
            percent = [
                pack.coupling.at(corner.coupling) if known is None else known for pack, corner in self.cases
            ]
            return self._film(face, np.array(percent) / 100.0)
        if sensor.place == "heated_face" and self.pack.between:
            return self._between("middle")
        return self._surface(face, None)

    def _middle(self) -> list[float]:
        """Give the middle of the face between the innermost cells (m).

        That face lies across x; where cells stand only beside or above each other, across y or z.
        """
        counts, lengths = self.pack.counts, self.pack.lengths_m
        across = next((number for number in range(3) if counts[number] > 1), 0)
        return [
            (counts[number] // 2 + (0.0 if number == across else 0.5)) * lengths[number]
            for number in range(3)
        ]

    def _above(self, cell: int) -> tuple[float, float]:
        """Give where a cell's terminal is, x and y (m)."""
        counts, lengths = self.pack.counts, self.pack.lengths_m
        number = (counts[0] // 2 + (counts[1] // 2) * counts[0]) if cell == 0 else cell - 1
        along, across = number % counts[0], (number // counts[0]) % counts[1]
        return (along + 0.5) * lengths[0], (across + 0.5) * lengths[1]

    def _row(self, place: Sequence[float]) -> Array:
        """Give the row that reads a point of the block, x, y and z (m)."""
        x, y, z = (axis.weights(at) for axis, at in zip(self.block.axes, place, strict=True))
        row: Array = self.block.probe([(x, y, z)])[:, 0]
        return row

    def _between(self, position: str) -> Place:
        place = self._middle()
        if position == "outer" and self.pack.counts[0] > 1:
            place[0] = self.pack.lengths_m[0]
        offsets: dict[str, Array] = {}
        if self.pack.between:
            # A film in a gap stands above both neighbours by its half flux over the way to each.
            axis = self.block.axes[0]
            way = 1.0 / axis.halves_W_per_m2K[:, axis.count // 2] + axis.contact_m2K_per_W / 2.0
            offsets["heater"] = 0.5 * way
        return Place(self._row(place), offsets)

    def _surface(self, face: str, above: tuple[float, float] | None) -> Place:
        """Give the surface at the middle of a face, or above one cell, from the volume behind it."""
        key = face, above
        if key not in self._faces:
            self._faces[key] = self._on_face(face, above)
        return self._faces[key]

    def _on_face(self, face: str, above: tuple[float, float] | None) -> Place:
        number, high = divmod(FACES.index(face), 2)
        place = self._middle()
        if above is not None:
            place[0], place[1] = above
        elif number != 0:
            place[0] = self.pack.size_m[0] / 2.0
        place[number] = self.pack.size_m[number] if high else 0.0
        axis = self.block.axes[number]
        half = axis.half_W_per_m2K
        total = half + axis.conductance_W_per_m2K(bool(high))
        offsets = {name: flux / total for name, flux in self._outside[face].drives.items()}
        return Place(self._row(place) * (half / total)[:, None], offsets)

    def _film(self, face: str, share: Array) -> Place:
        """Give a point between the cell's surface (share 0) and the film (share 1), shape (cases,)."""
        surface = self._surface(face, None)
        to_cell, outward = film_W_per_m2K(self.cases), self._outside[face].loss_W_per_m2K
        total = to_cell + outward
        gain = 1.0 - share + share * to_cell / total
        own = {"heater": share / total, "air": share * outward / total}
        names = surface.offsets.keys() | own.keys()
        return Place(
            surface.row * gain[:, None],
            {name: surface.offsets.get(name, 0.0) * gain + own.get(name, 0.0) for name in sorted(names)},
        )

    def _case(self, face: str) -> Place:
        """Give the outside of the insulation over a face."""
        inner = (
            self._film(face, np.ones(len(self.cases)))
            if self.pack.has_film(face)
            else self._surface(face, None)
        )
        outermost = [
            (pack.underside if face == "z_low" else pack.outer).at(corner.loss) for pack, corner in self.cases
        ]
        ratio = self._outside[face].loss_W_per_m2K / np.array(outermost)
        scaled = {name: value * ratio for name, value in inner.offsets.items()}
        scaled["air"] = scaled.get("air", 0.0) + 1.0 - ratio
        return Place(inner.row * ratio[:, None], scaled)
