"""Settings files as a revision of a repository keeps them, read through git itself.

Nothing is checked out and nothing that the repository brings is run (`git.py`).
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.gate.find import SUFFIXES
from bmslint.gate.git import LINK, MODULE, Objects, commit_of, entries_of, top_folder
from bmslint.gate.patterns import is_excluded
from bmslint.gate.recognise import is_settings
from bmslint.settings.places import Position, Problem, problem_at
from bmslint.settings.tree import MAX_BYTES
from bmslint.settings.unreadable import too_large

if TYPE_CHECKING:
    from bmslint.gate.patterns import Exclusion

MOST_LINKS, LONGEST_LINK = 40, 4096


class Revision:
    """A revision of the repository that the working folder lies in; a source of settings files.

    Paths are those of the working folder, as if the revision were checked out there.
    """

    def __init__(self, name: str) -> None:
        """Find the revision and the names of its files.

        Args:
            name: of a commit, as git takes it: a branch, a tag, a hash, `HEAD~1`.

        Raises:
            RevisionError: there is no git, no repository, or no such commit.
        """
        self.name = name
        self.root = top_folder()
        self.here = Path(os.path.relpath(os.path.realpath(os.curdir), self.root)).parts
        self.commit = commit_of(name)
        self.entries = entries_of(self.commit)
        self.folders = {parent for path in self.entries for parent in _parents(path)}
        self._objects = Objects()

    def __enter__(self) -> Revision:
        """Give the revision."""
        return self

    def __exit__(self, *_: object) -> None:
        """End the process that reads."""
        self._objects.end()

    def load(self, path: Path, name: str) -> bytes | Problem:
        """Read a file of the revision, but never more of it than a settings file may have.

        Args:
            path: Where the file lies.
            name: What to call it in a problem.

        Returns:
            Its bytes, or why they cannot be had.
        """
        found = self._found(path)
        entry = self.entries.get(found) if found is not None else None
        if entry is not None and entry.mode != MODULE:
            content = self._objects.content(entry, MAX_BYTES)
            return too_large(name, MAX_BYTES) if content is None else content
        if found is None:
            came = "a file outside of the repository"
        else:
            came = "a folder" if found in self.folders else "no such file"
        return problem_at(
            Position(name, 1, 1), "", "a settings file", f"{came} in revision {self.name}", "check the path"
        )

    def real(self, path: Path) -> str:
        """Give the one name of a file, links of the revision followed."""
        found = self._found(path)
        return str(path) if found is None else found

    def boundary(self, folder: Path) -> None:
        """Give none: what is outside of the repository is not in the revision."""

    def has(self, path: Path) -> bool:
        """Say whether the revision has a file or folder of that name."""
        found = self._found(path)
        return found is not None and (found in self.entries or found in self.folders)

    def find_settings(self, names: Sequence[str], exclusions: Sequence[Exclusion] = ()) -> list[Path]:
        """Find the settings files among files and folders of the revision, as `find.find_settings` does.

        Args:
            names: files, taken as they are where the revision has them, and folders.
            exclusions: what is left out of folders.

        Returns:
            Each file once, sorted; none for a name that the revision has not.
        """
        found: set[Path] = set()
        folders = []
        for name in map(Path, names):
            real = self._found(name)
            if real in self.folders:
                folders.append(name)
            elif real in self.entries:
                found.add(name)
        return sorted(found | set(self._below(sorted(folders), exclusions)))

    def _below(self, waiting: list[Path], exclusions: Sequence[Exclusion]) -> Iterator[Path]:
        """Settings files below folders; a link to a folder is followed unless that is searched anyway."""
        searched: list[str] = []
        while waiting:
            folder = waiting.pop(0)
            real = self._found(folder)
            if real is None or real not in self.folders or any(_is_in(real, each) for each in searched):
                continue
            searched.append(real)
            start = f"{real}/" if real else ""
            for path in sorted(each for each in self.entries if each.startswith(start)):
                named = folder / path.removeprefix(start)
                if exclusions and _is_left_out(named, folder, exclusions):
                    continue
                if self.entries[path].mode == LINK and self._found(named) in self.folders:
                    waiting.append(named)
                elif named.suffix.lower() in SUFFIXES and self._is_settings(named):
                    yield named

    def _is_settings(self, path: Path) -> bool:
        text = self.load(path, str(path))
        return not isinstance(text, bytes) or is_settings(text)  # what cannot be read has to be reported

    def _found(self, path: Path) -> str | None:
        """The name in the repository that a path leads to, links followed; None outside of it."""
        here = self.here
        if path.is_absolute():
            here, path = (), Path(os.path.relpath(path, self.root))
        waiting = [*here, *path.parts]
        walked: list[str] = []
        links = 0
        while waiting:
            part = waiting.pop(0)
            if part == "..":
                if not walked:
                    return None
                walked.pop()
                continue
            entry = self.entries.get("/".join((*walked, part)))
            if entry is None or entry.mode != LINK:
                walked.append(part)
                continue
            links += 1
            content = self._objects.content(entry, LONGEST_LINK)
            target = Path(os.fsdecode(content or b"/"))
            if links > MOST_LINKS or target.is_absolute():
                return None
            waiting = [*target.parts, *waiting]
        return "/".join(walked)


def _is_left_out(path: Path, folder: Path, exclusions: Sequence[Exclusion]) -> bool:
    between = [path, *path.parents][: len(path.parts) - len(folder.parts)]
    return any(is_excluded(each, exclusions) for each in between)


def _is_in(path: str, folder: str) -> bool:
    return not folder or path == folder or path.startswith(f"{folder}/")


def _parents(path: str) -> Sequence[str]:
    """The folders that a file lies in; "" is the top."""
    parts = path.split("/")
    return ["/".join(parts[:i]) for i in range(len(parts))]
