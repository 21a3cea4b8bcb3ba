"""Reads the rules that are no longer run, so that an id in an old report still explains itself."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import NamedTuple

from bmslint.data import rules_dir
from bmslint.judge.faults import PackError, PackProblem
from bmslint.settings.tree import parse


class Retired(NamedTuple):
    """A rule that is no longer run; its file's form is described in `retiredfile`."""

    id: str
    title: str
    severity: str
    why: str
    retired_in: str
    retired_because: str
    instead: tuple[str, ...]


def load_retired(running: Collection[str], folder: Path | None = None) -> tuple[Retired, ...]:
    """Read the retired rules of a pack.

    Args:
        running: ids of the rules that are run.
        folder: the pack's folder; the built-in one if left out.

    Returns:
        The retired rules, sorted by id.

    Raises:
        PackError: a file is not as `retiredfile` describes it, or its id is not its name or is run again;
            everything at fault is named at once.
    """
    root = rules_dir() if folder is None else folder
    problems: list[PackProblem] = []
    found = [_read(path, root, running, problems) for path in sorted((root / "retired").glob("*.yaml"))]
    if problems:
        raise PackError(problems)
    return tuple(each for each in found if each is not None)


def _read(path: Path, root: Path, running: Collection[str], problems: list[PackProblem]) -> Retired | None:
    from pydantic import ValidationError

    from bmslint.judge.retiredfile import RetiredFile

    file = path.relative_to(root).as_posix()
    tree = parse(path.read_bytes(), file)
    if tree.problems:
        problems += [PackProblem(each.file, each.line, each.column, each.message) for each in tree.problems]
        return None
    try:
        data = RetiredFile.model_validate(tree.data)
    except ValidationError as error:
        for each in error.errors(include_url=False):
            where = str(each["loc"][0]) if each["loc"] else ""
            position = tree.positions.get(where) or tree.positions[""]
            what = f"{where or 'rule'}: {each['msg']}"
            problems.append(PackProblem(file, position.line, position.column, what))
        return None
    faults = []
    if data.id != path.stem:
        faults.append(f"id: the id {data.id} is not the file's name {path.stem}")
    if data.id in running:
        faults.append(f"id: the rule {data.id} is run; an id is not used again")
    position = tree.positions["id"]
    problems += [PackProblem(file, position.line, position.column, what) for what in faults]
    return Retired(**{**data.model_dump(), "instead": tuple(data.instead)})
