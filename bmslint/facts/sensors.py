"""What a sensor reads: where it sits in the block, its curve, its accuracy and its resolution.

Validity: a sensor too small to change what it measures; on a face it reads the middle of the face.
Source: first-order lag and resistances in series; where between cell and film a sensor reads is a default.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.pack import OUTER, Corner, Pack
from bmslint.physics.thermistor import reading_as, reading_line, true_at_reading

if TYPE_CHECKING:
    from bmslint.physics.conduction import Array, Block
    from bmslint.physics.history import Probe

ZERO_K = 273.15


@dataclass(frozen=True)
class Sensor:
    """One sensor of the settings, with what it needs to be read.

    Args:
        name: its key under `sensors`.
        place: where it sits, in the format's words.
        face: the outer face it is on, for the places on a face.
        position: `middle` or `outer`, for a sensor between cells.
        cell: number of the cell whose terminal it is on, from 1; 0 is the middle one.
        curve: fitted r25 (ohm) and beta (K), then the ones it is read with; None where it is read right.
        accuracy_K: accuracy of sensor and board.
        resolution_K: step of the reading; 0 is none.
        lag_s: time constant; None takes the default.
        coupling_pct: between the cell's face (0) and the film (100); None takes the default.
    """

    name: str
    place: str
    face: str
    position: str
    cell: int
    curve: tuple[float, float, float, float] | None
    accuracy_K: float
    resolution_K: float
    lag_s: float | None
    coupling_pct: float | None

    def offset_K(self, side: Side) -> float:
        """Give how far the reading may be off: rounding comes on top of the accuracy."""
        return {"low": -1.0, "value": 0.0, "high": 1.0}[side] * (self.accuracy_K + self.resolution_K)

    def read(self, true_degC: "Array", side: Side) -> "Array":
        """Give the reading (degC) for temperatures of the sensor (degC), any shape."""
        if self.line is None:
            return true_degC + self.offset_K(side)
        intercept, slope = self.line
        inverse = intercept + slope / (true_degC + ZERO_K)
        if inverse.min() <= 0.0:
            raise ValueError(f"the curve that sensor {self.name} is read with has no such temperature")
        return 1.0 / inverse - ZERO_K + self.offset_K(side)

    @cached_property
    def line(self) -> tuple[float, float] | None:
        """The line between inverse reading and inverse temperature; None where it is read right."""
        return None if self.curve is None else reading_line(*self.curve)

    def reading_degC(self, true_degC: float, side: Side) -> float:
        """Give the reading (degC) at one temperature of the sensor (degC)."""
        shown = true_degC
        if self.curve is not None:
            shown = reading_as(true_degC + ZERO_K, *self.curve) - ZERO_K
        return shown + self.offset_K(side)

    def true_degC(self, reading_degC: float, side: Side) -> float:
        """Give the temperature of the sensor (degC) at which it shows a reading (degC)."""
        shown = reading_degC - self.offset_K(side)
        if self.curve is None:
            return shown
        return true_at_reading(shown + ZERO_K, *self.curve) - ZERO_K


@dataclass(frozen=True)
class Deciding:
    """The sensors that decide an entry of the settings, and how their readings are combined."""

    path: str
    sensors: tuple[Sensor, ...]
    by: str

    def read(self, true_degC: "Array", side: Side) -> "Array":
        """Read and combine temperatures of the sensors (degC), shape (times, sensors), to (times,)."""
        if len(self.sensors) == 1:
            return self.sensors[0].read(true_degC[:, 0], side)
        readings = true_degC + self.offsets_K[side]
        for number, sensor in enumerate(self.sensors):
            if sensor.curve is not None:
                readings[:, number] = sensor.read(true_degC[:, number], side)
        if self.by == "mean":
            result: Array = readings.mean(axis=1)
        else:
            result = readings.min(axis=1) if self.by == "lowest" else readings.max(axis=1)
        return result

    @cached_property
    def offsets_K(self) -> dict[Side, list[float]]:
        """How far each reading may be off, for the nominal case and both ends (K)."""
        sides: tuple[Side, ...] = ("low", "value", "high")
        return {side: [sensor.offset_K(side) for sensor in self.sensors] for side in sides}

    @cached_property
    def names(self) -> str:
        """The sensors' names, for a message."""
        return ", ".join(sensor.name for sensor in self.sensors)


