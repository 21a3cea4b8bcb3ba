"""Whatever is done to a profile, the judge answers, and accepts nothing that could not be judged."""

import json
import random
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from standins import check_json

import bmslint
from bmslint.data import rules_dir
from bmslint.judge.examples import patched
from bmslint.judge.judge import judge
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import Document, read, read_text
from bmslint.settings.paths import copied

FOLDER = rules_dir().parent / "profiles"
PROFILES = sorted(path.stem for path in FOLDER.glob("*.yaml"))
FIELDS = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
SCHEMA = jsonschema.Draft202012Validator(FIELDS)


@cache
def pack() -> Pack:
    return load_pack()


@cache
def profile(stem: str) -> Document:
    document = read(FOLDER / f"{stem}.yaml")
    assert document.problems == ()
    return document


def places(node: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place of plain data."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        yield (*path, key)
        yield from places(value, (*path, key))


EXTREMES = st.sampled_from([0.0, -1.0, 1e-9, 5e-324, 1.0, 32.0, -273.15, 2000.0, 1e6, 1.7976931348623157e308])
OTHERS = st.one_of(EXTREMES, st.sampled_from(["none", [], {}, True, "core", "[red]\x1b[2J\u202e"]))


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """A profile in which one to four places are taken out, doubled, exchanged or given another value."""
    data = copied(profile(draw(st.sampled_from(PROFILES))).tree.data)
    for _ in range(draw(st.integers(1, 4))):
        *above, last = draw(st.sampled_from(list(places(data))))
        holder = data
        for step in above:
            holder = holder[step]
        value = holder[last]
        match draw(st.sampled_from(["remove", "double", "exchange", "scale", "replace"])):
            case "remove":
                del holder[last]
            case "double" if isinstance(holder, list):
                holder.insert(0, copied(value))
            case "exchange":
                other = draw(st.sampled_from(sorted(map(str, holder)))) if isinstance(holder, dict) else None
                if other is not None:
                    holder[last], holder[other] = holder[other], holder[last]
            case "scale" if isinstance(value, int | float):
                holder[last] = value * draw(st.sampled_from([-1.0, 0.1, 1.8, 10.0, 1000.0]))
            case _:
                holder[last] = draw(OTHERS)
        if not data:
            break
    return json.dumps(data)


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example],
)
@given(damaged())
def test_a_damaged_profile_gets_an_answer_and_no_verdict_hides_what_was_not_judged(text: str) -> None:
    verdict = judge(read_text(text, "damaged.json"), pack())
    SCHEMA.validate(check_json(verdict, pack()))
    severe = {each.severity for each in verdict.findings}
    lacking = [each.rule for each in verdict.not_judged if each.severity == "reject"]
    expected = (
        "unusable"
        if verdict.errors
        else "rejected"
        if "reject" in severe
        else "not judged"
        if lacking
        else "review"
        if "review" in severe
        else "accepted"
    )
    assert verdict.word == expected


@cache
def undamaged(file: str) -> Judgement:
    return judge_rules(read(file), pack())


SEVERE = ("ridge-hut", "street-light-mast")


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_setting_that_is_taken_out_never_lets_a_file_pass(data: st.DataObject) -> None:
    """Left out is not described: what a rejecting rule judged before it judges again, speaks of or misses.

    Where a default stands in, such as bare cells for an enclosure, another rule speaks instead.
    """
    document = profile(data.draw(st.sampled_from(SEVERE)))
    settings_ = copied(document.tree.data)
    *above, last = data.draw(
        st.sampled_from([each for each in places(settings_) if isinstance(each[-1], str)])
    )
    holder = settings_
    for step in above:
        holder = holder[step]
    del holder[last]
    less = read_text(json.dumps(settings_), "less.json")
    if less.problems:
        return
    before, after = undamaged(document.file), judge_rules(less, pack())
    severe = {rule.id for rule in pack().rules if rule.severity == "reject"}
    gone = [
        name
        for name, outcome in after.outcomes.items()
        if name in severe and (before.outcomes[name].state, outcome.state) == ("passed", "does not apply")
    ]
    spoken = {each.finding.severity for each in after.spoken} - {"note"}
    lacking = {each.severity for each in after.not_judged}
    assert not gone or spoken or "reject" in lacking


def told(judgement: Judgement) -> list[tuple[object, ...]]:
    """What the rules say of a file, without where it stands."""
    findings = [each.finding for each in judgement.spoken]
    return sorted((each.severity, each.rule, each.path, each.message) for each in findings)


@pytest.mark.parametrize("stem", ["skin-decides", "braking-ignores-cold"])
def test_the_order_of_keys_changes_nothing(stem: str) -> None:
    document = read(FOLDER / "failing" / f"{stem}.yaml")
    shuffler = random.Random(stem)

    def shuffled(node: Any) -> Any:
        if isinstance(node, dict):
            keys = list(node)
            shuffler.shuffle(keys)
            return {key: shuffled(node[key]) for key in keys}
        return [shuffled(each) for each in node] if isinstance(node, list) else node

    other = judge_rules(read_text(json.dumps(shuffled(document.tree.data)), document.file), pack())
    one = judge_rules(document, pack())
    assert told(other) == told(one)
    assert "reject" in {each.finding.severity for each in one.spoken}


def scaled(document: Document, parallel: int) -> Document:
    """The same cells in a pack with more side by side: currents and capacity rise, the block stays.

    The heat of the current in each cell is the same then, and so must be everything about a cell.
    """
    data = document.data
    changes: dict[str, object] = {"pack.parallel": parallel}
    if "capacity_Ah" in data["pack"]:
        changes["pack.capacity_Ah"] = data["pack"]["capacity_Ah"] * parallel
    for number, step in enumerate(data["charge_current"]["steps"]):
        changes[f"charge_current.steps[{number}].max_A"] = step["max_A"] * parallel
    for number, path in enumerate(data["charge_paths"]):
        changes[f"charge_paths[{number}].max_A"] = path["max_A"] * parallel
    changes["charger.max_A"] = data["charger"]["max_A"] * parallel
    return patched(document, changes, ())


PER_CELL = ("cold-charging", "heating", "sensing", "voltage")
COUNTS_CELLS = "too-few-cell-sensors"
"""Asks for sensors by the number of cells, so more cells rightly ask for more."""


@pytest.mark.parametrize("stem", ["ridge-hut", "street-light-mast", "failing/skin-decides"])
def test_more_cells_side_by_side_leave_verdicts_on_a_cell_alone(stem: str) -> None:
    """One cell side by side made four: what is said of a cell's voltage and temperature stays."""
    document = read(FOLDER / f"{stem}.yaml")
    assert document.data["pack"].get("parallel", 1.0) == 1.0
    families = {rule.id: rule.family for rule in pack().rules}

    def of_cells(judgement: Judgement) -> list[tuple[object, ...]]:
        """Severity, rule and place; the value where it is no current of the whole pack."""
        return [
            (each.severity, each.rule, each.path, None if each.unit == "A" else each.value)
            for each in (spoken.finding for spoken in judgement.spoken)
            if families[each.rule] in PER_CELL and each.rule != COUNTS_CELLS
        ]

    one, four = judge_rules(document, pack()), judge_rules(scaled(document, 4), pack())
    assert of_cells(four) == of_cells(one)
