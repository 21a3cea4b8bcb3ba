"""What a sensor reads: its curve, its accuracy and its resolution.

Validity: accuracy and resolution both to their ends, on the side that is asked for.
Source: the beta equation as in `physics.thermistor`; that rounding comes on top of the accuracy is our own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.pack import OUTER
from bmslint.physics.thermistor import reading_as, reading_line, true_at_reading

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
