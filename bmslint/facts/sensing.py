"""What each threshold means at the sensor: curve, accuracy and resolution taken off the setting.

Validity: accuracy and one step of resolution add up in the unfavourable direction.
Source: the beta equation of IEC 60539-1, as in `physics.thermistor`; how errors add up is our own.
"""

from collections.abc import Callable

from bmslint.facts.inputs import Inputs, LackingError
from bmslint.facts.names import THRESHOLDS, unit_of
from bmslint.facts.quantity import Group, Missing, Quantity, rounded_up
from bmslint.facts.sensors import deciding


def sensing(make: Callable[[], Inputs]) -> Group:
    """Derive the true temperature behind each threshold, and the error of the curve there.

    Args:
        make: gives fresh inputs for each threshold, so that each notes its own basis.

    Returns:
        The facts of `sensing`. Of several sensors the one counts that lets the pack go furthest: the
        coldest true temperature for a cold threshold, the hottest for a hot one.
    """
    facts: dict[str, Quantity | Missing] = {}
    errors: list[Quantity] = []
    for name, (path, key) in THRESHOLDS.items():
        true, error = f"{name}_true_degC", f"{name}_error_K"
        inputs = make()
        try:
            facts[true], facts[error] = _threshold(inputs, name, path, key)
        except LackingError as lacking:
            facts[true] = facts[error] = Missing(lacking.paths, lacking.reason)
            continue
        except ValueError:
            reason = f"the thermistor's curves give no temperature for a reading of {path}.{key}"
            facts[true] = facts[error] = Missing((f"{path}.sensors",), reason)
            continue
        errors.append(facts[error])  # type: ignore[arg-type]
    if errors:
        worst = max(errors, key=lambda item: abs(float(item.value)))
        size = abs(float(worst.value))
        facts["curve_error_K"] = Quantity(size, size, size, "K", worst.basis, "high", worst.assumed)
    else:
        paths = tuple(sorted({path for item in facts.values() for path in getattr(item, "paths", ())}))
        facts["curve_error_K"] = Missing(paths, "no threshold with a sensor is described")
    facts["safe_inhibit_degC"] = _safe_inhibit(make())
    return facts


def _safe_inhibit(inputs: Inputs) -> Quantity | Missing:
    """Derive the lowest charge inhibit at which no deciding sensor is below the cells' limit."""
    try:
        if inputs.find("protection.charge_cold") == "none":
            raise LackingError((), "protection.charge_cold is none")
        least = inputs.limits.data.get("charge_degC", {}).get("min")
        if least is None:
            raise LackingError(
                inputs.limits.missing.get("charge_degC.min", ()), "not known: the lowest charge temperature"
            )
        group = deciding(inputs, "protection.charge_cold")
        inputs.bases.add(inputs.limits.sources["charge_degC.min"].basis)
        low, value, high = (
            rounded_up(max(sensor.reading_degC(least, side) for sensor in group.sensors), 0.5)
            for side in ("low", "value", "high")
        )
    except LackingError as lacking:
        return Missing(lacking.paths, lacking.reason)
    except ValueError:
        reason = "the thermistor's curves give no reading at the lowest charge temperature"
        return Missing(("protection.charge_cold.sensors",), reason)
    assumed = tuple(sorted(inputs.assumed))
    return Quantity(value, low, high, "degC", inputs.basis, "high", assumed)


def _threshold(inputs: Inputs, name: str, path: str, key: str) -> tuple[Quantity, Quantity]:
    """Derive one threshold's true temperature with range, and the curve's error."""
    if inputs.find(path) == "none":
        raise LackingError((), f"{path} is none")
    (setting,) = inputs.need(f"{path}.{key}")
    group = deciding(inputs, path)
    cold = "cold" in name
    pick = min if cold else max
    nominal = pick(sensor.true_degC(setting, "value") for sensor in group.sensors)
    low = min(sensor.true_degC(setting, "high") for sensor in group.sensors)
    high = max(sensor.true_degC(setting, "low") for sensor in group.sensors)
    assumed = tuple(sorted(inputs.assumed))
    error = setting - nominal
    return (
        Quantity(
            nominal, low, high, unit_of("sensing", f"{name}_true_degC"), inputs.basis,
            "low" if cold else "high", assumed,
        ),
        Quantity(error, error, error, "K", "declared", None),
    )  # fmt: skip
