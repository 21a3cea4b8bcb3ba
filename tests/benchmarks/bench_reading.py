"""Reading a settings file against a round-trip load of the same file with ruamel.yaml.

Runs alternate, so that what else the machine does hits both; the ratio is that of the medians.
Usage: python tests/benchmarks/bench_reading.py [FILE]
"""

import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

from ruamel.yaml import YAML

from bmslint.settings import read_text
from bmslint.settings.compiled import COMPILED, load_validator
from bmslint.settings.tree import parse

ROUNDS = 60
COMPLETE = Path(__file__).parents[1] / "settings/complete.yaml"
SCHEMA = "settings/models/compiled.json"


def measured(works: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Give the median time of each work in ms, run in turns."""
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(ROUNDS):
        for name, work in works.items():
            start = perf_counter()
            work()
            times[name].append((perf_counter() - start) * 1e3)
    return {name: median(taken) for name, taken in times.items()}


def main() -> None:
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else COMPLETE
    text = path.read_bytes()
    compiled = Path(__file__).parents[2] / "bmslint" / SCHEMA
    taken = measured(
        {
            "compose and walk": lambda: parse(text, path.name),
            "read (compose, walk, validate)": lambda: read_text(text, str(path)),
            "round-trip load": lambda: YAML().load(text),
            "load the validator": lambda: load_validator(compiled, COMPILED[SCHEMA]),
        }
    )
    print(f"{path.name}, {text.count(10)} lines, median of {ROUNDS} alternating runs")
    for name, milliseconds in taken.items():
        print(f"{name:32}{milliseconds:8.2f} ms")
    ratio = taken["round-trip load"] / taken["read (compose, walk, validate)"]
    print(f"reading is {ratio:.1f} times as fast as a round-trip load")


if __name__ == "__main__":
    main()
