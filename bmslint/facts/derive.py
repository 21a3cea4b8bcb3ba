"""Derives every fact of one pack."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from bmslint.facts.balance import balance_time
from bmslint.facts.block import block
from bmslint.facts.cool_down import CORNERS as COOLING
from bmslint.facts.cool_down import FAVOURABLE as COOLING_FAVOURABLE
from bmslint.facts.cool_down import cool_down
from bmslint.facts.corners import AMBIENT, FAVOURABLE, HEATED
from bmslint.facts.currents import currents
from bmslint.facts.hot import CORNERS as HOT
from bmslint.facts.hot import FAVOURABLE as HOT_FAVOURABLE
from bmslint.facts.hot import hot_charge, hot_discharge
from bmslint.facts.inputs import Inputs
from bmslint.facts.inverse import DERIVED, inverse
from bmslint.facts.overshoot import overshoot
from bmslint.facts.pack_voltage import pack_voltage
from bmslint.facts.quantity import Facts, Group
from bmslint.facts.relaxation import relaxation
from bmslint.facts.sensing import sensing
from bmslint.facts.shelf import Shelf
from bmslint.facts.short import short_circuit
from bmslint.facts.standby import standby
from bmslint.facts.steps import charge_steps
from bmslint.facts.stuck import CORNERS as STUCK
from bmslint.facts.stuck import FAVOURABLE as STUCK_FAVOURABLE
from bmslint.facts.stuck import heater_stuck_on
from bmslint.facts.voltage_step import voltage_step
from bmslint.facts.warmup import cannot, missing_group, warm_ups
from bmslint.limits import Limits

# Corners whose blocks are built together: those of a judgement, and those of the whole ranges.
JUDGED = (*HEATED, *AMBIENT, *COOLING, *HOT, *STUCK)
EVERY = (*JUDGED, *FAVOURABLE, *COOLING_FAVOURABLE, *HOT_FAVOURABLE, *STUCK_FAVOURABLE)


def derive(data: Mapping[str, Any], limits: Limits, whole: bool = False) -> Facts:
    """Derive every fact of one pack.

    Args:
        data: the validated settings.
        limits: what the cells may endure.
        whole: whether the favourable ends of the warm-ups' ranges are wanted too; a judgement rests on
            the nominal values and the unfavourable ends, which are the same without.

    Returns:
        The facts; what could not be derived is there as missing, with its reason.
    """

    def make() -> Inputs:
        return Inputs(data, limits)

    shelf = Shelf(EVERY if whole else JUDGED)
    warmed = warm_ups(make, whole, shelf)
    warm, brought_in = warmed["heated_warmup"], warmed["ambient_warmup"]
    groups: dict[str, Group] = {
        "block": block(make),
        "sensing": sensing(make),
        "charge_steps": _guarded("charge_steps", charge_steps, make()),
        "heated_warmup": warm,
        "ambient_warmup": brought_in,
        "cool_down": _guarded("cool_down", partial(cool_down, shelf=shelf, whole=whole), make()),
        "hot_charge": _guarded("hot_charge", partial(hot_charge, shelf=shelf, whole=whole), make()),
        "hot_discharge": _guarded("hot_discharge", partial(hot_discharge, shelf=shelf, whole=whole), make()),
        "heater_stuck_on": _guarded(
            "heater_stuck_on", partial(heater_stuck_on, shelf=shelf, whole=whole), make()
        ),
        "voltage_step": _guarded(
            "voltage_step", partial(voltage_step, heated=warm, ambient=brought_in), make()
        ),
        "relaxation": _guarded("relaxation", lambda _: relaxation(make, warm, brought_in), make()),
        "overshoot": _guarded("overshoot", lambda _: overshoot(make), make()),
        "standby": _guarded("standby", lambda _: standby(make), make()),
        "balance_time": _guarded("balance_time", lambda _: balance_time(make), make()),
        "short_circuit": _guarded("short_circuit", lambda _: short_circuit(make), make()),
        "currents": _guarded("currents", lambda _: currents(make), make()),
        "pack_voltage": _guarded("pack_voltage", lambda _: pack_voltage(make), make()),
    }
    facts = Facts(groups, {f"inverse.{name}": partial(inverse, make(), name) for name in DERIVED})
    return facts.with_later(facts.later) if whole else facts


def _guarded(group: str, run: Callable[[Inputs], Group], inputs: Inputs) -> Group:
    """Run a group whose numbers may be beyond physics: absurd settings give a reason, not a crash."""
    try:
        return run(inputs)
    except (ValueError, ArithmeticError) as error:
        return missing_group(group, cannot(error))