def sensor(inputs: Inputs, name: str) -> Sensor:
    """Read one sensor from the settings.

    Args:
        inputs: the settings.
        name: its key under `sensors`.

    Returns:
        The sensor.

    Raises:
        LackingError: it is not described, or its place is not.
    """
    (place,) = inputs.need(f"sensors.{name}.place")
    entry: Mapping[str, Any] = inputs.find(f"sensors.{name}")
    heated = [face for face in (inputs.find("heater.faces") or ()) if face in OUTER]
    heated = [] if inputs.find("heater") in (None, "none") else heated
    accuracy = entry.get("accuracy_K")
    return Sensor(
        name=name,
        place=place,
        face=entry.get("face") or (heated[0] if heated and place == "heated_face" else "ends"),
        position=entry.get("position", "middle"),
        cell=int(entry.get("cell", 0)),
        curve=_curve(inputs, name),
        accuracy_K=inputs.default("sensor_accuracy_K").value if accuracy is None else accuracy,
        resolution_K=entry.get("resolution_K", 0.0),
        lag_s=entry.get("lag_s"),
        coupling_pct=entry.get("film_coupling_pct"),
    )


def _curve(inputs: Inputs, name: str) -> tuple[float, float, float, float] | None:
    """Read how a sensor's curve and the one it is read with differ; None where it is read with its own."""
    if inputs.find(f"sensors.{name}.read_as") is None:
        return None
    parts = [
        f"sensors.{name}.{curve}.{key}"
        for curve in ("thermistor", "read_as")
        for key in ("r25_ohm", "beta_K")
    ]
    fitted_ohm, fitted_K, read_ohm, read_K = inputs.need(*parts)
    return fitted_ohm, fitted_K, read_ohm, read_K


def deciding(inputs: Inputs, path: str) -> Deciding:
    """Read which sensors decide an entry of the settings.

    Args:
        inputs: the settings.
        path: the entry, such as `protection.charge_cold`.

    Returns:
        The sensors and how they are combined.

    Raises:
        LackingError: the entry names no sensors, or one that is not described, or several and not which
            of their readings decides: any choice would be the kind one for some settings.
    """
    (names,) = inputs.need(f"{path}.sensors")
    unknown = tuple(f"sensors.{name}" for name in names if inputs.find(f"sensors.{name}") is None)
    if unknown or not names:
        raise LackingError(unknown or (f"{path}.sensors",), "not described: " + ", ".join(unknown or (path,)))
    by = "lowest" if len(set(names)) == 1 else inputs.need(f"{path}.decided_by")[0]
    return Deciding(path, tuple(sensor(inputs, name) for name in names), by)


