"""Every path that a rule of the pack names exists: settings in the schema, facts and limits by name."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.facts import FACT_NAMES
from bmslint.judge.entry_names import about_entries, unknown_name
from bmslint.judge.expression import read_expression
from bmslint.judge.pack import load_pack
from bmslint.judge.paths import steps
from bmslint.judge.rule import Rule
from bmslint.limits import load_limits
from bmslint.settings import read
from bmslint.settings.models import Settings

SCHEMA = Settings.model_json_schema()


def branches(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The schema itself, behind its references, and every alternative in it."""
    if "$ref" in node:
        yield from branches(SCHEMA["$defs"][node["$ref"].rsplit("/", 1)[1]])
        return
    yield node
    for key in ("anyOf", "oneOf", "allOf"):
        for branch in node.get(key, ()):
            yield from branches(branch)


def below(nodes: list[dict[str, Any]], path: str) -> list[dict[str, Any]]:
    """Every part of the schema that a path below some parts can name; none if it names nothing."""
    for step in steps(path):
        found: list[dict[str, Any]] = []
        for node in (branch for each in nodes for branch in branches(each)):
            if isinstance(step, int):
                found += [node["items"]] if "items" in node else []
            else:
                known, any_name = node.get("properties", {}), node.get("patternProperties", {})
                found += [known[step]] if step in known else list(any_name.values())
                found += known.values() if step == "*" else ()
        nodes = found
    return nodes


@cache
def limit_names() -> frozenset[str]:
    """Every limit of any chemistry, of the profiles' own cells, and of those that are missing."""
    names: set[str] = set()
    for table in (rules_dir() / "chemistries").glob("*.yaml"):
        limits = load_limits({"pack": {"chemistry": table.stem, "series": 8.0}})
        names |= {*limits.data, *limits.missing}
    for path in (rules_dir().parent / "profiles").rglob("*.yaml"):
        document = read(path)
        if not document.problems:
            names |= set(load_limits(document.data).data)
    return frozenset(name.split(".")[0] for name in names)


def exists(path: str, rule: Rule) -> bool:
    root, _, rest = path.partition(".")
    if root == "facts":
        group, _, name = rest.partition(".")
        return group in FACT_NAMES and (not name or name in FACT_NAMES[group])
    if root == "limits":
        return not rest or rest.split(".")[0].split("[")[0] in limit_names()
    if root in ("value", "limit", "key", "here"):
        return True
    if about_entries(rule.each):
        return not unknown_name(rest, rule.each)
    if root.split("[")[0] == "item":
        tail = path.removeprefix("item").removeprefix(".")
        settings = [pattern for pattern in rule.each if not pattern.startswith("limits.")]
        return len(settings) < len(rule.each) or any(below(below([SCHEMA], p), tail) for p in settings)
    return bool(below([SCHEMA], path))


def named(rule: Rule) -> set[str]:
    expressions = [way.to for way in rule.suggest]
    if rule.applies is not None:
        expressions.append(rule.applies)
    templates = [rule.at, rule.says, *rule.also_at, *(way.set for way in rule.suggest)]
    return {
        *rule.named(),
        *(pattern for pattern in rule.each if not pattern.startswith(("limits.", "entries."))),
        *(reference.path for expression in expressions for reference in expression.references),
        *(path for template in templates for path, _ in template.fields),
        *(template.texts[0] for template in templates[:1] + templates[2:] if not template.fields),
    }


RULES = load_pack().rules


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_every_path_exists(rule: Rule) -> None:
    assert {path for path in named(rule) if not exists(path, rule)} == set()


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_rule_tells_the_unit_of_the_fact_it_holds_against_a_limit(rule: Rule) -> None:
    """A value that is one fact by itself has that fact's unit."""
    if rule.value is not None and rule.value.text in {r.path for r in rule.value.references}:
        root, _, rest = rule.value.text.partition(".")
        if root == "facts":
            group, _, name = rest.partition(".")
            assert rule.unit == FACT_NAMES[group][name][0]


def test_the_check_itself_sees_a_wrong_path() -> None:
    rule = next(each for each in RULES if each.id == "unknown-sensor")
    wrong = [
        "facts.none",
        "facts.block.nothing",
        "limits.nothing",
        "protecton",
        "heater.power_V",
        "sensors.a.b.c",
    ]
    assert [path for path in wrong if exists(path, rule)] == []
    right = [
        "facts.block",
        "facts.block.cells",
        "limits.charge_degC.min",
        "heater.power_W",
        "sensors.any.lag_s",
    ]
    assert [path for path in right if not exists(path, rule)] == []
    references = read_expression("has(settings.heater) && charge_paths.all(p, p.max_A > 0.0)").references
    assert [exists(each.path, rule) for each in references] == [True, True]
