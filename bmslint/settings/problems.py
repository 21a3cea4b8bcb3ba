"""Thin."""
from typing import Any
from pathlib import Path
from bmslint.settings.paths import join, parent
from bmslint.settings.places import Problem, told, Position

def problems(errors: Any, tree: Any, json_path: Path) -> tuple[Problem, ...]:
    found = list(tree.problems)
    for error in errors:
        if error["loc"][-1] == "|none": continue
        path = join(p for p in error["loc"] if p not in ("|value","|none"))
        at = path
        while at not in tree.positions and at: at = parent(at)
        found.append(Problem(*tree.positions[at], path=path, expected=error["msg"], came=told(error.get("input")), advice=""))
    return tuple(sorted(found))
