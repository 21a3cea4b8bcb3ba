"""What holds for every test, and the figures of the rule pack at the end of a run."""

import os
from collections import Counter

import pytest

# As the command line does: threads of the linear algebra cost more than they give on matrices this small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# A reference library that counts its users does so without these tests.
os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print what tests recorded: lines under `figure`, and numbers under `count`, added up by their name."""
    lines: list[str] = []
    counts: Counter[str] = Counter()
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", "") != "call":
                continue
            for kind, value in report.user_properties:
                if kind == "figure":
                    lines.append(value)
                elif kind == "count":
                    name, number = value
                    counts[name] += number
    if lines or counts:
        terminalreporter.section("figures of the rule pack")
        for line in (*lines, *(f"{name}: {number}" for name, number in counts.items())):
            terminalreporter.write_line(line)
