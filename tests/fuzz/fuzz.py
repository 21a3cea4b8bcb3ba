"""Feeds inputs of every kind through reading, judging and writing: never a traceback, whatever comes in.

    OPENBLAS_NUM_THREADS=1 nice -n 19 .venv/bin/python tests/fuzz/fuzz.py --state fuzz.json --until 200000

Takes about half an hour of one core. It goes on where the state file ends, so it can be stopped at any time
and run in parts; what breaks is kept beside the state file with its traceback. Input number N is the same in
every run with the same profiles (`--only N` feeds it alone and shows the traceback). At the end stands what
was fed and what came of it.
"""

from __future__ import annotations

import argparse
import io
import json
import math
import resource
import sys
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

sys.path.insert(0, str(Path(__file__).parent))

from fuzz_inputs import KINDS, PROFILES, fuzz_input

from bmslint.judge.finding import Verdict
from bmslint.judge.judge import judge
from bmslint.judge.pack import Pack, load_pack
from bmslint.output.writers import WRITERS, Run, writer
from bmslint.settings import read_text

TODAY = date(2026, 7, 1)
SLOW_S = 5.0
"""Processor time of one input from which on it is listed, because someone may have to wait for it."""


@dataclass
class State:
    """What was fed so far and what came of it."""

    next: int = 0
    seconds: float = 0.0
    fed: Counter[str] = field(default_factory=Counter)
    judged: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    slow: dict[str, float] = field(default_factory=dict)
    faults: list[int] = field(default_factory=list)

    @classmethod
    def of_file(cls, path: Path) -> State:
        if not path.exists():
            return cls()
        kept = json.loads(path.read_text(encoding="utf-8"))
        return cls(**{key: Counter(value) if key in COUNTED else value for key, value in kept.items()})


COUNTED = ("fed", "judged", "verdicts")


def finite(value: Any) -> bool:
    """Whether no number in a verdict is infinite or none."""
    if isinstance(value, tuple | list):
        return all(map(finite, value))
    return not isinstance(value, float) or math.isfinite(value)


def fed(number: int, pack: Pack) -> tuple[str, Verdict]:
    """Feed one input; raises what a user would see as a traceback, and where the verdict is not sound."""
    kind, text = fuzz_input(number)
    verdict = judge(read_text(text, str(PROFILES / "fuzzed.yaml")), pack, today=TODAY)
    assert (verdict.word == "unusable") == bool(verdict.errors) == (not verdict.outcomes), "no whole verdict"
    assert all(each.message and each.line >= 1 and each.column >= 1 for each in verdict.errors), "no place"
    assert finite(verdict), "a number that is not finite"
    written = {form: written_as(form, verdict, pack) for form in WRITERS}
    for form in ("json", "sarif"):
        json.loads(written[form])
    ElementTree.fromstring(written["junit"])
    assert all(char.isprintable() or char == "\n" for char in written["text"]), "a sign that moves the cursor"
    return kind, verdict


def written_as(form: str, verdict: Verdict, pack: Pack) -> str:
    """A run over this one file in a form, as it goes to a file."""
    stream = io.StringIO()
    writing = writer(form, stream, Run(pack, 1, "reject", PROFILES))
    writing.add(verdict)
    writing.end()
    stream.getvalue().encode()
    return stream.getvalue()


def feed(state: State, until: int, path: Path) -> None:
    pack = load_pack()
    began, before = time.process_time(), state.seconds
    while state.next < until:
        number, start = state.next, time.process_time()
        state.next += 1
        try:
            kind, verdict = fed(number, pack)
        except Exception:
            kind = fuzz_input(number)[0]
            state.faults.append(number)
            path.with_name(f"{path.stem}-{number}.txt").write_text(traceback.format_exc(), encoding="utf-8")
        else:
            state.verdicts[verdict.word] += 1
            state.judged[kind] += verdict.word != "unusable"
        state.fed[kind] += 1
        state.seconds = before + time.process_time() - began
        if (taken := time.process_time() - start) > SLOW_S:
            state.slow[str(number)] = round(taken, 1)
        if state.next % 500 == 0 or state.next == until:
            path.write_text(json.dumps(vars(state)), encoding="utf-8")


def told(state: State) -> str:
    """The figures, to be kept in text."""
    lines = [f"{state.next:,} inputs in {state.seconds / 60:.0f} minutes of one core:"]
    lines += [f"  {state.fed[kind]:7,} {kind}, {state.judged[kind]:,} of them judged" for kind in KINDS]
    words = ", ".join(f"{count:,} {word}" for word, count in sorted(state.verdicts.items()))
    slowest = max(state.slow.values(), default=0.0)
    return "\n".join(
        [
            *lines,
            f"verdicts: {words}",
            f"faults: {len(state.faults)}" + "".join(f" {number}" for number in state.faults),
            f"more than {SLOW_S:.0f} s: {len(state.slow)}, the slowest {slowest:.0f} s",
            f"largest memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB",
        ]
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0] if __doc__ else "")
    parser.add_argument("--state", type=Path, default=Path("fuzz.json"), help="where figures and faults go")
    parser.add_argument("--until", type=int, default=200_000, help="number of inputs altogether")
    parser.add_argument("--only", type=int, help="feed this input alone")
    options = parser.parse_args()
    if options.only is not None:
        sys.stdout.buffer.write(fuzz_input(options.only)[1] + b"\n")
        print(fed(options.only, load_pack())[1].word)
        return
    state = State.of_file(options.state)
    feed(state, options.until, options.state)
    print(told(state))


if __name__ == "__main__":
    main()
