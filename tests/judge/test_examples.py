"""Every rule's own examples, run on the profiles; the whole finding is compared."""

from functools import cache
from typing import Any

import pytest

from bmslint.data import rules_dir
from bmslint.judge.examples import Runner
from bmslint.judge.pack import load_pack, rule_files
from bmslint.judge.rulefile import Example
from bmslint.settings import Document, read
from bmslint.settings.tree import parse

PROFILES = rules_dir().parent / "profiles"
profile = cache(lambda stem: read(PROFILES / f"{stem}.yaml"))


@cache
def all_examples() -> list[Any]:
    """Every example of the pack; a file whose examples cannot be read gives one that fails."""
    found = []
    for path in rule_files(rules_dir()):
        data = parse(path.read_bytes(), path.name, document=1).data
        examples = data.get("examples") if isinstance(data, dict) else None
        for i, example in enumerate(examples if isinstance(examples, list) else [None]):
            name = example.get("name", i) if isinstance(example, dict) else "unreadable"
            found.append(pytest.param(path.stem, example, id=f"{path.stem}: {name}"))
    return found


@cache
def runner() -> Runner:
    return Runner(load_pack(), profile)


@pytest.mark.parametrize(("rule", "example"), all_examples())
def test_example(rule: str, example: dict[str, Any]) -> None:
    Example.model_validate(example)
    assert runner().differences(rule, example) == []


def test_every_rule_has_an_example_that_fails_and_one_that_passes() -> None:
    """A rule whose inputs are always there has no example that is not judged, so it is not asked for."""
    came = {
        rule.id: {e.values[1]["expect"] for e in all_examples() if e.values[0] == rule.id}
        for rule in load_pack().rules
    }
    # A rule that holds for no item it meets passes by meeting none.
    never_passes = {rule.id for rule in load_pack().rules if rule.require.text == "false"}
    lacking = {
        name: states
        for name, states in came.items()
        if not {"fail", "does_not_apply" if name in never_passes else "pass"} <= states
    }
    assert lacking == {}


def test_profiles_named_by_examples_are_clean_of_their_rule() -> None:
    from bmslint.judge.judgement import judge_rules

    @cache
    def speaks(stem: str) -> set[str]:
        document: Document = profile(stem)
        return {each.rule.id for each in judge_rules(document, load_pack()).spoken}

    spoiled = {
        (example.values[0], example.values[1]["on"])
        for example in all_examples()
        if example.values[0] in speaks(example.values[1]["on"])
    }
    assert spoiled == set()
