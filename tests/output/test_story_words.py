"""Everything that a story can name has plain words, and every sentence names what there is."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.facts.names import FACT_NAMES
from bmslint.judge.pack import load_pack
from bmslint.judge.units import unit_at
from bmslint.limits.cell import LIMIT_NAMES
from bmslint.output.story.doubt import DEFAULTS, assumed
from bmslint.output.story.labels import FACTS, KEYS, LIMITS, SECTIONS, fact_label, label
from bmslint.output.story.tales import TALES
from bmslint.output.story.teller import FIELD
from bmslint.output.story.values import shown_setting
from bmslint.output.story.warmup import AFTER, BEGINS, HEATED, RUNS, STANDING
from bmslint.settings.schema import json_schema
from bmslint.settings.tree import parse

SCHEMA = json_schema()


def leaves(node: dict[str, Any], path: str = "") -> Iterator[str]:
    """Every path of the format, `*` for a name that the file gives and no number for entries of lists."""
    for choice in (node, *node.get("anyOf", ())):
        if "$ref" in choice:
            yield from leaves(SCHEMA["$defs"][choice["$ref"].rpartition("/")[2]], path)
        for key, inner in choice.get("properties", {}).items():
            below = f"{path}.{key}" if path else key
            yield below
            yield from leaves(inner, below)
        for inner in choice.get("patternProperties", {}).values():
            yield from leaves(inner, f"{path}.*")
        if isinstance(choice.get("items"), dict):
            yield from leaves(choice["items"], path)


PATHS = sorted(set(leaves(SCHEMA)))


def test_the_walk_finds_settings_of_every_depth() -> None:
    assert {
        "title", "pack.cell.limits.charge_current.max_A", "sensors.*.read_as.beta_K", "charge_paths.obeys",
        "protection.charge_overcurrent.delay_ms", "accepted.until",
    } <= set(PATHS)  # fmt: skip


def test_every_setting_has_plain_words() -> None:
    lacking = {
        path
        for path in PATHS
        if path not in SECTIONS
        and path.rpartition(".")[2] not in KEYS
        and path not in ("protection", "extends")
    }
    assert lacking == set()
    assert set(SECTIONS) <= set(PATHS)
    assert set(KEYS) <= {path.rpartition(".")[2] for path in PATHS}


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("protection.charge_cold.release_above_degC",
         "stop of charging in the cold: allows again above a reading of"),
        ("charge_current.steps[1].max_A", "steps of the charge current, entry 2: at most"),
        ("sensors.skin.lag_s", "sensor skin: lag of a reading"),
        ("sensors.skin.read_as.beta_K",
         "sensor skin: curve that the board reads it by, steepness of the curve"),
        ("pack.cell.limits.charge_degC.min",
         "limit by the cell maker: temperatures at which it may be charged, at least"),
        ("heater", "the heater"),
        ("", ""),
    ],
)  # fmt: skip
def test_a_setting_in_plain_words(path: str, words: str) -> None:
    assert label(path) == words


@pytest.mark.parametrize(
    ("path", "value", "shown"),
    [
        ("heater.power_W", 160.0, "160 W"),
        ("protection.charge_cold.hold_s", 8160.0, "8160 s (136 min)"),
        ("protection.charge_cold.delay_s", 179.0, "179 s"),
        ("pack.fuse", "none", "none"),
        ("protection.second_overvoltage.independent", False, "no"),
        ("protection.charge_cold.sensors", ["core", "post"], "core, post"),
        ("protection.charge_cold.sensors", [], "(empty)"),
        ("charge_current.steps", [{"from_degC": 0.0, "max_A": 5.0}], "from 0 degC, max 5 A"),
        ("pack.fuse", {"rated_A": 200.0, "melting_A2s": 80000.0}, "rated 200 A, melting 80000 A2s"),
        (
            "pack.cell.limits",
            {"charge_degC": {"min": 0.0, "max": 55.0}, "source": "a"},
            "charge_degC (min 0, max 55), source a",
        ),
        ("pack.cell.thermal", {"along_W_per_mK": 19.0}, "along_W_per_mK 19"),
        ("heater", {"tolerance_pct": 10.0, "faces": ["ends"]}, "tolerance 10 %, faces ends"),
        ("title", "a\u202eb\x1b[31m", "a<U+202E>b<U+001B>[31m"),
    ],
)
def test_a_value_as_it_is_shown(path: str, value: object, shown: str) -> None:
    assert shown_setting(path, value) == shown


def test_a_long_value_is_cut_between_words() -> None:
    shown = shown_setting("title", "word " * 60)
    assert shown.endswith("word ...")
    assert len(shown) <= 120


def test_every_limit_has_plain_words() -> None:
    """But for those that are words of the judge's own: the chemistry's name and marks on declared limits."""
    named = {name.split(".")[0] for name in LIMITS}
    assert LIMIT_NAMES - named == {"chemistry", "undeclared_source", "looser"}
    assert named <= LIMIT_NAMES


def test_every_default_property_has_plain_words_and_its_unit() -> None:
    shipped: dict[str, str] = {}
    for file in (rules_dir() / "defaults.yaml", *sorted((rules_dir() / "chemistries").glob("*.yaml"))):
        data = parse(file.read_bytes(), file.name).data
        groups = [data.get("defaults", {}), *data.get("thermal", {}).values()]
        shipped |= {name: row.get("unit", "") for rows in groups for name, row in rows.items()}
    assert set(shipped) - set(DEFAULTS) == set()
    units = {name: unit for name, unit in shipped.items() if unit}
    assert {name: DEFAULTS[name][1] for name in units} == units


@pytest.mark.parametrize(
    ("note", "told"),
    [
        ("sensor_lag_s = 12 (2 to 60); declare sensors.*.lag_s",
         ("time by which a sensor lags behind its place", "12 s", "2 to 60 s", "sensors.*.lag_s")),
        ("air_gap_W_per_m2K = 5 (3.5 to 7)",
         ("heat that an air gap below the pack carries off", "5 W/(m2 K)", "3.5 to 7 W/(m2 K)", "")),
        ("pack.parallel = 1.0", ("pack.parallel", "1.0", "", "")),
    ],
)  # fmt: skip
def test_what_was_assumed_in_plain_words(note: str, told: tuple[str, ...]) -> None:
    assert tuple(assumed([note])[0]) == told


def test_every_group_of_facts_has_its_tale() -> None:
    """`inverse` holds ways out, which stories tell as what to change."""
    assert set(TALES) | set(RUNS) | {"inverse"} == set(FACT_NAMES)


def test_every_field_of_a_sentence_is_a_fact_or_a_setting_or_a_limit() -> None:
    sentences = [(group, line.text, line.only_if) for group, lines in TALES.items() for line in lines]
    for run in RUNS:
        sentences += [(run, text, ()) for text in (STANDING, BEGINS[run], *AFTER)]
    sentences.append(("heated_warmup", HEATED, ()))
    for group, text, conditions in sentences:
        for field in (*FIELD.findall(text), *conditions):
            path = field.removeprefix("!").removesuffix("!worst")
            if path.startswith("."):
                assert path[1:] in FACT_NAMES[group], (group, field)
            else:
                assert path in PATHS, field


def test_facts_whose_sentence_leans_on_another_have_words_of_their_own() -> None:
    assert {tuple(path.split(".")) for path in FACTS} <= {
        (group, name) for group, names in FACT_NAMES.items() for name in names
    }
    for group, names in FACT_NAMES.items():
        for name in names:
            words = fact_label(f"{group}.{name}")
            assert not re.match(r"the same|that ", words), f"{group}.{name}"
            assert not words.endswith(".")


def test_every_value_and_limit_of_a_rule_has_a_unit_or_none_by_its_nature() -> None:
    """The unit that a rule states is that of the single path it compares, if it compares one."""
    differing = {}
    for rule in load_pack().rules:
        path = rule.value.text.strip() if rule.value is not None else ""
        if re.fullmatch(r"(facts|limits|[a-z_]+)\.[\w.]+", path) and not path.startswith("item"):
            unit = unit_at(path)
            if unit != rule.unit and not (unit == "" and rule.unit):
                differing[rule.id] = (unit, rule.unit)
    assert differing == {}
