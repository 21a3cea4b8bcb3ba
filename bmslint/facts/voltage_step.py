"""The voltage of cold cells at the instant at which charging begins.

Validity: a cell at rest before, seconds after the current began; one open-circuit curve for all cells.
Source: Butler and Volmer, and Ohm at the upper end, as in `physics.voltage`; curves have their own source.
"""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Literal, NamedTuple

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import unit_of
from bmslint.facts.quantity import Group, Missing, Quantity
from bmslint.facts.resistance import Resistance, cell_resistance, kelvin, note_law
from bmslint.facts.warmup import missing_group
from bmslint.limits import OpenCircuit, load_open_circuit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bmslint.physics.conduction import Array

    Flags = NDArray[np.bool_]

GROUP = "voltage_step"
# States of charge that are looked at (%), and those that have facts of their own.
CHARGE_PCT = range(0, 101, 2)
MIDDLE_PCT = 50
STATES = {"half_charged": MIDDLE_PCT, "nearly_full": 90}

NEEDED = (
    "coldest_cell_at_release_degC",
    "hottest_cell_at_release_degC",
    "mean_at_release_degC",
    "current_at_release_A",
)


def open_circuit(inputs: Inputs) -> OpenCircuit:
    """Give the open-circuit curve of the pack's chemistry, and note how well it is known.

    Args:
        inputs: the settings.

    Returns:
        The curve.

    Raises:
        LackingError: this chemistry has none.
    """
    curve = load_open_circuit(str(inputs.data["pack"]["chemistry"]))
    if curve is None:
        raise LackingError(
            ("pack.chemistry",), "no one open-circuit curve holds for the kinds of this chemistry"
        )
    inputs.bases.add("chemistry table")
    if curve.how == "unverified":
        inputs.note(f"open-circuit curve ({curve.title})")
    return curve


class Start(NamedTuple):
    """The pack as charging begins, at every combination of the ends of what is known only with a range.

    Current (A) of one cell, voltage (V) of the coldest cell, of the hottest and of the pack; arrays broadcast
    to (states of charge, temperatures, activations, currents, curves, laws). Along each axis but the first,
    the first entry is the nominal one.
    """

    current_A: "Array"
    coldest_V: "Array"
    hottest_V: "Array"
    pack_V: "Array"


def start_of_charge(inputs: Inputs, release: Mapping[str, Quantity]) -> Start:
    """Compute every cell voltage as charging begins.

    Args:
        inputs: the settings.
        release: the warm-up's facts named in `NEEDED`.

    Returns:
        The voltages, at every per cent of charge; the pack's is that of cells at their mean temperature.

    Raises:
        LackingError: resistance, series count or open-circuit curve is not known.
    """
    import numpy as np

    from bmslint.physics.voltage import at_rest_V, ohmic_V, transfer_A, transfer_V

    resistance, curve = cell_resistance(inputs), open_circuit(inputs)
    note_law(inputs)
    series = inputs.need("pack.series")[0]
    bulk_V = inputs.find("charger.bulk_V")
    (coldest, hottest, mean), kelvins = _resistances(resistance, release)
    pushed = release["current_at_release_A"]
    current = np.array([pushed.value, pushed.low, pushed.high], float)[:, None]
    current = current / inputs.assume("pack.parallel", 1.0)
    shift = np.array([0.0, -curve.range_V, curve.range_V])
    rest = at_rest_V(np.array(CHARGE_PCT) / 100.0, curve.charge, curve.cell_V)
    rest = rest[:, None, None, None, None] + shift
    transfer = ohmic = np.broadcast_to(current, rest.shape[:1] + coldest.shape[:2] + (3, 3))
    if bulk_V is not None:
        # The charger holds its voltage, and the pack takes what then still flows.
        transfer = np.clip(transfer_A(bulk_V / series - rest, mean, kelvins[2]), 0.0, current)
        ohmic = np.clip((bulk_V / series - rest) / mean, 0.0, current)

    def both(ohms: "Array", warmth_K: "Array") -> "Array":
        return np.stack((rest + transfer_V(transfer, ohms, warmth_K), rest + ohmic_V(ohmic, ohms)), axis=-1)

    return Start(
        current_A=np.stack((transfer, ohmic), axis=-1),
        coldest_V=both(coldest, kelvins[0]),
        hottest_V=both(hottest, kelvins[1]),
        pack_V=series * both(mean, kelvins[2]),
    )


def _temperatures(release: Mapping[str, Quantity]) -> list[list[float]]:
    """Give nominal, coldest, hottest and widest spread of the coldest, hottest and mean cell (degC)."""
    coldest, hottest, mean = (release[name] for name in NEEDED[:3])
    return [
        [float(coldest.value), float(coldest.low), float(coldest.high), float(coldest.low)],
        [float(hottest.value), float(hottest.low), float(hottest.high), float(hottest.high)],
        [float(mean.value), float(mean.low), float(mean.high), float(mean.value)],
    ]


def _resistances(
    resistance: Resistance, release: Mapping[str, Quantity]
) -> "tuple[list[Array], list[Array]]":
    """Give resistance (ohm) and temperature (K) of the coldest, hottest and mean cell.

    Shapes (temperatures, activations, 1, 1) and (temperatures, 1, 1, 1).
    """
    import numpy as np

    energy = resistance.activation_J_per_mol
    energies = (energy.value, energy.low, energy.high)
    places = _temperatures(release)
    ohms = [np.array([[resistance.at(degC, joule) for joule in energies] for degC in row]) for row in places]
    kelvins = [np.array([kelvin(degC) for degC in row]) for row in places]
    return [row[:, :, None, None] for row in ohms], [row[:, None, None, None] for row in kelvins]


