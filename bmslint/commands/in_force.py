"""What a check goes by: the command line before the configuration, and that before the defaults."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.gate.configuration import Configuration, find_configuration

if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping

    from bmslint.gate.patterns import Exclusion
    from bmslint.judge.finding import Severity

DEFAULTS: Mapping[str, Any] = {
    "paths": [],
    "exclude": [],
    "rules": [],
    "installed_rules": False,
    "fail_on": "reject",
    "write": {},
    "baseline": None,
}

DEFAULT, COMMAND_LINE = "default", "command line"


class InForce(NamedTuple):
    """What a run goes by, every path as seen from the working directory.

    `sources` says of each other field where its value came from, `configuration` names the file.
    """

    paths: tuple[str, ...]
    exclude: tuple[Exclusion, ...]
    rules: tuple[Path, ...]
    installed_rules: bool
    fail_on: Severity
    write: tuple[tuple[str, Path], ...]
    baseline: Path | None
    configuration: str
    sources: Mapping[str, str]


def in_force(options: argparse.Namespace) -> InForce:
    """Put together what a check goes by.

    Args:
        options: of the command; what was not given is None or empty.

    Returns:
        What is in force.

    Raises:
        ConfigurationError: the configuration cannot be used.
    """
    found = Configuration() if options.ignore_configuration else find_configuration()
    values, sources = dict(DEFAULTS), dict.fromkeys(DEFAULTS, DEFAULT)
    for key, value in found.values.items():
        values[key], sources[key] = value, found.places[key]
    said = {key: getattr(options, key) for key in DEFAULTS}
    given = {key: value for key, value in said.items() if value not in (None, [])}
    sources |= dict.fromkeys(given, COMMAND_LINE)

    def path(key: str, text: str) -> str:
        return text if key in given else os.path.relpath(found.folder / text)

    write = given["write"] if "write" in given else list(values["write"].items())
    values |= given
    return InForce(
        paths=tuple(path("paths", each) for each in values["paths"]),
        exclude=_exclusions(values["exclude"], Path() if "exclude" in given else found.folder),
        rules=tuple(Path(path("rules", str(each))) for each in values["rules"]),
        installed_rules=values["installed_rules"],
        fail_on=values["fail_on"],
        write=tuple((form, Path(path("write", str(file)))) for form, file in write),
        baseline=None if values["baseline"] is None else Path(path("baseline", str(values["baseline"]))),
        configuration=found.file,
        sources=sources,
    )


def _exclusions(patterns: list[str], folder: Path) -> tuple[Exclusion, ...]:
    if not patterns:
        return ()
    from bmslint.gate.patterns import Exclusion

    return tuple(Exclusion(pattern, folder) for pattern in patterns)


def shown(chosen: InForce) -> str:
    """Show what is in force.

    Args:
        chosen: what a run goes by.

    Returns:
        Lines of text: the configuration, then for each key its value and where that came from.
    """
    lines = [("configuration", chosen.configuration or "none", "")]
    told: dict[str, list[str]] = {
        "paths": list(chosen.paths),
        "exclude": [each.pattern for each in chosen.exclude],
        "rules": [each.as_posix() for each in chosen.rules],
        "installed_rules": ["yes" if chosen.installed_rules else "no"],
        "fail_on": [chosen.fail_on],
        "write": [f"{form}={file.as_posix()}" for form, file in chosen.write],
        "baseline": [] if chosen.baseline is None else [chosen.baseline.as_posix()],
    }
    for key, values in told.items():
        for number, value in enumerate(values or ["none"]):
            lines.append(("" if number else key, value, "" if number else chosen.sources[key]))
    widths = [max(len(line[column]) for line in lines) for column in (0, 1)]
    return "".join(
        f"{key:<{widths[0]}}  {value:<{widths[1]}}  {source}".rstrip() + "\n" for key, value, source in lines
    )
