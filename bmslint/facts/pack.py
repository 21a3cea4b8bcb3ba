"""The pack as a block for the conduction model, at nominal properties or at a corner of their ranges.

Round cells are spread over the square boxes they stand in: across them the block conducts as their array
in still air does, along them as the share that they fill. A block heated from outside therefore has what
lies between the skin and the axis of a cell inside its conductivity; heat made in the cells lifts their
axes above the block, which is added where such heat matters.

Validity: properties alike in all cells, losses uniform on each face; round cells homogenised.
Source: Perrins, McKenzie and McPhedran for the array, resistances in series for the outside; as in
    `physics.round_cells` and `physics.surfaces`. How finely the block is cut is our own.
"""

from dataclasses import dataclass

from bmslint.facts.inputs import Inputs, LackingError, Property, Side, exact
from bmslint.physics.round_cells import SQUARE_FILL, square_array_W_per_mK
from bmslint.physics.surfaces import radiation_W_per_m2K, series_W_per_m2K

OUTER = {"ends": ("x_low", "x_high"), "sides": ("y_low", "y_high"), "top": ("z_high",), "bottom": ("z_low",)}
"""The faces of the block by the format's names."""

# Still air at 0 degC between round cells (W/(m K), U.S. Standard Atmosphere, 1976), and how well two
# facing sleeves of emissivity 0.9 exchange radiation (1 / (2 / 0.9 - 1)).
STILL_AIR_W_PER_MK, FACING_EMISSIVITY = 0.0244, 0.82


@dataclass(frozen=True)
class Corner:
    """Which end of its range each property takes in one run."""

    name: str
    through: Side = "value"
    along: Side = "value"
    contact: Side = "value"
    specific_heat: Side = "value"
    film_contact: Side = "value"
    power: Side = "value"
    loss: Side = "value"
    coupling: Side = "value"
    lag: Side = "value"
    reading: Side = "value"
    resistance: Side = "value"


NOMINAL = Corner("nominal")


@dataclass(frozen=True)
class Pack:
    """Dimensions and properties of the block, each with its range.

    Lengths in m along x (through the cells), y and z; conductivities in W/(m K), conductances in
    W/(m2 K), resistances in m2 K/W, density in kg/m3, specific heat in J/(kg K). `radius_m` is that of a
    round cell, 0 for others, and `radial` its own radial conductivity, where `through` is the array's.
    """

    counts: tuple[int, int, int]
    lengths_m: tuple[float, float, float]
    through: Property
    along: Property
    contact: Property
    density: Property
    specific_heat: Property
    outer: Property
    insulation_m2K_per_W: float
    underside: Property
    floor_contact: bool
    heated: tuple[str, ...]
    between: bool
    film_contact: Property
    coupling: Property
    radius_m: float
    radial: Property

    @property
    def size_m(self) -> tuple[float, float, float]:
        """Outer dimensions of the block along x, y and z (m)."""
        (a, b, c), (x, y, z) = self.counts, self.lengths_m
        return a * x, b * y, c * z

    @property
    def heated_m2(self) -> float:
        """Area that the heater film covers (m2)."""
        x, y, z = self.size_m
        areas = {"ends": 2 * y * z, "sides": 2 * x * z, "top": x * y, "bottom": x * y}
        return sum(areas[face] for face in self.heated) + self.between * (self.counts[0] - 1) * y * z

    def loss_W_per_m2K(self, face: str, side: Side) -> float:
        """Conductance from a face's surface (or its film) to the outside (W/(m2 K))."""
        if face != "z_low":
            outer = self.outer.at(side)
        else:
            outer = self.underside.at(side)
            if self.floor_contact:
                return outer
        return 1.0 / (1.0 / outer + self.insulation_m2K_per_W)

    def has_film(self, face: str) -> bool:
        """Whether a heater film lies on a face of the block."""
        return any(face in OUTER[name] for name in self.heated)

    def effective_W_per_m2K(self, face: str, corner: Corner) -> float:
        """Conductance from the cell's surface to the outside, through the film where there is one."""
        outward = self.loss_W_per_m2K(face, corner.loss)
        if not self.has_film(face):
            return outward
        return series_W_per_m2K(outward, self.film_W_per_m2K(corner))

    def film_W_per_m2K(self, corner: Corner) -> float:
        """Conductance from the film to the cell (W/(m2 K))."""
        return 1.0 / self.film_contact.at(corner.film_contact)

    def heat_J_per_m3K(self, corner: Corner) -> float:
        """Heat that a volume takes up (J/(m3 K))."""
        return self.density.at(corner.specific_heat) * self.specific_heat.at(corner.specific_heat)


Case = tuple[Pack, Corner]
"""A pack at a corner of its ranges."""


