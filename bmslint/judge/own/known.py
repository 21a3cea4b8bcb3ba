"""Which facts, limits and settings there are; asked only for rules of one's own.

The built-in rules are held to it by the tests. A rule of one's own that names a setting that the format
does not have would wait for it for ever, and one that names an unknown limit would never apply.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from bmslint.judge.entry_names import about_entries, unknown_name
from bmslint.judge.expression import SETTINGS_ROOTS
from bmslint.judge.faults import RuleError
from bmslint.judge.paths import steps
from bmslint.judge.rule import NEEDS_ROOTS, Faults, Rule

SETTINGS = "settings/models/compiled.json"


def check_names(rule: Rule, data: dict[str, Any], faults: Faults) -> None:
    """Refuse paths of a rule that nothing can ever stand at.

    Args:
        rule: the rule.
        data: the data that it was made of, for the place inside a text.
        faults: collects them.
    """
    told = set()
    for key, path in _named(rule, data):
        what = _unknown(path, rule)
        if what and (key, path) not in told:
            told.add((key, path))
            text = data.get(key)
            offset = max(text.find(path), 0) if isinstance(text, str) else 0
            faults.found.append((key, RuleError(what, offset=offset)))


def _named(rule: Rule, data: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Every path that a rule names, with the key that it stands under."""
    for key, expression in rule.expressions().items():
        yield from ((key, each.path) for each in expression.references)
    # Other beginnings were refused when the rule was built.
    yield from (("needs", path) for path in data.get("needs", ()) if _begins(path, NEEDS_ROOTS))
    yield from (("each", path) for path in rule.each if _begins(path, SETTINGS_ROOTS))
    places = {"at": rule.at, **{f"also_at[{i}]": each for i, each in enumerate(rule.also_at)}}
    places |= {f"suggest[{i}].set": way.set for i, way in enumerate(rule.suggest)}
    for key, template in {**places, "says": rule.says}.items():
        yield from ((key, path) for path, _ in template.fields)
    yield from ((key, template.texts[0]) for key, template in places.items() if not template.fields)


def _begins(path: str, roots: tuple[str, ...]) -> bool:
    return path.split(".")[0].split("[")[0] in roots


def _unknown(path: str, rule: Rule) -> str:
    """Say what is unknown about a path; "" for one that can have a value."""
    root, _, rest = path.partition(".")
    root = root.split("[")[0]
    if root in ("value", "limit", "key", "here"):
        return ""
    if root == "facts":
        return _unknown_fact(rest)
    if root == "limits":
        return _unknown_limit(rest)
    if root == "item" and about_entries(rule.each):
        return unknown_name(rest, rule.each)
    if root == "item":
        tail = path.removeprefix("item")
        patterns = [each for each in rule.each if not each.startswith("limits.")]
        if len(patterns) < len(rule.each) or any(_is_setting(pattern + tail) for pattern in patterns):
            return ""
        return f"{path} is no setting of {' or '.join(rule.each)}" if rule.each else "item without `each`"
    return "" if _is_setting(path) else f"there is no setting {path}{_nearest_setting(path)}"


def _unknown_fact(path: str) -> str:
    from bmslint.facts.names import FACT_NAMES

    group, _, name = path.partition(".")
    if group and group not in FACT_NAMES:
        return f"there is no group of facts {group}{_nearest(group, FACT_NAMES)}"
    if name and name not in FACT_NAMES[group]:
        return f"there is no fact {path}{_nearest(name, FACT_NAMES[group])}"
    return ""


def _unknown_limit(path: str) -> str:
    from bmslint.limits.cell import LIMIT_NAMES, RANGES

    name, *below = map(str, steps(path)) if path else ("",)
    if name and name not in LIMIT_NAMES:
        return f"there is no limit {name}{_nearest(name, LIMIT_NAMES)}"
    if name in RANGES and below and below not in (["min"], ["max"]):
        return f"there is no limit {path}; {name} has min and max"
    return ""


@cache
def _vocabulary() -> Any:
    from bmslint.settings.compiled import load_schema
    from bmslint.settings.vocabulary import Vocabulary

    return Vocabulary(load_schema(Path(__file__).parents[2] / SETTINGS))


def _is_setting(path: str) -> bool:
    """Whether the format has a setting at a path; `*` is any key, `[*]` any item."""
    head, star, tail = path.replace("[*]", "[0]").partition(".*")
    if not star:
        return bool(_vocabulary().choices(head))
    if not _vocabulary().choices(head):
        return False
    names = _vocabulary().keys(head) or ["any"]
    return any(_is_setting(f"{head}.{name}{tail}") for name in names)


def _nearest_setting(path: str) -> str:
    above, _, last = path.rpartition(".")
    near = _vocabulary().nearest_key(above, last.split("[")[0]) if above else None
    return f"; did you mean {near}?" if near else ""


def _nearest(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name[:60], sorted(known), n=1)
    return f"; did you mean {near[0]}?" if near else ""
