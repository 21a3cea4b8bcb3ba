"""Start-up and judging against peers, in alternating runs; prints medians and their ratio, asserts nothing.

    .venv/bin/python -m pip install '.[bench]'
    .venv/bin/python tests/benchmarks/bench_check.py [ROUNDS]

Whole process: `bmslint check` of a profile against check-jsonschema with bmslint's own JSON Schema on the
same file, by the clock and by the processor's time, which other work on the machine moves less. Both run from
byte code, as they do once installed; it lies in a folder of this run, so that a shell in which Python
writes none does not make a checkout compile itself anew each time.

Running process: one file read, derived and judged against ruamel.yaml's round-trip load of it.
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


Times = dict[str, list[float]]


def clock() -> dict[str, float]:
    """Time by the clock and by the processor, this process's and its children's (s)."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return {"clock": time.perf_counter(), "processor": sum(each.ru_utime + each.ru_stime for each in used)}


def taken(run: Callable[[], object], times: Times) -> None:
    before = clock()
    run()
    for name, now in clock().items():
        times[name].append(now - before[name])


def report(what: str, ours: Callable[[], object], peer: Callable[[], object], rounds: int) -> None:
    """Run both in turn, so that a busy machine slows both; print the medians and their ratio."""
    mine: Times = {"clock": [], "processor": []}
    theirs: Times = {"clock": [], "processor": []}
    for _ in range(rounds):
        taken(ours, mine)
        taken(peer, theirs)
    for name, times in mine.items():
        one, other = statistics.median(times), statistics.median(theirs[name])
        told = f"{one * 1e3:6.1f} ms against {other * 1e3:6.1f} ms: ratio {one / other:.2f}"
        print(f"{what:44s} {name:9s} {told}")


def process(folder: str, *command: str) -> Callable[[], object]:
    left = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment = {**left, "PYTHONPYCACHEPREFIX": folder}

    def run() -> object:
        return subprocess.run(command, capture_output=True, check=True, env=environment)

    run()
    return run


def whole_process(rounds: int) -> None:
    file = str(PROFILES / "ridge-hut.yaml")
    with tempfile.TemporaryDirectory() as folder:
        schema = Path(folder) / "schema.json"
        schema.write_text(json.dumps(json_schema()), encoding="utf-8")
        peer = process(folder, str(SCRIPTS / "check-jsonschema"), "--schemafile", str(schema), file)
        for form in ("text", "json"):
            ours = process(folder, str(SCRIPTS / "bmslint"), "check", "--format", form, file)
            report(f"check, whole process, {form}", ours, peer, rounds)
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
        report(f"judged in a running process, {path.stem}", judged, loaded, rounds)


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    whole_process(count)
    running_process(count)
