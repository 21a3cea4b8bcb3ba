"""Derives every fact of one pack."""

from collections.abc import Callable, Mapping
from typing import Any

from bmslint.facts.block import block
from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.quantity import Facts, Group
from bmslint.facts.sensing import sensing
from bmslint.facts.steps import charge_steps
from bmslint.facts.warmup import ambient, heated, missing_group
from bmslint.limits import Limits


def derive(data: Mapping[str, Any], limits: Limits) -> Facts:
    """Derive every fact of one pack.

    Args:
        data: the validated settings.
        limits: what the cells may endure.

    Returns:
        The facts; what could not be derived is there as missing, with its reason.
    """

    def make() -> Inputs:
        return Inputs(data, limits)

    return Facts(
        {
            "block": block(make),
            "sensing": sensing(make),
            "charge_steps": _guarded("charge_steps", charge_steps, make()),
            "heated_warmup": _guarded("heated_warmup", heated, make()),
            "ambient_warmup": _guarded("ambient_warmup", ambient, make()),
        }
    )


def _guarded(group: str, run: Callable[[Inputs], Group], inputs: Inputs) -> Group:
    """Run a group whose numbers may be beyond physics: absurd settings give a reason, not a crash."""
    try:
        return run(inputs)
    except (ValueError, ArithmeticError) as error:
        # Named as lacking the pack, so that what could not be computed is never taken as passed.
        return missing_group(group, LackingError(("pack",), f"these settings cannot be computed: {error}"))
