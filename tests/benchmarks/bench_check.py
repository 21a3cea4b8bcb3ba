"""Start-up and judging against peers, in alternating runs; prints medians and their ratio, asserts nothing.

    .venv/bin/python -m pip install '.[bench]'
    .venv/bin/python tests/benchmarks/bench_check.py [ROUNDS]

Whole process: `bmslint check` of a profile against check-jsonschema with bmslint's own JSON Schema on the
same file. Running process: one file read, derived and judged against ruamel.yaml's round-trip load of it.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

# As the command line does: threads of the linear algebra cost more than they give on matrices this small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from ruamel.yaml import YAML

from bmslint.judge.judgement import judge_rules
from bmslint.judge.pack import load_pack
from bmslint.settings import read
from bmslint.settings.schema import json_schema

PROFILES = Path(__file__).parents[2] / "profiles"
SCRIPTS = Path(sys.executable).parent


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def alternating(ours: Callable[[], object], peer: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Run both in turn, so that a busy machine slows both; give the medians (s)."""
    times = [(seconds(ours), seconds(peer)) for _ in range(rounds)]
    return statistics.median(each[0] for each in times), statistics.median(each[1] for each in times)


def process(*command: str) -> Callable[[], object]:
    return lambda: subprocess.run(command, capture_output=True, check=True)


def report(what: str, ours: float, peer: float) -> None:
    print(f"{what:44s} {ours * 1e3:7.1f} ms against {peer * 1e3:7.1f} ms: ratio {ours / peer:.2f}")


def whole_process(rounds: int) -> None:
    file = str(PROFILES / "ridge-hut.yaml")
    with tempfile.TemporaryDirectory() as folder:
        schema = Path(folder) / "schema.json"
        schema.write_text(json.dumps(json_schema()), encoding="utf-8")
        peer = process(str(SCRIPTS / "check-jsonschema"), "--schemafile", str(schema), file)
        for form in ("text", "json"):
            ours = process(str(SCRIPTS / "bmslint"), "check", "--format", form, file)
            report(f"check, whole process, {form}", *alternating(ours, peer, rounds))
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{'largest memory of any of these processes':44s} {peak:7.1f} MiB")


def running_process(rounds: int) -> None:
    pack = load_pack()
    for path in sorted(PROFILES.glob("*.yaml")):
        text = path.read_text(encoding="utf-8")

        def judged(path: Path = path) -> object:
            return judge_rules(read(path), pack)

        def loaded(text: str = text) -> object:
            return YAML(typ="rt").load(text)

        judged()
        report(f"judged in a running process, {path.stem}", *alternating(judged, loaded, rounds))


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    whole_process(count)
    running_process(count)
