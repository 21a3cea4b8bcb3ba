"""Gets the bytes of a file, or says why not."""

import os
import stat
from pathlib import Path
from typing import NamedTuple, Protocol

from bmslint.settings.places import Position, Problem, problem_at
from bmslint.settings.repository import repository_root
from bmslint.settings.tree import MAX_BYTES
from bmslint.settings.unreadable import too_large


class Boundary(NamedTuple):
    """A folder that `extends` may not leave: its real name, what it is, and what to do if it has to."""

    folder: str
    what: str
    advice: str


class Source(Protocol):
    """Where settings files are read from: the disk, or what a repository keeps of them."""

    def load(self, path: Path, name: str) -> bytes | Problem:
        """Read a file, as `load` below does."""

    def real(self, path: Path) -> str:
        """Give the one name of a file, whatever way leads to it."""

    def boundary(self, folder: Path) -> Boundary | None:
        """Give what files in a folder may not reach out of; None where `load` sees to that."""


class Disk:
    """The files as they lie on the disk."""

    def load(self, path: Path, name: str) -> bytes | Problem:
        """Read a file, as `load` below does."""
        return load(path, name)

    def real(self, path: Path) -> str:
        """Give the one name of a file, links followed."""
        try:
            return os.path.realpath(path)
        except ValueError:  # a name that no file can have
            return str(path)

    def boundary(self, folder: Path) -> Boundary:
        """Give the repository of a folder; without one the working folder if it is around, or itself."""
        here = os.path.abspath(folder)  # noqa: PTH100  # a link into a repository lies in it
        if (root := repository_root(Path(here))) is not None:
            return Boundary(os.path.realpath(root), "the repository", "move that file into it")
        start, real = os.path.realpath(os.curdir), os.path.realpath(here)
        if Path(real).is_relative_to(start):
            return Boundary(start, "the folder that bmslint was started in", START_ABOVE)
        return Boundary(real, "the folder of this file", START_ABOVE)


START_ABOVE = "start bmslint in a folder that holds both files, or put both into one repository"

DISK = Disk()


def load(path: Path, name: str) -> bytes | Problem:
    """Read a file, but never more of it than a settings file may have.

    Args:
        path: Where the file lies.
        name: What to call it in a problem.

    Returns:
        Its bytes, or why they cannot be had.
    """
    try:
        with path.open("rb", buffering=0) as file:
            status = os.fstat(file.fileno())
            if stat.S_ISREG(status.st_mode) and status.st_size > MAX_BYTES:
                return too_large(name, MAX_BYTES)
            parts = []
            left = MAX_BYTES + 1
            while left > 0 and (part := file.read(left)):
                parts.append(part)
                left -= len(part)
            return b"".join(parts)
    except FileNotFoundError:
        came, advice = "no such file", "check the path"
    except IsADirectoryError:
        came, advice = "a folder", "name the file in it"
    except PermissionError:
        came, advice = "a file that may not be read", "check its permissions"
    except (OSError, ValueError) as error:
        came = f"an error of the system ({getattr(error, 'strerror', None) or error})"
        advice = "check the path"
    return problem_at(Position(name, 1, 1), "", "a settings file", came, advice)
