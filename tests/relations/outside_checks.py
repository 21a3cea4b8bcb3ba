"""Which test holds each relation, and against what: the part of the page that a person declares.

A row of `physics_checks.py` or `facts_checks.py` names three kinds. `outside` is only what owes nothing to
this project: exact solutions, handbooks, other libraries, published data, common practice, or a solution
written for the tests with other methods (the sparse network of `tests/physics/volume_block.py` by scipy).
`limit` are cases of which the answer is plain beforehand. Values worked by hand from the same law and laws
that have to hold stand under `otherwise`.
"""

from facts_checks import OF_FACTS
from named_checks import Held
from physics_checks import PHYSICS

HELD: dict[str, Held] = PHYSICS | OF_FACTS
"""By relation, what holds it."""

NO_RELATION = (
    "facts.course", "facts.current_lines", "facts.derive", "facts.electrical_names", "facts.inputs",
    "facts.names", "facts.quantity", "facts.reading", "facts.scene", "facts.section", "facts.shelf",
    "facts.single", "facts.soaked", "facts.thermal_names",
)  # fmt: skip
"""Modules of `bmslint/facts` that name, read, join or hand on, and compute nothing of their own."""

RUN = (
    "physics.conduction.Block", "physics.history.Segment", "physics.history.Segment.first", "facts.pack",
    "facts.blocks", "facts.placing", "facts.sensors",
)  # fmt: skip
WARM = (
    *RUN, "physics.cells.cell_means", "physics.resistance.resistance_ratio",
    "physics.thermistor.reading_line", "facts.runs", "facts.loop", "facts.charging", "facts.warmup",
    "facts.corners",
)  # fmt: skip
LASTING = (
    *RUN, "physics.conduction.Block.varied", "physics.resistance.resistance_ratio",
    "physics.round_cells.radial_rise_K", "facts.joule", "facts.hot", "facts.hot_run",
)  # fmt: skip
GROUPS: dict[str, tuple[str, ...]] = {
    "block": ("facts.block", "facts.pack"),
    "sensing": ("physics.thermistor.true_at_reading", "physics.thermistor.reading_as", "facts.sensing"),
    "charge_steps": ("facts.charging", "facts.steps"),
    "heated_warmup": WARM,
    "ambient_warmup": WARM,
    "inverse": (*WARM, "facts.inverse"),
    "cool_down": (*RUN, "facts.cool_down"),
    "hot_charge": (*LASTING, "facts.charging"),
    "hot_discharge": LASTING,
    "heater_stuck_on": (
        *RUN, "physics.conduction.Block.surface", "facts.stuck",
    ),
    "voltage_step": (
        "physics.voltage.at_rest_V", "physics.voltage.ohmic_V", "physics.voltage.transfer_V",
        "physics.voltage.transfer_A", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.warmup", "facts.voltage_step",
    ),
    "relaxation": (
        "physics.voltage.transfer_V", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.warmup", "facts.relaxation",
    ),
    "overshoot": ("physics.voltage.slope_V", "physics.voltage.moved_V", "facts.overshoot"),
    "standby": ("physics.electrical.lasts_days", "physics.electrical.charge_at", "facts.standby"),
    "balance_time": ("physics.electrical.bleed_h", "facts.balance"),
    "short_circuit": (
        "physics.electrical.prospective_A", "physics.electrical.let_through_A2s",
        "physics.electrical.melting_s", "physics.resistance.resistance_ratio", "facts.resistance",
        "facts.short",
    ),
    "currents": ("facts.currents",),
    "pack_voltage": ("facts.pack_voltage",),
}  # fmt: skip
"""By group of facts, the relations that it rests on."""
