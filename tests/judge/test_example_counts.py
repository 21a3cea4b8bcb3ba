"""Rules are held by examples: six or more where a number decides, four or more elsewhere."""

import re
from collections import Counter
from collections.abc import Callable

from bmslint.data import rules_dir
from bmslint.judge.pack import load_pack, rule_files
from bmslint.judge.rule import Rule
from bmslint.settings.tree import parse

RULES = load_pack().rules
EXAMPLES = {
    path.stem: len(parse(path.read_bytes(), path.name, document=1).data["examples"])
    for path in rule_files(rules_dir())
}
COMPARED = re.compile(r"[<>]=?|not_above|not_below")
COUNT = re.compile(r"size\([^)]*\)\s*[<>]=?\s*1(\.0)?(?!\d)")


def decided_by_a_number(rule: Rule) -> bool:
    """Whether the condition holds one number against another; that there is more than one of a thing does not
    count."""
    return COMPARED.search(COUNT.sub("", rule.require.text)) is not None


def test_what_counts_as_decided_by_a_number() -> None:
    by_id = {rule.id: decided_by_a_number(rule) for rule in RULES}
    assert by_id["overvoltage-trip-above-cell"]
    assert by_id["cold-release-not-above-inhibit"]
    assert not by_id["cold-inhibit-missing"]
    assert not by_id["unknown-sensor"]


def test_every_rule_has_its_examples() -> None:
    due = {rule.id: 6 if decided_by_a_number(rule) else 4 for rule in RULES}
    lacking = {name: (EXAMPLES[name], least) for name, least in due.items() if EXAMPLES[name] < least}
    assert lacking == {}


def test_there_are_rules_enough(record_property: Callable[[str, object], None]) -> None:
    """What the pack has to cover is some seventy lines, and each of them is a rule at least."""
    severities = Counter(rule.severity for rule in RULES)
    families = Counter(rule.family for rule in RULES)
    numbers = [EXAMPLES[rule.id] for rule in RULES if decided_by_a_number(rule)]
    others = [EXAMPLES[rule.id] for rule in RULES if not decided_by_a_number(rule)]
    for line in (
        f"rules: {len(RULES)} ({', '.join(f'{n} {name}' for name, n in severities.most_common())})",
        f"by family: {', '.join(f'{name} {n}' for name, n in sorted(families.items()))}",
        f"example cases: {sum(EXAMPLES.values())}",
        f"rules with a numeric limit: {len(numbers)}, {min(numbers)} examples or more each",
        f"other rules: {len(others)}, {min(others)} examples or more each",
    ):
        record_property("figure", line)
    assert len(RULES) >= 70
    assert sum(severities.values()) == sum(families.values()) == len(EXAMPLES)


def test_every_rule_says_where_it_does_not_hold_and_what_it_rests_on() -> None:
    lacking = {
        rule.id: empty
        for rule in RULES
        if (
            empty := [
                k for k in ("does_not_apply_to", "known_false_alarms", "sources") if not getattr(rule, k)
            ]
        )
    }
    assert lacking == {}
