"""The parts that stories are put together from."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from bmslint.judge.paths import joined
from bmslint.judge.template import show
from bmslint.judge.units import unit_at
from bmslint.output.story.doubt import limit_source
from bmslint.output.story.form import Entry, Section
from bmslint.output.story.labels import LIMITS, fact_label, label
from bmslint.output.story.tales import TALES, Line
from bmslint.output.story.teller import error, number
from bmslint.output.story.values import shown_setting
from bmslint.output.story.warmup import RUNS, minutes, warmup_tale

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from bmslint.facts.course import Course
    from bmslint.judge.compared import Compared
    from bmslint.judge.expression import Expression
    from bmslint.judge.finding import Value
    from bmslint.judge.rule import Rule
    from bmslint.output.story.teller import Teller

MOST_ENTRIES, CLOSEST = 12, 3
"""Settings that are told one by one, and those of a comparison; of more their number is told."""

PATH = re.compile(r"[A-Za-z_][\w.\[\]]*")
BEYOND, WITHIN = "beyond the limit by", "within the limit by"
ARITHMETIC = re.compile(r"[\w. +*/-]+")
DIFFERENCE = {"degC": "K"}
"""Units in which the difference of two values has another unit."""


def settings_part(teller: Teller, paths: Iterable[str], places: Mapping[str, str]) -> Section | None:
    """Tell what the file says.

    Args:
        teller: of the file.
        paths: settings, the most important one first.
        places: where each stands.

    Returns:
        The part; None without settings.
    """
    entries = []
    for path in dict.fromkeys(paths):
        value = teller.inputs.resolve(path, None)
        there = isinstance(value, bool | int | float | str | list | dict)
        told = shown_setting(path, value) if there else "not in the file"
        entries.append(Entry(label(path), told, places.get(path, ""), path))
    if len(entries) > MOST_ENTRIES:
        rest = len(entries) - MOST_ENTRIES
        entries = [*entries[:MOST_ENTRIES], Entry("and others", f"{rest} settings more")]
    return Section("settings", "What the settings say", entries=tuple(entries)) if entries else None


def happens_part(teller: Teller, rule: Rule, courses: Mapping[str, Course]) -> Section | None:
    """Tell what happens in the pack, by the facts that a rule rests on.

    Args:
        teller: of the file.
        rule: the rule.
        courses: the warm-ups over time, by group of facts.

    Returns:
        The part; None where the rule rests on no fact that this pack has.
    """
    named = [path.split(".") for path in (*rule.named(), *_said(rule)) if path.startswith("facts.")]
    groups = dict.fromkeys(parts[1] for parts in named if len(parts) > 1)
    names = {".".join(parts) for parts in named}
    paragraphs: list[str] = []
    table = None
    for run in RUNS:
        if run in groups:
            paragraphs += warmup_tale(teller, run)
            if table is None and run in courses and paragraphs:
                table = minutes(teller, courses[run])
    for group in groups:
        if told := " ".join(
            filter(None, (_line(teller, line, group, names) for line in TALES.get(group, ())))
        ):
            paragraphs.append(told)
    if not paragraphs:
        return None
    return Section("happens", "What happens in this pack", tuple(paragraphs), table=table)


def _said(rule: Rule) -> list[str]:
    """The paths that a rule's message fills in; they are what it speaks of."""
    return [path for path, _ in rule.says.fields]


def _line(teller: Teller, line: Line, group: str, names: set[str]) -> str | None:
    at = f"facts.{group}."
    text = line.text.replace("{.", "{" + at)
    fields = set(re.findall(r"\{(" + re.escape(at) + r"\w+)", text))
    if line.by_name and not fields & names:
        return None
    for condition in line.only_if:
        wanted = not condition.startswith("!")
        if teller.value(at + condition.lstrip("!.")) is not wanted:
            return None
    return teller.fill(text)


def limit_part(
    teller: Teller, rule: Rule, entries: Iterable[Compared], spoke: bool, unfavourable_only: bool = False
) -> Section | None:
    """Tell what was held against what, and by how much it was crossed or kept.

    Args:
        teller: of the file.
        rule: the rule.
        entries: what it compared.
        spoke: whether the limit was crossed.
        unfavourable_only: whether it was crossed at the unfavourable end only.

    Returns:
        The part; None for a rule that compares no numbers.
    """
    found: list[Entry] = []
    paragraphs: list[str] = []
    numbers = [each for each in entries if _number(each.value) and _number(each.limit)]
    for each in sorted(numbers, key=_room)[:CLOSEST]:
        found += _compared(teller, rule, each, spoke and not unfavourable_only)
    if len(numbers) > CLOSEST:
        paragraphs.append(f"These {CLOSEST} of {len(numbers)} settings come closest to their limit.")
    if rule.limit is not None and rule.limit.text.strip().startswith("limits."):
        source = limit_source(teller.inputs, rule.limit.text.strip())
        paragraphs += [f"The limit is from {source}."] if source else []
    if not found:
        return None
    heading = "Which limit is crossed, and by how much" if spoke else "What was compared, and what is left"
    return Section("limit", heading, tuple(paragraphs), tuple(found))


