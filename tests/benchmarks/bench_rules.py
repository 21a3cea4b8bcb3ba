"""The whole built-in pack over one settings file in a running process, facts derived before; asserts nothing.

    .venv/bin/python tests/benchmarks/bench_rules.py [ROUNDS]

Prints the median and the fastest round for each good profile, in processor time, which other work on the
machine moves less than the clock; the goal is 10 ms at most.
"""

import os
import sys
from pathlib import Path
from statistics import median
from time import process_time

# As the command line does: threads of the linear algebra cost more than they give on matrices this small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bmslint.judge.entry_names import about_entries
from bmslint.judge.evaluate import evaluate
from bmslint.judge.inputs import Inputs
from bmslint.judge.judgement import derive_inputs
from bmslint.judge.pack import load_pack
from bmslint.settings import read

PROFILES = Path(__file__).parents[2] / "profiles"
GOAL_MS = 10.0


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    # Rules about a file's own entries are judged after these, where a file has any.
    rules = [rule for rule in load_pack().rules if not about_entries(rule.each)]
    for path in sorted(PROFILES.glob("*.yaml")):
        derived = derive_inputs(read(path))
        taken = []
        for _ in range(rounds):
            # Fresh, so that nothing is kept from the round before.
            inputs = Inputs(derived.data, derived.limits, derived.facts)
            start = process_time()
            for rule in rules:
                evaluate(rule, inputs)
            taken.append((process_time() - start) * 1e3)
        times = f"{median(taken):5.1f} ms, fastest {min(taken):.1f} ms, goal {GOAL_MS:.0f} ms"
        print(f"{len(rules)} rules over {path.stem:20s} {times}")


if __name__ == "__main__":
    main()