def voltage_step(inputs: Inputs, heated: Group, ambient: Group) -> Group:
    """Derive the voltage of cold cells as charging begins.

    Args:
        inputs: the settings.
        heated: the facts of `heated_warmup`.
        ambient: the facts of `ambient_warmup`, which count for a pack without a heater.

    Returns:
        The facts of `voltage_step`, by the 10 s resistance, taken as charge transfer, and at the upper end as
        ohmic: the reversible change of the voltage at rest with temperature (some 0.1 mV/K) is neglected, and
        the cells of a parallel group share alike.
    """
    run = "ambient_warmup" if inputs.find("heater") == "none" else "heated_warmup"
    try:
        release = _release(inputs, ambient if run == "ambient_warmup" else heated)
        start = start_of_charge(inputs, release)
    except LackingError as error:
        return missing_group(GROUP, error)
    make = Maker(inputs.basis, tuple(sorted(inputs.assumed)))
    facts: dict[str, Quantity | Missing] = {
        "run": Quantity(run, run, run, "", make.basis, None, make.assumed),
        "current_A": release["current_at_release_A"],
        "coldest_cell_degC": release["coldest_cell_at_release_degC"],
        "hottest_cell_degC": release["hottest_cell_at_release_degC"],
    }
    lead = 1e3 * (start.coldest_V - start.hottest_V)
    facts["coldest_above_hottest_mV"] = make("coldest_above_hottest_mV", lead[CHARGE_PCT.index(MIDDLE_PCT)])
    for state, percent in STATES.items():
        at = CHARGE_PCT.index(percent)
        facts[f"{state}_coldest_V"] = make(f"{state}_coldest_V", start.coldest_V[at])
        facts[f"{state}_hottest_V"] = make(f"{state}_hottest_V", start.hottest_V[at], None)
        facts[f"{state}_pack_V"] = make(f"{state}_pack_V", start.pack_V[at])
    for judge, name, first in JUDGED:
        try:
            holds = judge(inputs, start)
        except LackingError as error:
            missing = Missing(error.paths, error.reason)
            facts.update(dict.fromkeys((*(f"{state}_{name}" for state in STATES), first), missing))
            continue
        for state, percent in STATES.items():
            facts[f"{state}_{name}"] = make(f"{state}_{name}", holds[CHARGE_PCT.index(percent)])
        facts[first] = make(first, _first(holds), "low")
    return facts


class Maker(NamedTuple):
    """Makes quantities from arrays whose first entry is the nominal one."""

    basis: str
    assumed: tuple[str, ...]

    def __call__(
        self, name: str, values: "Array | Flags", worse: Literal["low", "high"] | None = "high"
    ) -> Quantity:
        """Give the quantity over all combinations."""
        nominal, low, high = values.flat[0].item(), values.min().item(), values.max().item()
        return Quantity(nominal, low, high, unit_of(GROUP, name), self.basis, worse, self.assumed)


def _release(inputs: Inputs, group: Group) -> dict[str, Quantity]:
    """Take over from a warm-up what the step needs; all that lacks is named at once."""
    found = {name: item for name in NEEDED if isinstance(item := group[name], Quantity)}
    lacking = [item for name in NEEDED if isinstance(item := group[name], Missing)]
    if lacking:
        paths = [path for item in lacking for path in item.paths]
        if inputs.find("pack.cell.resistance_mohm") is None and paths:
            paths.append("pack.cell.resistance_mohm")
        raise LackingError(tuple(dict.fromkeys(paths)), lacking[0].reason)
    for item in found.values():
        inputs.bases.add(item.basis)
        inputs.assumed.update(item.assumed)
    return found


def _first(holds: "Flags") -> "Array":
    """Give the lowest state of charge (%) at which something holds; 100 where it does not below that."""
    import numpy as np

    first = np.array(CHARGE_PCT, float)[holds.argmax(axis=0)]
    result: Array = np.where(holds.any(axis=0), first, 100.0)
    return result


def _trips(inputs: Inputs, start: Start) -> "Flags":
    """Tell where a cell or the pack is above its over-voltage trip."""
    cell, pack = inputs.need("protection.cell_overvoltage", "protection.pack_overvoltage")
    if cell == "none" and pack == "none":
        raise LackingError((), "there is no over-voltage protection that could trip")
    result: Flags = start.coldest_V > float("inf")
    for entry, name, volts in ((cell, "cell", start.coldest_V), (pack, "pack", start.pack_V)):
        if entry != "none":
            (trip,) = inputs.need(f"protection.{name}_overvoltage.trip_above_V")
            result = result | (volts > trip)
    return result


def _full(inputs: Inputs, start: Start) -> "Flags":
    """Tell where the board takes the step for a full pack: coldest cell above, current below the tail."""
    above, sets_full = inputs.need("full_charge.cell_above_V", "full_charge.sets_full")
    tail = inputs.find("full_charge.tail_below_A")
    result: Flags = (start.coldest_V > above) & bool(sets_full)
    if tail is not None:
        result = result & (start.current_A < tail / inputs.assume("pack.parallel", 1.0))
    return result


JUDGED: tuple[tuple["Callable[[Inputs, Start], Flags]", str, str], ...] = (
    (_trips, "trips_overvoltage", "trips_from_charge_pct"),
    (_full, "taken_for_full", "full_from_charge_pct"),
)
"""What is asked of every state of charge: its facts' ending, and the fact where it begins to hold."""
