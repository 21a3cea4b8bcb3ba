"""The settings' charge current held against the cell's at one and the same temperature.

Validity: sensors exact, cells evenly warm.
Source: comparison of two step functions; our own.
"""

from math import inf

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import FACT_NAMES, unit_of
from bmslint.facts.quantity import Group, Missing, Quantity
from bmslint.limits import allowed_current_A

# How far below a row's beginning a sloping current is held against the row before (K): finer than any
# sensor resolves, and still a temperature that a person reads.
JUST_BELOW_K = 0.01


def charge_steps(inputs: Inputs) -> Group:
    """Derive where the current that the settings permit exceeds what the cells bear, if anywhere.

    Args:
        inputs: the settings.

    Returns:
        The facts of `charge_steps`, at the temperature where the excess is largest. Sensors count as
        exact and the cells as evenly warm; what differs from that is in the warm-ups.
    """
    from bmslint.facts.charging import charge_current

    try:
        current = charge_current(inputs)
        rows = inputs.limits.data.get("charge_current")
        if rows is None:
            paths = inputs.limits.missing.get("charge_current", ())
            raise LackingError(paths, "not known: how much current the cell bears")
        low, high = _span(inputs, "charge_cold", -inf), _span(inputs, "charge_hot", inf)
        parallel = inputs.assume("pack.parallel", 1.0)
    except LackingError as error:
        return {name: Missing(error.paths, error.reason) for name in FACT_NAMES["charge_steps"]}
    starts = {row["from_degC"] for row in (*rows, *current.steps)}
    if current.linear:
        # What the cells bear jumps where a row begins, what a slope permits is largest just before.
        starts |= {start - JUST_BELOW_K for start in starts}
    places = sorted({max(start, low) for start in starts if start < high})
    inputs.bases.add(inputs.limits.sources["charge_current"].basis)
    worst: tuple[float, float, float, float] | None = None
    for place in places:
        permitted = current.permitted_A(place)
        allowed = allowed_current_A(rows, place) * parallel
        if permitted < inf and (worst is None or permitted - allowed > worst[0] + 1e-9):
            worst = permitted - allowed, place, permitted, allowed
    if worst is None:
        reason = Missing((), "nothing limits the charge current at any temperature")
        return dict.fromkeys(FACT_NAMES["charge_steps"], reason)
    values = {"excess_A": max(worst[0], 0.0), "excess_at_degC": worst[1], "permitted_A": worst[2]}
    values["allowed_A"] = worst[3]
    assumed = tuple(sorted(inputs.assumed))
    return {
        name: Quantity(value, value, value, unit_of("charge_steps", name), inputs.basis, None, assumed)
        for name, value in values.items()
    }


def _span(inputs: Inputs, entry: str, instead: float) -> float:
    """Give the temperature (degC) at which charging is inhibited, or `instead` where it never is."""
    key = "inhibit_below_degC" if entry == "charge_cold" else "inhibit_above_degC"
    found = inputs.find(f"protection.{entry}.{key}")
    return instead if found is None else float(found)