def _compared(teller: Teller, rule: Rule, each: Compared, spoke: bool) -> list[Entry]:
    assert isinstance(each.value, float)
    assert isinstance(each.limit, float)
    unit, against = rule.unit, each.limit
    path = _path(rule.value, each.path)
    fact = _fact(rule.value)
    quantity = teller.quantity(fact) if fact else None
    room = error(quantity)
    ends = (each.value, each.limit, each.unfavourable_value)
    largest = max(abs(end) for end in ends if isinstance(end, float))

    def told(value: float, source: str) -> str:
        return teller.tell(number(value, unit, source, room, against, largest))

    entries = [
        Entry(
            _what(rule.value, each.path, _computed("value", rule.value)),
            told(each.value, path or "value"),
            path=path,
        )
    ]
    ranged = isinstance(each.unfavourable_value, float) and each.unfavourable_value != each.value
    if isinstance(each.unfavourable_value, float) and ranged:
        source = f"{fact}!worst" if fact else "value"
        entries.append(Entry("the same, with unfavourable properties", told(each.unfavourable_value, source)))
    limit_path = _path(rule.limit, each.path)
    limit = teller.tell(number(each.limit, unit, limit_path or "limit", beside=largest))
    entries.append(Entry(_limit_words(rule, each.path), limit, path=limit_path))
    return [*entries, *_differences(teller, each, unit, spoke, room if ranged else 0.0, largest)]


def _differences(
    teller: Teller, each: Compared, unit: str, spoke: bool, room: float, largest: float
) -> list[Entry]:
    """The distance between value and limit: what a finding lies beyond it, and what is left else."""
    assert isinstance(each.value, float)
    assert isinstance(each.limit, float)

    def told(gap: float) -> str:
        return teller.tell(number(gap, DIFFERENCE.get(unit, unit), "", room, 0.0, largest))

    words = BEYOND if spoke else WITHIN
    entries = [Entry(words, told(abs(each.value - each.limit)))]
    worst, limit = each.unfavourable_value, each.unfavourable_limit
    if room and isinstance(worst, float) and isinstance(limit, float):
        kept = (worst - limit) * (each.value - each.limit) > 0.0
        other = words if kept else (WITHIN if spoke else BEYOND)
        entries.append(Entry(f"{other}, with unfavourable properties", told(abs(worst - limit))))
    return entries


def _room(each: Compared) -> float:
    """How far a value is from its limit."""
    assert isinstance(each.value, float)
    assert isinstance(each.limit, float)
    return abs(each.value - each.limit)


def _number(value: Value) -> bool:
    return isinstance(value, float) and not isinstance(value, bool)


def _fact(expression: Expression | None) -> str:
    """The fact that an expression is, empty if it is more than that."""
    text = expression.text.strip() if expression is not None else ""
    return text if PATH.fullmatch(text) and text.startswith("facts.") else ""


def _path(expression: Expression | None, here: str) -> str:
    """The path that an expression is, empty if it is more than that; `here` stands for an entry of a list."""
    text = expression.text.strip() if expression is not None else ""
    if not PATH.fullmatch(text):
        return ""
    root, _, rest = text.partition(".")
    if root != "item":
        return text
    return joined(here, rest) if rest else here


def _computed(name: str, expression: Expression | None) -> str:
    """What a number is that is worked out from several: its expression, where that is plain arithmetic."""
    text = " ".join(expression.text.split()) if expression is not None else ""
    plain = ARITHMETIC.fullmatch(text) and re.search(r"[a-z]", text)
    return f"{name}, worked out as {text}" if plain else name


def _what(expression: Expression | None, here: str, otherwise: str) -> str:
    """Say in words what an expression is, if it is a single path."""
    text = expression.text.strip() if expression is not None else ""
    if not PATH.fullmatch(text):
        return otherwise
    root, _, rest = text.partition(".")
    if root == "facts":
        return fact_label(rest)
    if root == "limits":
        return LIMITS.get(rest, otherwise)
    if root == "item":
        return label(joined(here, rest) if rest else here)
    return label(text)


def _limit_words(rule: Rule, here: str) -> str:
    """Say in words what a limit is: a limit of the cells, a setting, or a number of the rule's own."""
    text = rule.limit.text.strip() if rule.limit is not None else ""
    for parameter in rule.parameters.values():
        if text == show(parameter.value) or text == repr(parameter.value):
            return f"limit: {' '.join(parameter.means.split())}"
    words = _what(rule.limit, here, "")
    return f"limit: {words}" if words else _computed("limit", rule.limit)


def named_values(teller: Teller, rule: Rule) -> tuple[Entry, ...]:
    """Tell the values that a rule looks at and that its own numbers do not show.

    Args:
        teller: of the file.
        rule: the rule.

    Returns:
        Labelled values, each with its path.
    """
    entries = []
    for path in rule.named():
        if "[" in path or path.split(".")[0] in ("item", "entries", "key", "here"):
            continue
        if path.startswith("facts."):
            words = fact_label(path.removeprefix("facts."))
            shown = teller.shown(path) if words else None
        else:
            value = teller.value(path)
            plain = isinstance(value, bool | int | float | str | list | dict)
            limit = path.removeprefix("limits.") if path.startswith("limits.") else ""
            words = LIMITS.get(limit, "") if limit else label(path)
            shown = shown_setting(path, value) if plain and words else None
            if shown is not None and limit and isinstance(value, float):
                shown = f"{show(value)} {unit_at(path)}".rstrip()
        if shown is not None:
            entries.append(Entry(words, shown, path=path))
    return tuple(entries[:MOST_ENTRIES])
