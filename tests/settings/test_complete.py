"""The complete example: every key is read, with its value, its type and its place."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from outside_loader import load
from ruamel.yaml import YAML

from bmslint.settings import Position, read, read_text, revalidated
from bmslint.settings.compiled import load_schema
from bmslint.settings.vocabulary import Vocabulary

COMPLETE = Path(__file__).with_name("complete.yaml")
COMPILED = Path(__file__).parents[2] / "bmslint/settings/models/compiled.json"


def floats(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: floats(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [floats(inner) for inner in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value with its path, counted independently of the reader."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from leaves(inner, f"{path}[{index}]")
    else:
        yield path, value


def outside() -> Any:
    """The same file as the pure loader of ruamel.yaml reads it."""
    return floats(load(COMPLETE))


def last_keys(paths: set[str]) -> set[str]:
    return {path.rpartition(".")[2] for path in paths}


def types(value: Any) -> set[type]:
    return {type(leaf) for _, leaf in leaves(value)}


def test_data_are_what_another_loader_reads() -> None:
    document = read(COMPLETE)
    assert document.problems == ()
    assert document.data == outside()
    assert types(document.data) == {str, float, bool}


def test_every_value_has_the_place_at_which_its_text_stands() -> None:
    document = read(COMPLETE)
    lines = COMPLETE.read_text(encoding="utf-8").splitlines()
    wrong = []
    for path, value in leaves(YAML(typ="rt").load(COMPLETE)):
        place = document.positions[path]
        rest = lines[place.line - 1][place.column - 1 :]
        if not rest.startswith(str(value).lower() if isinstance(value, bool) else str(value)):
            wrong.append((path, place, rest))
    assert wrong == []


def test_every_key_has_the_place_at_which_it_stands() -> None:
    document = read(COMPLETE)
    lines = COMPLETE.read_text(encoding="utf-8").splitlines()
    found = {
        path: lines[place.line - 1][place.column - 1 :].partition(":")[0]
        for path, place in document.key_positions.items()
    }
    assert found == {path: path.rpartition(".")[2] for path in found}
    assert document.key_positions.keys() >= {path for path, _ in leaves(document.data) if path[-1] != "]"}


def test_the_example_has_every_key_of_the_format() -> None:
    schema = Vocabulary(load_schema(COMPILED))
    known = {f"{place}.{key}" if place else key for place, key in schema.every_key()}
    document = read(COMPLETE)
    names = document.data["sensors"]
    used = set()
    for path in document.key_positions:
        for name in names:
            path = path.replace(f"sensors.{name}.", "sensors.*.")
        used.add(re.sub(r"\[[0-9]+\]", "[]", path))
    used -= {f"sensors.{name}" for name in names}
    assert last_keys(known) - last_keys(used) == {"extends", "diameter_mm"}
    assert used - known == set()


def test_position_of_what_is_absent_is_that_of_what_is_around_it() -> None:
    document = read_text("format: 1\npack:\n  chemistry: lfp\n  series: 8\n", "small.yaml")
    assert document.problems == ()
    assert document.data == {"format": 1.0, "pack": {"chemistry": "lfp", "series": 8.0}}
    assert document.position("pack.series") == Position("small.yaml", 4, 11)
    assert document.position("pack.cell.limits.charge_current[2].max_A") == Position("small.yaml", 3, 3)
    assert document.position("heater") == Position("small.yaml", 1, 1)


def test_revalidated_replaces_and_keeps_places() -> None:
    document = read(COMPLETE)
    changed = revalidated(
        document,
        {
            "pack.series": 16.0,
            "protection.charge_cold.hold_s": 1800.5,
            "charge_current.steps[1].max_A": 30.0,
            "heater": "none",
        },
    )
    expected = outside()
    expected["pack"]["series"] = 16.0
    expected["protection"]["charge_cold"]["hold_s"] = 1800.5
    expected["charge_current"]["steps"][1]["max_A"] = 30.0
    expected["heater"] = "none"
    assert changed.problems == ()
    assert changed.data == expected
    assert changed.positions == document.positions
    assert document.data == outside()


def test_revalidated_tells_what_no_longer_fits() -> None:
    document = read(COMPLETE)
    changed = revalidated(document, {"heater.power_W": -1.0, "load.idle_A": 2.0})
    assert changed.data == {}
    assert [(p.line, p.column, p.path, p.message) for p in changed.problems] == [
        (55, 12, "heater.power_W", "expected a number from 0 to 1000000 W, came -1"),
        (
            115, 1, "load.idle_A",
            'expected a key of `load`, came "idle_A", which is not known;'
            " known here: continuous_A, surge_A, surge_s",
        ),
    ]  # fmt: skip
