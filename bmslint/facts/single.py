"""Groups whose facts each stand alone: derived one by one, each with its own basis and its own gaps."""

from collections.abc import Callable, Mapping
from typing import Any, Literal, NamedTuple

from bmslint.facts.inputs import Inputs, LackingError, Property, exact
from bmslint.facts.names import unit_of
from bmslint.facts.quantity import Group, Missing, Quantity

# Low, nominal, high; of truth values False counts as lower.
Triple = tuple[float | bool, float | bool, float | bool]
Derive = Callable[[Inputs], Triple]
NONE = "none"


class Single(NamedTuple):
    """How one fact is derived, and which end of its range is unfavourable."""

    derive: Derive
    worse: Literal["low", "high"] | None = None


def gather(make: Callable[[], Inputs], group: str, derived: Mapping[str, Single]) -> Group:
    """Derive the facts of a group one by one.

    Args:
        make: gives fresh inputs for each fact, so that each notes its own basis.
        group: the group's name.
        derived: how each fact is derived, by name.

    Returns:
        The facts; one that lacks something is missing and leaves the others alone.
    """
    facts: dict[str, Quantity | Missing] = {}
    for name, single in derived.items():
        inputs = make()
        try:
            low, value, high = single.derive(inputs)
        except LackingError as error:
            facts[name] = Missing(error.paths, error.reason)
            continue
        facts[name] = Quantity(
            value, low, high, unit_of(group, name), inputs.basis, single.worse, tuple(sorted(inputs.assumed))
        )
    return facts


def settings(inputs: Inputs, *paths: str) -> list[Any]:
    """Look up settings that must be there, and must not be `none`.

    Args:
        inputs: the settings.
        paths: dotted paths.

    Returns:
        Their values.

    Raises:
        LackingError: one or more are absent, and it names them all; or one of them or what it belongs to
            is `none`, so that there is nothing to add.
    """
    found = inputs.need(*paths)
    for path, value in zip(paths, found, strict=True):
        if value == NONE:
            raise LackingError((), f"{path} is none")
    return found


def limit(inputs: Inputs, name: str) -> float:
    """Look up a limit of the cell that is one number.

    Args:
        inputs: the settings.
        name: its name in the limits.

    Returns:
        The limit, in the unit that its name ends in.

    Raises:
        LackingError: it is not known; it names what would give it.
    """
    value = inputs.limits.data.get(name)
    if value is None:
        raise LackingError(inputs.limits.missing.get(name, ()), f"not known: {name} of the cell")
    inputs.bases.add(inputs.limits.sources[name].basis)
    return float(value)


def parallel(inputs: Inputs) -> float:
    """Give how many cells stand side by side; one where the file does not say."""
    return float(inputs.assume("pack.parallel", 1.0))


def group_Ah(inputs: Inputs) -> float:
    """Give the capacity of one group of parallel cells (Ah).

    Args:
        inputs: the settings.

    Returns:
        Capacity of the cell times the number side by side, else that of the pack, which is the same.

    Raises:
        LackingError: neither is described.
    """
    cell = inputs.find("pack.cell.capacity_Ah")
    if cell is not None:
        return float(cell) * parallel(inputs)
    if inputs.find("pack.capacity_Ah") is None:
        raise LackingError(("pack.cell.capacity_Ah",), "not described: pack.cell.capacity_Ah")
    return float(inputs.find("pack.capacity_Ah"))


def same(value: float | bool) -> Triple:
    """Give a value that has no range."""
    return value, value, value


def triple(prop: Property) -> Triple:
    """Give a property's range and value in the order of `Triple`."""
    return prop.low, prop.value, prop.high


def off(setting: float, error: float) -> Property:
    """Give what is true when the board reads a setting, with an error either way in the setting's unit."""
    return Property(max(setting - error, 0.0), setting, setting + error, "declared")


def current_off(inputs: Inputs, setting_A: float) -> Property:
    """Give the true current (A) when the board reads a setting (A), over its measuring error."""
    error = inputs.declared_or_default("protection.measurement.current_pct", "current_error_pct").high
    return off(setting_A, setting_A * error / 100.0)


def cell_off(inputs: Inputs, setting_V: float) -> Property:
    """Give the true cell voltage (V) when the board reads a setting (V), over its measuring error."""
    error = inputs.declared_or_default("protection.measurement.cell_mV", "cell_error_mV").high
    return off(setting_V, error / 1e3)


def pack_off(inputs: Inputs, setting_V: float) -> Property:
    """Give the true pack voltage (V) when the board reads a setting (V), over its measuring error."""
    millivolts = inputs.find("protection.measurement.pack_mV")
    if millivolts is not None:
        return off(setting_V, exact(millivolts).high / 1e3)
    return off(setting_V, setting_V * inputs.default("pack_error_pct").high / 100.0)
