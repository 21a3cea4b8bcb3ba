"""Memory stays flat over as many files as there are."""

import resource
from pathlib import Path

from bmslint.judge import engine

ROUNDS = 20_000
LEAST_LEAK = 160 * ROUNDS
"""What so many calls of functions written in Python left behind, with cel-expr-python 0.1.3 (bytes)."""


def resident() -> int:
    """Memory of this process (bytes)."""
    return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * resource.getpagesize()


def test_a_comparison_with_a_tolerance_leaves_nothing_behind() -> None:
    """A worker makes some hundred of them for each file, and lives for thousands of files."""
    values = engine.values({"pack": {"a": 1.5, "b": 1.4}})
    texts = ("not_above(pack.a, pack.b, 0.2)", "not_below(pack.b, pack.a, 0.05)")
    assert [engine.evaluate(text, values) for text in texts] == [True, False]
    for _ in range(2000):
        engine.evaluate(texts[0], values)
    before = resident()
    for _ in range(ROUNDS):
        engine.evaluate(texts[0], values)
    assert resident() - before < LEAST_LEAK / 4