class Placing:
    """Turns places of the format into probes of one block at one corner."""

    def __init__(self, pack: Pack, block: "Block", corner: Corner, lag: Mapping[Side, float]) -> None:
        self.pack = pack
        self.block = block
        self.corner = corner
        self.lag = lag
        # Film, skin and sensors meet on the same faces.
        self._faces: dict[tuple[str, tuple[float, float] | None], tuple[Array, dict[str, float]]] = {}

    def probe(self, sensor: Sensor) -> "Probe":
        """Give the probe of a sensor; its offsets are in K for each drive at unit strength."""
        lag = self.lag[self.corner.lag] if sensor.lag_s is None else sensor.lag_s
        row, offsets = self._place(sensor)
        return self._make(row, offsets, lag)

    def film(self) -> "Probe":
        """Give the probe of the film's own temperature, in the middle of the face where it is hottest."""
        return self._make(*self._hottest(lambda face: self._film(face, 1.0)), 0.0)

    def skin(self) -> "Probe":
        """Give the probe of the cell's surface under the film, where that is hottest."""
        return self._make(*self._hottest(lambda face: self._surface(face, None)), 0.0)

    def _hottest(
        self, place: "Callable[[str], tuple[Array, dict[str, float]]]"
    ) -> "tuple[Array, dict[str, float]]":
        """Give the place, of one on each heated face and between the cells, that a heater warms most."""
        places = [place(face) for name in self.pack.heated for face in OUTER[name] if not self._twin(face)]
        if self.pack.between or not places:
            places.append(self._between("middle"))
        steady = self.block.steady({"heater": 1.0})
        return max(places, key=lambda it: float(it[0] @ steady) + it[1].get("heater", 0.0))

    def _twin(self, face: str) -> bool:
        """Whether a face is the mirror image of the one at the other end, which then stands for both."""
        from bmslint.physics.conduction import FACES

        number, high = divmod(FACES.index(face), 2)
        return bool(high) and self.block.alike[number]

    def cold_places(self) -> "list[Probe]":
        """Give probes where the coldest point may be.

        The coldest point lies, along each axis, at an end, in the middle of the block or in the middle
        of its innermost cell; along z, where top and bottom are not alike, it may lie between those.
        """
        import numpy as np

        x, y, z = self.block.axes
        inner = int(np.abs(x.middles_m - (x.cells // 2 + 0.5) * x.length_m).argmin())
        upwards = {0, z.count // 2}
        if not self.block.alike[2]:
            upwards |= {z.count // 4, 3 * z.count // 4, z.count - 1}
        rows = self.block.points(
            (sorted({0, x.count // 2, inner}), sorted({0, y.count // 2}), sorted(upwards))
        )
        return [self._make(row, {}, 0.0) for row in rows]

    @staticmethod
    def _make(row: "Array", offsets: Mapping[str, float], lag_s: float) -> "Probe":
        from bmslint.physics.history import Probe

        return Probe(row, offsets, lag_s)

    def _place(self, sensor: Sensor) -> "tuple[Array, dict[str, float]]":
        if sensor.place in ("ambient", "board"):
            return self.block.rest(), {"air": 1.0}
        if sensor.place == "between_cells":
            return self._between(sensor.position)
        if sensor.place in ("terminal", "busbar"):
            return self._surface("z_high", self._above(sensor.cell))
        face = OUTER[sensor.face][0]
        if sensor.place == "case":
            return self._case(face)
        if sensor.place == "heated_face" and self.pack.has_film(face):
            known = sensor.coupling_pct
            percent = self.pack.coupling.at(self.corner.coupling) if known is None else known
            return self._film(face, percent / 100.0)
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

    def _weights(self, place: Sequence[float]) -> "tuple[Array, Array, Array]":
        x, y, z = (axis.weights(at) for axis, at in zip(self.block.axes, place, strict=True))
        return x, y, z

    def _between(self, position: str) -> "tuple[Array, dict[str, float]]":
        place = self._middle()
        if position == "outer" and self.pack.counts[0] > 1:
            place[0] = self.pack.lengths_m[0]
        offsets: dict[str, float] = {}
        if self.pack.between:
            # A film in a gap stands above both neighbours by its half flux over the way to each.
            axis = self.block.axes[0]
            way = 1.0 / axis.halves_W_per_m2K[axis.count // 2] + axis.contact_m2K_per_W / 2.0
            offsets["heater"] = 0.5 * way
        return self.block.probe([self._weights(place)])[0], offsets

    def _surface(self, face: str, above: tuple[float, float] | None) -> "tuple[Array, dict[str, float]]":
        """Give the surface at the middle of a face, or above one cell, from the volume behind it."""
        key = face, above
        if key not in self._faces:
            self._faces[key] = self._on_face(face, above)
        return self._faces[key]

    def _on_face(self, face: str, above: tuple[float, float] | None) -> "tuple[Array, dict[str, float]]":
        from bmslint.physics.conduction import FACES

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
        weights = [weight.copy() for weight in self._weights(place)]
        weights[number] *= half / total
        row = self.block.probe([(weights[0], weights[1], weights[2])])[0]
        offsets = {
            name: flux / total
            for name in ("heater", "air", "floor")
            if (flux := self.pack.drive(name, face, self.corner)) > 0.0
        }
        return row, offsets

    def _film(self, face: str, share: float) -> "tuple[Array, dict[str, float]]":
        """Give a point between the cell's surface (share 0) and the film (share 1)."""
        row, offsets = self._surface(face, None)
        to_cell = self.pack.film_W_per_m2K(self.corner)
        outward = self.pack.loss_W_per_m2K(face, self.corner.loss)
        total = to_cell + outward
        gain = 1.0 - share + share * to_cell / total
        own = {"heater": share / total, "air": share * outward / total}
        names = offsets.keys() | own.keys()
        return row * gain, {
            name: offsets.get(name, 0.0) * gain + own.get(name, 0.0) for name in sorted(names)
        }

    def _case(self, face: str) -> "tuple[Array, dict[str, float]]":
        """Give the outside of the insulation over a face."""
        row, offsets = self._film(face, 1.0) if self.pack.has_film(face) else self._surface(face, None)
        beyond = self.pack.underside if face == "z_low" else self.pack.outer
        ratio = self.pack.loss_W_per_m2K(face, self.corner.loss) / beyond.at(self.corner.loss)
        scaled = {name: value * ratio for name, value in offsets.items()}
        scaled["air"] = scaled.get("air", 0.0) + 1.0 - ratio
        return row * ratio, scaled
