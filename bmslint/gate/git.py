"""Asks git for what a repository keeps, so that nothing of the repository is run or changed.

Names and bytes are given as they were committed, without filters, conversions or hooks, and nothing is
fetched.
"""

from __future__ import annotations

import os
import subprocess
from typing import IO, NamedTuple

LINK, MODULE = "120000", "160000"
"""Modes of a symbolic link and of another repository within this one."""

PART = 1 << 20
"""Bytes that are read at a time of what is not wanted."""

GIT = (
    "git", "--no-pager", "-c", "core.fsmonitor=false", "-c", f"core.hooksPath={os.devnull}", "-c",
    "protocol.allow=never",
)  # fmt: skip
SURROUNDINGS = {
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}


class RevisionError(Exception):
    """A revision cannot be read; the message is for a person."""


class Entry(NamedTuple):
    """A file of a revision: its mode, and the name of its content."""

    mode: str
    object: str


class Objects:
    """Contents by their names, given by one process of git."""

    def __init__(self) -> None:
        """Leave git alone until something is asked for."""
        self._process: subprocess.Popen[bytes] | None = None

    def content(self, entry: Entry, most: int) -> bytes | None:
        """Give the content of a file.

        Args:
            entry: the file.
            most: bytes that are wanted.

        Returns:
            Its bytes as committed; None where there are more.

        Raises:
            RevisionError: the clone does not have it.
        """
        if self._process is None:
            self._process = _start("cat-file", "--batch", told=subprocess.DEVNULL)
        asks, answers = _streams(self._process)
        asks.write(f"{entry.object}\n".encode("ascii"))
        asks.flush()
        head = answers.readline().split()
        if len(head) != 3 or head[1] != b"blob":
            raise RevisionError("this clone lacks some contents of the revision; fetch it whole")
        left = int(head[2])
        content = answers.read(left) if left <= most else None
        while content is None and left > 0:
            left -= len(answers.read(min(left, PART))) or left
        answers.read(1)
        return content

    def end(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None


def top_folder() -> str:
    """Give the top folder of the repository that the working folder lies in.

    Returns:
        Its path, links followed.

    Raises:
        RevisionError: there is no git, or no repository.
    """
    root = _git("rev-parse", "--show-toplevel")
    return os.path.realpath(os.fsdecode(root.removesuffix(b"\n")))


def commit_of(name: str) -> str:
    """Give the commit that a name stands for.

    Args:
        name: as git takes it: a branch, a tag, a hash, `HEAD~1`.

    Returns:
        Its hash.

    Raises:
        RevisionError: there is no such commit in this clone.
    """
    try:
        found = _git("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
    except RevisionError:
        told = f"{name!r} is no commit of this repository; a clone that was not fetched whole may lack it"
        raise RevisionError(told) from None
    return found.decode("ascii").strip()


def entries_of(commit: str) -> dict[str, Entry]:
    """Give every file of a commit.

    Args:
        commit: its hash.

    Returns:
        Files by path from the top folder.

    Raises:
        RevisionError: the clone does not have it all.
    """
    listed = _git("ls-tree", "-r", "-z", "--full-tree", commit)
    return dict(map(_entry, listed.split(b"\0")[:-1]))


def _entry(line: bytes) -> tuple[str, Entry]:
    """A line of the listing: mode, kind, name of the object, tab, path."""
    told, _, path = line.partition(b"\t")
    mode, _, name = told.decode("ascii").split()
    return os.fsdecode(path), Entry(mode, name)


def _git(*arguments: str) -> bytes:
    process = _start(*arguments, told=subprocess.PIPE)
    out, told = process.communicate()
    if process.returncode:
        raise RevisionError(f"git says: {told.decode('utf-8', 'replace').strip() or 'nothing'}")
    return out


def _start(*arguments: str, told: int) -> subprocess.Popen[bytes]:
    surroundings = {**os.environ, **SURROUNDINGS}
    pipe = subprocess.PIPE
    try:
        return subprocess.Popen([*GIT, *arguments], stdin=pipe, stdout=pipe, stderr=told, env=surroundings)
    except OSError as error:
        raise RevisionError(f"git cannot be run: {error.strerror}") from None


def _streams(process: subprocess.Popen[bytes]) -> tuple[IO[bytes], IO[bytes]]:
    assert process.stdin is not None
    assert process.stdout is not None
    return process.stdin, process.stdout
