"""Changes worth trying against one finding; whether they help is for the rules to say.

What describes the pack, its surroundings, its charger's and load's currents and what the cells bear is not
for a person at the settings to change, and is never tried.

Source: how thresholds, sensors, heaters and current steps are set in the trade (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from math import ceil, floor, log10
from typing import TYPE_CHECKING, Any

from bmslint.judge.paths import Nothing, walk
from bmslint.judge.suggest import candidates
from bmslint.limits import allowed_current_A

if TYPE_CHECKING:
    from bmslint.judge.finding import Change, Finding
    from bmslint.judge.judgement import Judgement

Move = Mapping[str, object]
"""New values by path, tried together."""

SETTABLE = re.compile(
    r"protection\.(?!measurement)|charge_current\.|balancing\.|full_charge\."
    r"|heater\.(on_below|off_above|max_on|cutout|stop_below|power)"
    r"|charger\.(bulk_V|float_V|cold_compensation)"
)
"""Numbers that may be set otherwise."""

OF_A_PART = re.compile(
    r"heater\.(power_W|cutout_degC|faces|tolerance)|sensors\.[^.]+\.(place|position|face)|pack\.|charger\."
)
"""Settings that stand for a part of the pack or for another device: to change them is work on these."""

MOVED_SENSOR = re.compile(r"sensors\.[^.]+\.(place|position|face)")

STEPS = {"degC": 0.5, "K": 0.5, "V": 0.01, "mV": 1.0, "A": 1.0, "W": 1.0, "s": 10.0, "min": 10.0, "pct": 1.0}
"""Steps in which a person sets a number, by the unit at the end of its key."""

MARGINS_K = (0.0, 3.0, 6.0, 10.0, 15.0)
"""How much colder than the reading the cells are taken to be where current steps are lowered."""


def moves(finding: Finding, judgement: Judgement) -> Iterator[Iterator[Move]]:
    """Give changes that may remove a finding, by kind.

    Args:
        finding: a finding of the file.
        judgement: what the rules said of the file.

    Yields:
        Changes of one kind, of which the first that helps will do, the smallest first; one may be no usable
        settings at all.
    """
    data = judgement.inputs.data
    about = {finding.path, *(place.path for place in finding.related)}
    if any(path.startswith("sensors") for path in about):
        yield _curves(data)
    yield _fahrenheit(finding.path, data)
    spoken = next((each for each in judgement.spoken if each.finding == finding), None)
    for change in candidates(judgement, spoken) if spoken is not None else ():
        yield _known_to_the_rule(change, data)
    yield _to_the_limit(finding, data)
    if any(path.startswith(("charge_current", "charge_paths")) for path in about):
        yield _obeys(data)
        yield _lower_steps(judgement)
    if any(path.startswith(("protection.charge_cold", "sensors", "heater.sensors")) for path in about):
        yield from ((each for each in [move]) for move in _sensors(data))
    if any(path.startswith("heater") for path in about):
        yield from (_heats_longer(data), _other_power(data))


def _known_to_the_rule(change: Change, data: dict[str, Any]) -> Iterator[Move]:
    """Give what the rule itself suggests, a number first in a step that a person would set."""
    was, to = walk(data, change.set), change.to
    if isinstance(was, float) and isinstance(to, float):
        yield from _with_its_partner(data, change.set, _set(change.set, was, to, 0.0))
    yield {change.set: to}


def _to_the_limit(finding: Finding, data: dict[str, Any]) -> Iterator[Move]:
    """Set the number that is to blame to its limit, and a step or two further."""
    path, value, limit = finding.path, finding.value, finding.limit
    was = walk(data, path)
    if not SETTABLE.match(path) or not isinstance(was, float):
        return
    if not isinstance(value, float) or not isinstance(limit, float) or value == limit:
        return
    wanted = [was + limit - value]
    if value not in (was, 0.0):
        wanted.append(was * limit / value)
    for target in wanted:
        for further in (0.0, 1.0, 3.0):
            yield from _with_its_partner(data, path, _set(path, was, target, further))


def _set(path: str, was: float, target: float, further: float) -> float:
    """Round a number away from what it was, to steps that a person sets, and some steps further."""
    unit = path.rpartition("_")[2]
    step = STEPS.get(unit, 1.0)
    if unit in ("A", "W", "s", "min") and target:
        step = min(step, 10.0 ** floor(log10(abs(target))) / 10.0)
    away = 1.0 if target > was else -1.0
    first = (ceil if away > 0.0 else floor)(round(target / step, 6))
    return round((first + away * further) * step, 6)


PARTNERS = {
    "trip_above_V": "release_below_V", "trip_below_V": "release_above_V",
    "inhibit_below_degC": "release_above_degC", "inhibit_above_degC": "release_below_degC",
    "on_below_degC": "off_above_degC",
}  # fmt: skip
"""What is set together with a threshold, as far from it as before."""


def _with_its_partner(data: dict[str, Any], path: str, to: float) -> Iterator[Move]:
    """Change a threshold alone, then with the one that ends what it began."""
    yield {path: to}
    section, _, key = path.rpartition(".")
    other = f"{section}.{PARTNERS.get(key)}"
    was, partner = walk(data, path), walk(data, other)
    if isinstance(was, float) and isinstance(partner, float):
        yield {path: to, other: round(partner + to - was, 6)}


def _obeys(data: dict[str, Any]) -> Iterator[Move]:
    """Let a charge path obey what any other obeys, and the cold inhibit and current steps anyway."""
    paths = data.get("charge_paths", [])
    known = {name for path in paths for name in path.get("obeys", ())}
    needed = ("charge_cold", "charge_hot", "charge_current", "cell_overvoltage")
    wanted = (*needed, *sorted(known.difference(needed)))
    move = {
        f"charge_paths[{number}].obeys": list(dict.fromkeys((*path["obeys"], *wanted)))
        for number, path in enumerate(paths)
        if "obeys" in path and not set(wanted) <= set(path["obeys"])
    }
    if move:
        yield move


def _fahrenheit(path: str, data: dict[str, Any]) -> Iterator[Move]:
    """Read the thresholds of a protection function as degrees Fahrenheit."""
    section = path.rpartition(".")[0]
    thresholds = walk(data, section) if section.startswith("protection.") else None
    if isinstance(thresholds, dict) and path.endswith("_degC"):
        yield {
            f"{section}.{key}": round((value - 32.0) / 1.8 * 2.0) / 2.0
            for key, value in thresholds.items()
            if key.endswith("_degC")
        }


def _curves(data: dict[str, Any]) -> Iterator[Move]:
    """Read every thermistor with its own curve."""
    move: dict[str, object] = {}
    for name, sensor in data.get("sensors", {}).items():
        own, read_as = sensor.get("thermistor", {}), sensor.get("read_as", {})
        move |= {
            f"sensors.{name}.read_as.{key}": own[key] for key in own if read_as.get(key, own[key]) != own[key]
        }
    if move:
        yield move


def _lower_steps(judgement: Judgement) -> Iterator[Move]:
    """Lower each current step to what the cell bears when it is colder than the reading."""
    data, limits = judgement.inputs.data, judgement.inputs.limits.data
    steps, rows = walk(data, "charge_current.steps"), limits.get("charge_current")
    if isinstance(steps, Nothing) or not rows:
        return
    parallel = data["pack"].get("parallel", 1.0)
    for margin in MARGINS_K:
        lowered = {}
        for number, step in enumerate(steps):
            borne = allowed_current_A(rows, step["from_degC"] - margin) * parallel
            if borne < step["max_A"]:
                lowered[f"charge_current.steps[{number}].max_A"] = float(floor(borne))
        if lowered:
            yield lowered


def _heats_longer(data: dict[str, Any]) -> Iterator[Move]:
    """Let the heater run on until the release is reached, end it at a cut-out, or give it more time."""
    heater = data.get("heater")
    if not isinstance(heater, dict):
        return
    if heater.get("cutout_degC") == "none":
        yield {"heater.cutout_degC": 60.0}
    release = walk(data, "protection.charge_cold.release_above_degC")
    on, off = heater.get("on_below_degC"), heater.get("off_above_degC")
    if isinstance(release, float) and isinstance(off, float) and isinstance(on, float):
        for above in (3.0, 6.0):
            if off < release + above:
                higher = {"heater.off_above_degC": release + above}
                yield higher
                yield {**higher, "heater.on_below_degC": max(on, release)}
    if isinstance(longest := heater.get("max_on_min"), float):
        yield {"heater.max_on_min": 2.0 * longest}
        yield {"heater.max_on_min": 4.0 * longest}


def _other_power(data: dict[str, Any]) -> Iterator[Move]:
    """Give the heater another power."""
    power = walk(data, "heater.power_W")
    if isinstance(power, float):
        for part in (1.5, 2.5, 0.5):
            yield {"heater.power_W": round(power * part, 1)}


def _sensors(data: dict[str, Any]) -> Iterator[Move]:
    """Let another sensor decide about cold charging, or put the one that does between the cells."""
    cold, sensors = walk(data, "protection.charge_cold"), data.get("sensors")
    if not isinstance(cold, dict) or not isinstance(sensors, dict) or "sensors" not in cold:
        return
    names = list(cold["sensors"])

    def deciding(chosen: list[str]) -> dict[str, object]:
        move: dict[str, object] = {"protection.charge_cold.sensors": chosen}
        if walk(data, "charge_current.sensors") == names:
            move["charge_current.sensors"] = chosen
        return move

    for place in ("between_cells", "cell_face", "terminal"):
        for name, sensor in sensors.items():
            if sensor.get("place") == place and name not in names:
                yield deciding([*names, name])
                yield deciding([name])
    for name in names:
        if sensors.get(name, {}).get("place") != "between_cells":
            moved = {f"sensors.{name}.place": "between_cells", f"sensors.{name}.position": "middle"}
            yield moved
            heater = data.get("heater")
            if isinstance(heater, dict) and heater.get("sensors") == [name]:
                yield {**moved, **_further(data)}


def _further(data: dict[str, Any]) -> Mapping[str, object]:
    """Let a heater that is controlled by the moved sensor run on beyond the release."""
    release = walk(data, "protection.charge_cold.release_above_degC")
    if not isinstance(release, float):
        return {}
    return {"heater.on_below_degC": release + 1.0, "heater.off_above_degC": release + 5.0}
