"""How long the bleed takes to bring unequal cells together.

Validity: the imbalance that a person would expect, not one measured; as `bleed_h`.
Source: charge is current times time; the imbalance is a default with its own source.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.quantity import Group
from bmslint.facts.single import Single, Triple, gather, group_Ah, same, settings, triple
from bmslint.physics.electrical import bleed_h

GROUP = "balance_time"


def balance_time(make: Callable[[], Inputs]) -> Group:
    """Derive the hours of bleeding that an imbalance takes.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.

    Returns:
        The facts of `balance_time`. They count hours of bleeding: how many of them a day has depends on how
        the pack is used, which the settings do not tell.
    """
    return gather(make, GROUP, DERIVED)


def _bleed_A(inputs: Inputs) -> float:
    """Give the bleed current (A), more than nothing."""
    (milliamperes,) = settings(inputs, "balancing.current_mA")
    if milliamperes <= 0.0:
        raise LackingError((), "balancing.current_mA is 0: nothing is ever bled")
    return float(milliamperes) / 1e3


def _hours(inputs: Inputs) -> Triple:
    surplus, bleed = inputs.default("imbalance_pct").scaled(group_Ah(inputs) / 100.0), _bleed_A(inputs)
    return bleed_h(surplus.low, bleed), bleed_h(surplus.value, bleed), bleed_h(surplus.high, bleed)


def _pct_per_h(inputs: Inputs) -> Triple:
    return same(100.0 * _bleed_A(inputs) / group_Ah(inputs))


DERIVED = {
    "imbalance_pct": Single(lambda inputs: triple(inputs.default("imbalance_pct")), "high"),
    "balance_hours": Single(_hours, "high"),
    "balance_pct_per_h": Single(_pct_per_h, "low"),
}
