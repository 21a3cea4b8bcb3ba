"""Cuts through the block of cells at one instant: temperatures, cells, heater films and sensors, in mm.

Round cells are drawn in the square boxes that they stand in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from bmslint.facts.pack import OUTER, Pack
from bmslint.facts.sensors import Sensor

if TYPE_CHECKING:
    from bmslint.physics.conduction import Array, Block

AxisName = Literal["x", "y", "z"]
AXES: tuple[AxisName, AxisName, AxisName] = ("x", "y", "z")

Box = tuple[float, float, float, float]
"""Left, low, right and high edge (mm)."""


@dataclass(frozen=True)
class Spot:
    """A sensor as a section shows it.

    Args:
        name: its key under `sensors`.
        place: where it sits, in the format's words.
        across_mm: where it stands along the section's first axis.
        up_mm: where it stands along the second.
        away_mm: how far it is from the plane of the cut; 0 lies on it.
    """

    name: str
    place: str
    across_mm: float
    up_mm: float
    away_mm: float


@dataclass(frozen=True)
class Section:
    """A cut through the block.

    Args:
        across: the axis that runs to the right; x is the stack, through the cells' thickness.
        up: the axis that runs upwards: y is along the cells' width, z along their height.
        normal: the third axis.
        at_mm: where the cut lies along it.
        across_edges_mm: edges of the volumes to the right, one more than there are columns.
        up_edges_mm: edges of the volumes upwards, one more than there are rows.
        degC: temperatures by row and column, the lowest row first.
        cells: the cells' boxes, by row and then column of cells.
        films: heater films, each a line as a box without width or height.
        spots: sensors that lie on or in the block.
        coldest_mm: where on the cut it is coldest, across and up.
        hottest_mm: where it is hottest.
    """

    across: AxisName
    up: AxisName
    normal: AxisName
    at_mm: float
    across_edges_mm: tuple[float, ...]
    up_edges_mm: tuple[float, ...]
    degC: tuple[tuple[float, ...], ...]
    cells: tuple[Box, ...]
    films: tuple[Box, ...]
    spots: tuple[Spot, ...]
    coldest_mm: tuple[float, float]
    hottest_mm: tuple[float, float]


def sections(
    pack: Pack, block: "Block", state: "Array", sensors: Sequence[Sensor], start_degC: float
) -> tuple[Section, ...]:
    """Cut the block through its coldest point.

    Args:
        pack: the pack's dimensions and faces.
        block: the conduction model.
        state: modal amplitudes (K), shape (modes,).
        sensors: the sensors to show.
        start_degC: temperature that the state counts from (degC).

    Returns:
        A cut across stack and width, seen from above, then one across stack and height, seen from the side.
    """
    import numpy as np

    field = block.full_field(state) + start_degC
    coldest = np.unravel_index(int(field.argmin()), field.shape)
    return tuple(_section(pack, block, field, sensors, up, int(coldest[3 - up])) for up in (1, 2))


def _section(
    pack: Pack, block: "Block", field: "Array", sensors: Sequence[Sensor], up: int, volume: int
) -> Section:
    import numpy as np

    normal = 3 - up
    plane = np.take(field, volume, axis=normal)
    middles = [axis.middles_m * 1e3 for axis in block.axes]
    at_mm = float(middles[normal][volume])

    def spot(flat: int) -> tuple[float, float]:
        across, along = np.unravel_index(flat, plane.shape)
        return float(middles[0][across]), float(middles[up][along])

    return Section(
        across="x",
        up=AXES[up],
        normal=AXES[normal],
        at_mm=at_mm,
        across_edges_mm=_edges_mm(block, 0),
        up_edges_mm=_edges_mm(block, up),
        degC=tuple(tuple(row) for row in plane.T.tolist()),
        cells=_cells(pack, up),
        films=_films(pack, up),
        spots=_spots(pack, sensors, up, at_mm),
        coldest_mm=spot(int(plane.argmin())),
        hottest_mm=spot(int(plane.argmax())),
    )


def _edges_mm(block: "Block", number: int) -> tuple[float, ...]:
    import numpy as np

    edges = np.concatenate(([0.0], np.cumsum(block.axes[number].steps_m))) * 1e3
    return tuple(edges.tolist())


def _cells(pack: Pack, up: int) -> tuple[Box, ...]:
    x, y = pack.lengths_m[0] * 1e3, pack.lengths_m[up] * 1e3
    return tuple(
        (column * x, row * y, (column + 1) * x, (row + 1) * y)
        for row in range(pack.counts[up])
        for column in range(pack.counts[0])
    )


def _films(pack: Pack, up: int) -> tuple[Box, ...]:
    """Give the films that a cut meets."""
    width, height = pack.size_m[0] * 1e3, pack.size_m[up] * 1e3
    lines: dict[str, Box] = {
        "x_low": (0.0, 0.0, 0.0, height),
        "x_high": (width, 0.0, width, height),
        f"{AXES[up]}_low": (0.0, 0.0, width, 0.0),
        f"{AXES[up]}_high": (0.0, height, width, height),
    }
    films = [lines[face] for name in pack.heated for face in OUTER[name] if face in lines]
    if pack.between:
        cell = pack.lengths_m[0] * 1e3
        films += [(n * cell, 0.0, n * cell, height) for n in range(1, pack.counts[0])]
    return tuple(films)


def _spots(pack: Pack, sensors: Sequence[Sensor], up: int, at_mm: float) -> tuple[Spot, ...]:
    spots = []
    for sensor in sensors:
        place = place_m(pack, sensor)
        if place is not None:
            away = abs(place[3 - up] * 1e3 - at_mm)
            spots.append(Spot(sensor.name, sensor.place, place[0] * 1e3, place[up] * 1e3, away))
    return tuple(spots)


def place_m(pack: Pack, sensor: Sensor) -> tuple[float, float, float] | None:
    """Give where a sensor stands in the block.

    Args:
        pack: the pack's dimensions and faces.
        sensor: the sensor.

    Returns:
        Distance from the block's low corner along x, y and z (m), as `sensors.Placing` reads it; None for
        one that does not touch the block.
    """
    if sensor.place in ("ambient", "board"):
        return None
    counts, lengths, size = pack.counts, pack.lengths_m, pack.size_m
    inner = [(count // 2 + 0.5) * length for count, length in zip(counts, lengths, strict=True)]
    across = next((number for number in range(3) if counts[number] > 1), 0)
    inner[across] = counts[across] // 2 * lengths[across]
    between = sensor.place == "heated_face" and pack.between and not pack.has_film(OUTER[sensor.face][0])
    if sensor.place == "between_cells" or between:
        if sensor.position == "outer" and counts[0] > 1 and not between:
            inner[0] = lengths[0]
        return inner[0], inner[1], inner[2]
    if sensor.place in ("terminal", "busbar"):
        number = counts[0] // 2 + counts[1] // 2 * counts[0] if sensor.cell == 0 else sensor.cell - 1
        along, beside = number % counts[0], number // counts[0] % counts[1]
        return (along + 0.5) * lengths[0], (beside + 0.5) * lengths[1], size[2]
    name, end = OUTER[sensor.face][0].split("_")
    axis = AXES.index(name)
    if axis != 0:
        inner[0] = size[0] / 2.0
    inner[axis] = size[axis] if end == "high" else 0.0
    return inner[0], inner[1], inner[2]
