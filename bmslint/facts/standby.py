"""How long a pack lasts on the shelf before its board and its own losses harm a cell.

Validity: constant draw, self-discharge as at room temperature, all cells alike.
Source: charge is current times time; reserve and self-discharge are defaults with their own sources.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, Property
from bmslint.facts.quantity import Group
from bmslint.facts.single import Single, Triple, cell_off, gather, group_Ah, limit, same, settings, triple
from bmslint.facts.voltage_step import open_circuit
from bmslint.physics.electrical import DAYS_PER_MONTH, H_PER_DAY, charge_at, lasts_days

GROUP = "standby"


def standby(make: Callable[[], Inputs]) -> Group:
    """Derive how long the pack lasts without charging.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `standby`. The board draws the same all the time, also after an under-voltage trip;
        self-discharge is that at room temperature, and less in the cold. The pack begins alike in all cells.
    """
    return gather(make, GROUP, DERIVED)


def _reserve_pct(inputs: Inputs) -> Property:
    """Give what a cell holds above harm when under-voltage trips, in per cent of its capacity.

    Between the cells' lowest discharge voltage and harm lies the default reserve, which counts by the share
    of that span that the trip leaves; above it the open-circuit curve tells.
    """
    (setting,) = settings(inputs, "protection.cell_undervoltage.trip_below_V")
    trip, empty, harm = (
        cell_off(inputs, setting),
        limit(inputs, "discharge_min_V"),
        limit(inputs, "harm_below_V"),
    )
    below, floor = inputs.default("reserve_pct"), max(empty, harm)
    span = floor - harm

    def at(volts: float, reserve: float) -> float:
        share = min(max((volts - harm) / span, 0.0), 1.0) if span > 0.0 else 0.0
        return share * reserve

    low, value, high = at(trip.low, below.low), at(trip.value, below.value), at(trip.high, below.high)
    if trip.value <= floor:
        return Property(low, value, high, "default")
    curve = open_circuit(inputs)

    def more(volts: float) -> float:
        """Give the charge (%) between the lowest discharge voltage and a higher one, at rest."""
        between = charge_at(volts, curve.charge, curve.cell_V) - charge_at(floor, curve.charge, curve.cell_V)
        return 100.0 * max(between, 0.0)

    return Property(
        low + more(trip.low - curve.range_V),
        value + more(trip.value),
        high + more(trip.high + curve.range_V),
        "default",
    )


def _whole_pct(inputs: Inputs) -> Property:
    """Give what a full cell holds above harm, in per cent of its capacity."""
    below = inputs.default("reserve_pct")
    return Property(100.0 + below.low, 100.0 + below.value, 100.0 + below.high, "default")


def _loss_pct_per_day(inputs: Inputs) -> Property:
    """Give what board and self-discharge take in a day, in per cent of the capacity."""
    (draw_mA,) = settings(inputs, "storage.board_draw_mA")
    board = draw_mA / 1e3 * H_PER_DAY / group_Ah(inputs) * 100.0
    own = inputs.default("self_discharge_pct_per_month").scaled(1.0 / DAYS_PER_MONTH)
    return Property(board + own.low, board + own.value, board + own.high, "default")


def _days(inputs: Inputs, held_pct: Property) -> Property:
    """Give how many days a charge (% of capacity) lasts."""
    capacity = group_Ah(inputs)
    (draw_mA,) = settings(inputs, "storage.board_draw_mA")
    own = inputs.default("self_discharge_pct_per_month").scaled(capacity / 100.0 / DAYS_PER_MONTH)
    held = held_pct.scaled(capacity / 100.0)
    return Property(
        lasts_days(held.low, draw_mA / 1e3, own.high),
        lasts_days(held.value, draw_mA / 1e3, own.value),
        lasts_days(held.high, draw_mA / 1e3, own.low),
        "default",
    )


def _from_trip(inputs: Inputs) -> Property:
    return _days(inputs, _reserve_pct(inputs))


def _from_full(inputs: Inputs) -> Property:
    return _days(inputs, _whole_pct(inputs))


def _to_trip(inputs: Inputs) -> Property:
    left, whole = _reserve_pct(inputs), _whole_pct(inputs)
    # The reserve below the lowest discharge voltage is in both, at the same end of its range.
    ends = whole.low - left.low, whole.value - left.value, whole.high - left.high
    held = [max(part, 0.0) for part in ends]
    return _days(inputs, Property(min(held), held[1], max(held), "default"))


def _needed_pct(inputs: Inputs) -> Triple:
    """Derive the state of charge that lasts through storage, beyond the reserve below empty."""
    (days,) = settings(inputs, "storage.days")
    loss, below = _loss_pct_per_day(inputs), inputs.default("reserve_pct")
    return (
        max(loss.low * days - below.high, 0.0),
        max(loss.value * days - below.value, 0.0),
        max(loss.high * days - below.low, 0.0),
    )


def _meets(lasting: Callable[[Inputs], Property]) -> Callable[[Inputs], Triple]:
    def derive(inputs: Inputs) -> Triple:
        (days,) = settings(inputs, "storage.days")
        lasts = lasting(inputs)
        return lasts.low >= days, lasts.value >= days, lasts.high >= days

    return derive


def _per_month(inputs: Inputs) -> Triple:
    return triple(_loss_pct_per_day(inputs).scaled(DAYS_PER_MONTH))


def _board_alone(inputs: Inputs) -> Triple:
    (draw_mA,) = settings(inputs, "storage.board_draw_mA")
    return same(draw_mA / 1e3 * H_PER_DAY * DAYS_PER_MONTH / group_Ah(inputs) * 100.0)


DERIVED = {
    "loss_pct_per_month": Single(_per_month, "high"),
    "board_pct_per_month": Single(_board_alone, "high"),
    "reserve_at_trip_pct": Single(lambda inputs: triple(_reserve_pct(inputs)), "low"),
    "days_from_trip": Single(lambda inputs: triple(_from_trip(inputs)), "low"),
    "days_from_full": Single(lambda inputs: triple(_from_full(inputs)), "low"),
    "days_from_full_to_trip": Single(lambda inputs: triple(_to_trip(inputs)), "low"),
    "charge_needed_pct": Single(_needed_pct, "high"),
    "meets_storage_days": Single(_meets(_from_full), "low"),
    "meets_storage_days_from_trip": Single(_meets(_from_trip), "low"),
}
