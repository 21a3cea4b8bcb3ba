"""All fact groups of one pack against twice ruamel.yaml's round-trip load of its file; asserts nothing.

    .venv/bin/python tests/benchmarks/bench_facts.py [ROUNDS] [PROFILE...]

Counted is what a judgement rests on: every group, at nominal properties and at the unfavourable ends, on one
core, in alternating runs; medians. Settings and limits are read beforehand, and `inverse`, which is derived
only where it is asked for, is not among them. Under each profile stands the share of each group's own
function; blocks that several groups share are paid for by the first of them.
"""

import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from importlib import import_module
from pathlib import Path

# Before numpy: threads of the linear algebra cost more than they give on matrices this small.
os.environ["OPENBLAS_NUM_THREADS"] = "1"

from ruamel.yaml import YAML

from bmslint.limits import load_limits
from bmslint.settings import read

PROFILES = Path(__file__).parents[2] / "profiles"
# The module, which the package hides behind the function of the same name.
DERIVE = import_module("bmslint.facts.derive")
# Groups whose function is not named like the group; both warm-ups are run in one go, under one name here.
FUNCTIONS, BESIDE = {"heated_warmup": "warm_ups"}, ("ambient_warmup",)


@contextmanager
def timed(groups: list[str], spent: dict[str, float]) -> Iterator[None]:
    """Count the seconds of each group's function while `derive` runs."""
    names = {group: FUNCTIONS.get(group, group) for group in groups}
    kept = {name: getattr(DERIVE, name) for name in names.values()}

    def counting(group: str, run: Callable[..., object]) -> Callable[..., object]:
        @wraps(run)
        def counted(*given: object, **named: object) -> object:
            start = time.perf_counter()
            try:
                return run(*given, **named)
            finally:
                spent[group] += time.perf_counter() - start

        return counted

    for group, name in names.items():
        setattr(DERIVE, name, counting(group, kept[name]))
    try:
        yield
    finally:
        for name, run in kept.items():
            setattr(DERIVE, name, run)


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def bench(path: Path, rounds: int) -> None:
    text, document = path.read_text(encoding="utf-8"), read(path)
    limits = load_limits(document.data)

    def ours() -> list[str]:
        facts = DERIVE.derive(document.data, limits)
        return list({**facts.nominal(), **facts.unfavourable()})

    def peer() -> object:
        return YAML(typ="rt").load(text)

    groups = ours()
    times = [(seconds(ours), seconds(peer)) for _ in range(rounds)]
    mine, allowed = statistics.median(t[0] for t in times), 2 * statistics.median(t[1] for t in times)
    told = f"{mine * 1e3:7.1f} ms against twice a load, {allowed * 1e3:6.1f} ms: ratio {mine / allowed:.2f}"
    print(f"{path.stem:24s} {told}")
    courses = []
    for _ in range(rounds):
        groups = [group for group in groups if group not in BESIDE]
        spent = dict.fromkeys(groups, 0.0)
        with timed(groups, spent):
            ours()
        courses.append(spent)
    shares = {group: statistics.median(course[group] for course in courses) for group in groups}
    whole = sum(shares.values())
    ranked = sorted(shares.items(), key=lambda each: -each[1])
    print("    " + ", ".join(f"{group} {100 * part / whole:.0f} %" for group, part in ranked))


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    for profile in [Path(name) for name in sys.argv[2:]] or sorted(PROFILES.rglob("*.yaml")):
        bench(profile, count)
