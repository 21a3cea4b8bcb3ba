"""Reads a folder of one's own: rule files and `changes.yaml`, which are data and not trusted.

The folder holds rule files, or folders of rule files. Nothing in it is left out in silence: what looks
like YAML and cannot be a rule is told. Nothing outside it is read, and never more than a pack needs.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from bmslint.judge.faults import PackProblem
from bmslint.judge.read import RuleDocument

CHANGES = "changes.yaml"
SUFFIXES = (".yaml", ".yml")
LEADS_OUT = "a link that leads out of the folder"
MOST_FILE_BYTES = 256 * 1024
MOST_BYTES = 4 * 1024 * 1024
MOST_FILES = 1000


class OwnFile(NamedTuple):
    """A rule file of one's own: its name for messages, its stem, its family, its content."""

    file: str
    stem: str
    family: str
    content: bytes


class OwnFolder(NamedTuple):
    """What a folder holds; `digest` is a hash over every file of it that was read."""

    name: str
    digest: str
    files: tuple[OwnFile, ...]
    changes: RuleDocument | None


def read_folders(folders: Sequence[tuple[str, Path]], problems: list[PackProblem]) -> list[OwnFolder]:
    """Read folders of one's own.

    Args:
        folders: what to call each, and where it lies; one that is named twice is read once.
        problems: collects what is wrong with them.

    Returns:
        What they hold, in the order of their names.
    """
    once: dict[Path, str] = {}
    for name, path in folders:
        once.setdefault(path.resolve(), name)
    return [_read_folder(name, root, problems) for name, root in sorted((n, p) for p, n in once.items())]


def _read_folder(name: str, root: Path, problems: list[PackProblem]) -> OwnFolder:
    digest, files, changes, left = hashlib.sha256(), [], None, MOST_BYTES
    before = len(problems)
    for number, (path, inside) in enumerate(_candidates(name, root, problems)):
        file = f"{name}/{inside}"
        what = _refused(path, root) if number < MOST_FILES else f"more than {MOST_FILES} files in {name}"
        content = b"" if what else _content(path)
        left -= len(content)
        if left < 0:
            most = MOST_BYTES // 2**20
            what = f"the files of {name} have more than {most} MiB together; is it the right folder?"
        if what:
            problems.append(PackProblem(file, 1, 1, what))
        if number >= MOST_FILES or left < 0:
            break
        if what:
            continue
        digest.update(os.fsencode(f"{inside}\0{len(content)}\0") + content)
        if inside == CHANGES:
            from bmslint.judge.read import read_changes

            changes = read_changes(content, file)
            problems += changes.problems
        else:
            family = path.parent.name if "/" in inside else root.name
            files.append(OwnFile(file, path.stem, family, content))
    if not files and changes is None and len(problems) == before:
        problems.append(PackProblem(name, 1, 1, f"there is neither a rule file nor {CHANGES} in this folder"))
    return OwnFolder(name, digest.hexdigest()[:16], tuple(files), changes)


def _candidates(name: str, root: Path, problems: list[PackProblem]) -> Iterator[tuple[Path, str]]:
    """The YAML files of a folder and of the folders in it, each with its path inside, sorted."""
    try:
        entries = sorted(_visible(root))
        folders = [each for each in entries if (root / each).is_dir() and not _leads_out(root / each, root)]
        below = [f"{each}/{entry}" for each in folders for entry in sorted(_visible(root / each))]
    except OSError as error:
        problems.append(PackProblem(name, 1, 1, f"this folder cannot be read: {error.strerror}"))
        return
    for each in [*entries, *below]:
        path = root / each
        if each.endswith(SUFFIXES):
            yield path, each
        elif path.is_dir() and _leads_out(path, root):
            problems.append(PackProblem(f"{name}/{each}", 1, 1, LEADS_OUT))
        elif "/" in each and any(file.endswith(SUFFIXES) for _, _, files in os.walk(path) for file in files):
            what = "rule files lie in the folder itself or one folder below, and these lie deeper"
            problems.append(PackProblem(f"{name}/{each}", 1, 1, what))


def _leads_out(path: Path, root: Path) -> bool:
    return not path.resolve().is_relative_to(root)


def _visible(folder: Path) -> list[str]:
    return [entry for entry in os.listdir(folder) if not entry.startswith(".")]  # noqa: PTH208


def _refused(path: Path, root: Path) -> str:
    """Say why a file is not read; "" for one that is."""
    try:
        if _leads_out(path, root):
            return LEADS_OUT
        status = path.stat()
    except (OSError, RuntimeError):
        return "a link that leads nowhere"
    if not stat.S_ISREG(status.st_mode):
        return "not a file"
    if status.st_size > MOST_FILE_BYTES:
        return f"a file of more than {MOST_FILE_BYTES // 1024} KiB; is it the right file?"
    if path.suffix != ".yaml":
        return "the name of a rule file ends in .yaml"
    if path.name == CHANGES and path.parent != root:
        return f"{CHANGES} lies in the folder itself"
    if path.parent.name == "chemistries" and path.parent != root:
        return "a folder of one's own holds rules; the tables of chemistries are built in"
    return ""


def _content(path: Path) -> bytes:
    with path.open("rb", buffering=0) as file:
        return file.read(MOST_FILE_BYTES + 1)
