"""What must change nothing: more cells in series, order of rules, sensors and files, writing and reading."""

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from damages import DAMAGES
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from standins import check_json

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.judge.judge import judge
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import Document, read, read_text
from bmslint.settings.paths import copied

FOLDER = rules_dir().parent / "profiles"
FILES = sorted(FOLDER.rglob("*.yaml"))
BY_NAME = pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
FIELDS = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
Data = dict[str, Any]


@cache
def pack() -> Pack:
    return load_pack()


@cache
def undamaged(path: Path) -> Judgement:
    return judge_rules(read(path), pack())


def again(data: Data) -> Document:
    document = read_text(json.dumps(data), "again.json")
    assert [each.message for each in document.problems] == []
    return document


def told(judgement: Judgement) -> list[tuple[str, str, str, str]]:
    """What the rules say of a file, without where it stands."""
    findings = [each.finding for each in judgement.spoken]
    return sorted((each.severity, each.rule, each.path, each.message) for each in findings)


@BY_NAME
def test_what_is_written_as_json_reads_the_same(path: Path) -> None:
    """There is one version of the format, which reading keeps: nothing moves in any number of rounds."""
    document = read(path)
    once = again(document.tree.data)
    twice = again(once.tree.data)
    assert document.data == once.data == twice.data
    assert once.data["format"] == 1.0
    if path.parent.name == "failing":
        assert told(judge_rules(twice, pack())) == told(undamaged(path))


@pytest.mark.parametrize("stem", ["failing/skin-decides", "failing/wrong-curve", "orchard-robot"])
def test_the_order_of_rules_changes_nothing(stem: str) -> None:
    path = FOLDER / f"{stem}.yaml"
    backwards = pack()._replace(rules=pack().rules[::-1])
    other = judge_rules(read(path), backwards)
    assert [each.finding for each in other.spoken] == [each.finding for each in undamaged(path).spoken]
    assert other.outcomes == undamaged(path).outcomes
    assert sorted(other.not_judged) == sorted(undamaged(path).not_judged)


@BY_NAME
def test_the_order_of_sensors_changes_no_finding(path: Path) -> None:
    """Messages name them in the file's order. That of a heater's faces counts: a sensor under the film that
    names no face is on the first of them."""

    def backwards(node: Any, key: str = "") -> Any:
        if isinstance(node, dict):
            return {name: backwards(inner, name) for name, inner in node.items()}
        return node[::-1] if key in ("sensors", "obeys") else node

    def without_message(judgement: Judgement) -> list[tuple[object, ...]]:
        findings = [each.finding for each in judgement.spoken]
        return [(each.severity, each.rule, each.path, each.value, each.limit) for each in findings]

    other = judge_rules(again(backwards(read(path).tree.data)), pack())
    assert without_message(other) == without_message(undamaged(path))


def test_the_order_of_files_changes_no_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    names = [
        str(FOLDER / f"{stem}.yaml") for stem in ("failing/wrong-curve", "street-light-mast", "snow-gauge")
    ]

    def output(order: list[str]) -> str:
        main(["check", *order, "--format", "json"])
        return capsys.readouterr().out

    assert output(names[::-1]) == output(names)


def longer(data: Data, times: int) -> None:
    """The same cells in a string of more: what is per pack in volts rises with their number."""
    pack_, protection, charger = data["pack"], data["protection"], data["charger"]
    pack_["series"] *= times
    pack_["layout"]["stacked"] *= times
    for name in ("pack_overvoltage", "pack_undervoltage"):
        for key in protection[name].keys() - {"delay_s"}:
            protection[name][key] *= times
    protection["measurement"]["pack_mV"] *= times
    for key in ("bulk_V", "float_V", "cold_compensation_mV_per_K"):
        if charger[key] != "none":
            charger[key] *= times


OF_VOLTAGE = (
    "voltages of another chemistry",
    "over-voltage 0.1 V higher",
    "under-voltage 1 V lower",
    "charger 8 % above its voltage",
    "cold compensation left on",
    "charger floats at its full voltage",
    "second over-voltage below the first",
    "balancing starts above the trip",
    "balancing current in amperes",
)


@pytest.mark.parametrize("damage", OF_VOLTAGE)
@pytest.mark.parametrize("stem", ["street-light-mast", "research-buoy"])
def test_more_cells_in_series_leave_verdicts_on_a_cell_alone(stem: str, damage: str) -> None:
    """A string twice as long, with its voltages: each verdict of these families is on one cell's voltage."""
    families = {rule.id: rule.family for rule in pack().rules}

    def of_cells(change: Callable[[Data], object]) -> list[tuple[str, str, str]]:
        data = copied(read(FOLDER / f"{stem}.yaml").tree.data)
        DAMAGES[damage](data)
        change(data)
        findings = [each.finding for each in judge_rules(again(data), pack()).spoken]
        return [
            (each.severity, each.rule, each.path)
            for each in findings
            if families[each.rule] in ("voltage", "charger", "balancing")
        ]

    one = of_cells(lambda data: None)
    assert of_cells(lambda data: longer(data, 2)) == one
    assert one


PIECES = st.sampled_from(
    [
        b"format: 1\n",
        b"pack: {chemistry: lfp, series: 8}\n",
        b"heater: none\n",
        b"sensors: {a: {place: board}}\n",
    ]
)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.lists(st.one_of(PIECES, st.binary(max_size=40)), max_size=6).map(b"".join))
def test_any_bytes_give_a_report_or_a_clean_error(text: bytes) -> None:
    verdict = judge(read_text(text, "any.yaml"), pack())
    jsonschema.Draft202012Validator(FIELDS).validate(check_json(verdict, pack()))
    assert (verdict.word == "unusable") == bool(verdict.errors)
    assert verdict.word != "accepted"