def _dimensions(inputs: Inputs) -> tuple[tuple[float, float, float], float]:
    """Give a cell's box (m) along x, y and z, and the share of it that the cell fills."""
    if inputs.shape == "cylindrical":
        diameter, height = inputs.need("pack.cell.diameter_mm", "pack.cell.height_mm")
        return (diameter / 1e3, diameter / 1e3, height / 1e3), SQUARE_FILL
    sizes = inputs.need("pack.cell.thickness_mm", "pack.cell.width_mm", "pack.cell.height_mm")
    return (sizes[0] / 1e3, sizes[1] / 1e3, sizes[2] / 1e3), 1.0


def _density(inputs: Inputs, box_m3: float) -> Property:
    """Give the density of the box that a cell stands in (kg/m3)."""
    mass = inputs.find("pack.cell.mass_kg")
    if mass is not None:
        return exact(mass / box_m3)
    fill = SQUARE_FILL if inputs.shape == "cylindrical" else 1.0
    return inputs.default("density_kg_per_m3").scaled(fill)


def _outside(inputs: Inputs) -> tuple[Property, float, Property, bool]:
    """Give outer film, insulation resistance, underside, and whether the pack stands on a floor."""
    air, radiation = inputs.default("air_W_per_m2K"), inputs.default("radiation_W_per_m2K")
    outer = Property(
        air.low + radiation.low, air.value + radiation.value, air.high + radiation.high, "default"
    )
    enclosure = inputs.find("pack.enclosure")
    if enclosure is None or enclosure == "none":
        inputs.note("pack.enclosure = bare cells in still air")
        return outer, 0.0, outer, False
    thickness = inputs.assume("pack.enclosure.insulation_mm", 0.0)
    insulation = 0.0
    if thickness > 0.0:
        conductivity = inputs.declared_or_default("pack.enclosure.insulation_W_per_mK", "insulation_W_per_mK")
        insulation = thickness / 1e3 / max(conductivity.value, 1e-6)
    underside = inputs.assume("pack.enclosure.underside", "air_gap")
    if underside == "floor_contact":
        return outer, insulation, inputs.default("floor_contact_W_per_m2K"), True
    if underside == "air_gap":
        return outer, insulation, inputs.default("air_gap_W_per_m2K"), False
    return outer, insulation, outer, False


def _contact(inputs: Inputs) -> Property:
    """Give the resistance between two cells (m2 K/W)."""
    declared = inputs.find("pack.layout.contact_m2K_per_W")
    if declared is not None:
        return exact(declared)
    gap = inputs.assume("pack.layout.gap", "contact")
    return inputs.default(f"contact_{gap}_m2K_per_W")


def _array(inputs: Inputs, radial: Property, radius_m: float) -> Property:
    """Give the conductivity across round cells that stand side by side in still air (W/(m K))."""
    inputs.note("what lies between round cells = still air")
    # The gap between two neighbours is on average what the box is wider than the cell.
    gap_m = 2.0 * radius_m * (1.0 - SQUARE_FILL)
    filling = STILL_AIR_W_PER_MK + gap_m * radiation_W_per_m2K(273.15, FACING_EMISSIVITY)
    low, value, high = (
        square_array_W_per_mK(each, filling) for each in (radial.low, radial.value, radial.high)
    )
    return Property(low, value, high, radial.basis)


def describe(inputs: Inputs) -> Pack:
    """Collect the dimensions and properties of the pack.

    Args:
        inputs: the settings.

    Returns:
        The pack, heater faces included where a heater is described.

    Raises:
        LackingError: dimensions or layout are not described.
    """
    lacking: list[str] = []
    try:
        lengths, fill = _dimensions(inputs)
    except LackingError as error:
        lacking += error.paths
    if inputs.find("pack.layout.stacked") is None:
        lacking.append("pack.layout.stacked")
    if lacking:
        raise LackingError(tuple(lacking), "not described: " + ", ".join(lacking))
    counts = (
        int(inputs.find("pack.layout.stacked")),
        int(inputs.find("pack.layout.rows") or 1),
        int(inputs.find("pack.layout.tiers") or 1),
    )
    outer, insulation, underside, on_floor = _outside(inputs)
    faces = () if inputs.find("heater") in (None, "none") else tuple(inputs.find("heater.faces") or ())
    along = inputs.thermal("along_W_per_mK")
    radial = inputs.thermal("through_W_per_mK")
    radius_m = lengths[0] / 2.0 if inputs.shape == "cylindrical" else 0.0
    return Pack(
        counts=counts,
        lengths_m=lengths,
        through=_array(inputs, radial, radius_m) if radius_m else radial,
        along=along.scaled(fill),
        contact=_contact(inputs),
        density=_density(inputs, lengths[0] * lengths[1] * lengths[2]),
        specific_heat=inputs.thermal("specific_heat_J_per_kgK"),
        outer=outer,
        insulation_m2K_per_W=insulation,
        underside=underside,
        floor_contact=on_floor,
        heated=tuple(face for face in faces if face in OUTER),
        between="between" in faces and counts[0] > 1,
        film_contact=inputs.declared_or_default("heater.contact_m2K_per_W", "film_contact_m2K_per_W"),
        coupling=inputs.default("film_coupling_pct"),
        radius_m=radius_m,
        radial=radial,
    )
