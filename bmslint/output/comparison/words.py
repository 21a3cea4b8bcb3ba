"""Words that every form of a comparison uses for the same thing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from bmslint.gate.directions import DIRECTIONS
from bmslint.gate.facts_changed import TEMPERATURES
from bmslint.judge.finding import SEVERITIES
from bmslint.judge.template import show

if TYPE_CHECKING:
    from bmslint.facts.quantity import Value
    from bmslint.gate.compare import Comparison, FileComparison
    from bmslint.gate.facts_changed import FactChange
    from bmslint.judge.finding import Finding

LEFT_OUT = "left out"
LONGEST = 160
"""Characters of a value that are shown; a whole section may be one."""

NOTHING = "No settings changed."
UNKNOWN_BEFORE = "It could not be read before, so all that is found in it counts as new."
UNKNOWN_NOW = "It cannot be read, so nothing is known of what changed."


def arrow(was: object, now: object) -> str:
    """Tell two values of a setting.

    Args:
        was: before, None where it was left out.
        now: after.

    Returns:
        Both, shortened if they are long.
    """
    return f"{_value(was)} -> {_value(now)}"


def _value(value: object) -> str:
    told = LEFT_OUT if value is None else _written(value)
    return told if len(told) <= LONGEST else f"{told[:LONGEST]}..."


def _written(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_written(each)}" for key, each in value.items()) + "}"
    if isinstance(value, bool):
        return "true" if value else "false"
    return show(value)


def fact_told(change: FactChange) -> str:
    """Tell how a derived quantity moved.

    Args:
        change: of one quantity.

    Returns:
        Both values with their unit, and those at the unfavourable end where they differ from them.
    """
    unit = f" {change.unit}" if change.unit else ""
    nominal = _moved(change.was, change.now, change.unit)
    unfavourable = _moved(change.unfavourable_was, change.unfavourable_now, change.unit)
    if nominal == unfavourable:
        return nominal + unit
    at_the_end = f"at the unfavourable end {unfavourable}{unit}"
    was, now = (number(each, change.unit) for each in (change.was, change.now))
    return at_the_end if was == now else f"{nominal}{unit}; {at_the_end}"


def _moved(was: Value, now: Value, unit: str) -> str:
    return f"{number(was, unit)} -> {number(now, unit)}"


def number(value: Value, unit: str) -> str:
    """Write a value of a derived quantity.

    Args:
        value: the value.
        unit: of the quantity.

    Returns:
        A temperature with one decimal, another number with four digits.
    """
    if isinstance(value, bool) or not isinstance(value, float):
        return show(value)
    return show(value, ".1f") if unit in TEMPERATURES else show(float(f"{value:.4g}"))


def means(change: FactChange) -> str:
    """Name a derived quantity by its sentence, without the full stop."""
    return change.means.removesuffix(".")


def how_many(findings: Iterable[Finding]) -> str:
    """Count findings by severity, as in `3 findings (1 reject, 2 review)`."""
    severities = [each.severity for each in findings]
    counts = (f"{severities.count(each)} {each}" for each in SEVERITIES if each in severities)
    noun = "finding" if len(severities) == 1 else "findings"
    return f"{len(severities)} {noun} ({', '.join(counts)})" if severities else f"no {noun}"


def files_told(comparison: Comparison) -> str:
    """Count files by what became of them."""
    states = [each.state for each in comparison.files]
    counts = {each: states.count(each) for each in ("changed", "came", "went")}
    told = ", ".join(f"{count} {state}" for state, count in counts.items() if count)
    unchanged = f"{comparison.unchanged} unchanged"
    return f"{told}, {unchanged}" if told else unchanged


def summary(comparison: Comparison) -> Iterator[tuple[str, str]]:
    """Tell the whole in a few lines.

    Args:
        comparison: of all files.

    Yields:
        Head and text of each line; what is nought is left out, but for findings that came.
    """
    files = comparison.files
    yield "Findings that came", how_many(each for file in files for each in file.came)
    raised = [each.now for file in files for each in file.stayed if each.raised]
    if raised:
        yield "Findings that became more severe", how_many(raised)
    if went := [each for file in files for each in file.went]:
        yield "Findings that went", how_many(went)
    if taken := [each for file in files for each in file.taken_on]:
        yield "Findings that a person took on", how_many(taken)
    stayed = [each.now.severity for file in files for each in file.stayed if not each.raised]
    still = {each: stayed.count(each) + comparison.still[each] for each in SEVERITIES}
    if any(still.values()):
        yield "Findings that stayed", ", ".join(f"{count} {each}" for each, count in still.items() if count)
    if unjudged := sum(len(file.unjudged) for file in files):
        yield (
            "Not judged, and judged before or in a new file",
            "1 rule" if unjudged == 1 else f"{unjudged} rules",
        )
    towards = [each.direction for file in files for each in file.settings]
    told = ", ".join(f"{towards.count(each)} {each}" for each in DIRECTIONS if each in towards)
    yield "Settings that changed", told or "none"


def verdict_told(file: FileComparison) -> str:
    """Tell the verdict of a file, and the one before."""
    if file.now is None:
        return f"gone, was {file.was.word}" if file.was is not None else "gone"
    if file.was is None:
        return f"{file.now.word}, a new file"
    return (
        f"{file.now.word}, as before"
        if file.now.word == file.was.word
        else f"{file.now.word}, was {file.was.word}"
    )
