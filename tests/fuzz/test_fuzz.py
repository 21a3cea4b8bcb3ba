"""A part of the fuzz on every run; the whole of it is `fuzz.py`, a script for the night."""

from collections import Counter
from collections.abc import Callable

import pytest
from fuzz import fed
from fuzz_inputs import KINDS, fuzz_input

from bmslint.judge.pack import load_pack

INPUTS = 2000
PARTS = 4


@pytest.mark.parametrize("part", range(PARTS))
def test_whatever_comes_in_gets_a_verdict(part: int, record_property: Callable[[str, object], None]) -> None:
    pack, kinds, judged = load_pack(), Counter[str](), Counter[str]()
    for number in range(part * INPUTS // PARTS, (part + 1) * INPUTS // PARTS):
        try:
            kind, verdict = fed(number, pack)
        except Exception as error:
            raise AssertionError(f"input {number}; `fuzz.py --only {number}` shows it") from error
        kinds[kind] += 1
        judged[kind] += verdict.word != "unusable"
    assert kinds.keys() == KINDS.keys()
    # Enough of them reach the rules and the physics, or this would be a test of the reader alone.
    assert judged.total() > 0.05 * kinds.total()
    record_property("count", ("fuzz inputs", kinds.total()))
    record_property("count", ("fuzz inputs that were judged", judged.total()))


def test_a_number_gives_the_same_input_again() -> None:
    assert [fuzz_input(number) for number in range(200)] == [fuzz_input(number) for number in range(200)]


def test_every_kind_has_its_share() -> None:
    shares = Counter(fuzz_input(number)[0] for number in range(100))
    assert shares == {kind: share for kind, (share, _) in KINDS.items()}
