"""Finds the settings files among files and folders."""

from __future__ import annotations

import os
import stat
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from bmslint.gate.patterns import Exclusion
    from bmslint.settings import Problem

SUFFIXES = frozenset({".yaml", ".yml", ".json"})
NEVER_SEARCHED = frozenset({".git"})
"""What a repository keeps for itself; every other folder is searched, hidden ones too."""


class Found(NamedTuple):
    """What a search gave.

    `files` are in the order of their names. `unsearched` says why folders could not be searched, and `empty`
    are folders that were named and hold none.
    """

    files: tuple[Path, ...]
    unsearched: tuple[Problem, ...] = ()
    empty: tuple[str, ...] = ()


def find_settings(names: Sequence[str], exclusions: Sequence[Exclusion] = ()) -> Found:
    """Find the settings files among files and folders.

    Args:
        names: files, taken as they are, and folders, searched with everything below them for YAML and
            JSON files that say the settings format in their first 2 MiB (`recognise.py`). A file that may
            not be read, or a link that leads nowhere, is among those found if it is called as one, so that
            it is reported. A link to a folder is followed, unless that folder is searched anyway.
        exclusions: what is left out of folders.

    Returns:
        Each file once, sorted, and which folders gave none or could not be searched.
    """
    files = {name for name in map(_plain, names) if not Path(name).is_dir()}
    folders = sorted({name for name in map(_plain, names) if name not in files})
    if not folders:
        return Found(tuple(map(Path, sorted(files))))
    search = _Search(exclusions)
    search.all_below(folders)
    empty = tuple(folder for folder in folders if not search.found_in(folder))
    return Found(tuple(map(Path, sorted(files | search.files))), tuple(sorted(search.unsearched)), empty)


def _plain(name: str) -> str:
    return str(Path(name))


class _Search:
    def __init__(self, exclusions: Sequence[Exclusion]) -> None:
        self.exclusions = exclusions
        self.files: set[str] = set()
        self.unsearched: list[Problem] = []
        self.searched: set[tuple[int, int]] = set()
        self.links: list[Path] = []

    def all_below(self, folders: Sequence[str]) -> None:
        """Search real folders first, then what links lead to, so that no folder is searched twice."""
        waiting = [Path(name) for name in folders]
        while waiting or self.links:
            if not waiting:
                self.links.sort(key=str, reverse=True)
                waiting.append(self.links.pop())
            folder = waiting.pop()
            try:
                status = folder.stat()
                if (status.st_dev, status.st_ino) in self.searched:
                    continue
                self.searched.add((status.st_dev, status.st_ino))
                with os.scandir(folder) as entries:
                    waiting += [inner for entry in entries if (inner := self.look_at(folder, entry))]
            except OSError as error:
                self.unsearched.append(_unsearched(folder, error))

    def found_in(self, folder: str) -> bool:
        """Say whether a folder that was named gave a file, or could not be searched."""
        start = "" if folder == "." else os.path.join(folder, "")  # noqa: PTH118  # ends in a separator
        if any(name.startswith(start) for name in (*self.files, *(each.file for each in self.unsearched))):
            return True
        again = _Search(self.exclusions)  # what lies in it may have been found by another name
        again.all_below([folder])
        return bool(again.files or again.unsearched)

    def look_at(self, folder: Path, entry: os.DirEntry[str]) -> Path | None:
        """Note a settings file or a link to a folder; give a folder to search."""
        path = folder / entry.name
        try:
            is_folder = entry.is_dir()
        except OSError:  # a link to itself
            is_folder = False
        if not is_folder and path.suffix.lower() not in SUFFIXES:
            return None
        if entry.name in NEVER_SEARCHED or (self.exclusions and self.is_excluded(path)):
            return None
        if not is_folder:
            if may_be_settings(path):
                self.files.add(str(path))
            return None
        if entry.is_symlink():
            self.links.append(path)
            return None
        return path

    def is_excluded(self, path: Path) -> bool:
        from bmslint.gate.patterns import is_excluded

        return is_excluded(path, self.exclusions)


def may_be_settings(path: Path) -> bool:
    """Say whether a file is one of settings, or cannot be read and so may be one.

    Args:
        path: the file.

    Returns:
        Whether it is to be taken for one.
    """
    from bmslint.gate.recognise import is_settings
    from bmslint.settings.tree import MAX_BYTES

    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return False  # a pipe would be waited for
        with path.open("rb") as file:
            return is_settings(file.read(MAX_BYTES))
    except OSError:
        return True


def _unsearched(folder: Path, error: OSError) -> Problem:
    from bmslint.settings.places import Position, problem_at

    came = f"one that cannot ({error.strerror})"
    advice = "what lies in it was not judged: check its permissions, or exclude it"
    return problem_at(Position(str(folder), 1, 1), "", "a folder that can be searched", came, advice)
