"""Gets the bytes of a file, or says why not."""

import os
import stat
from pathlib import Path
from typing import Protocol

from bmslint.settings.places import Position, Problem, problem_at
from bmslint.settings.tree import MAX_BYTES
from bmslint.settings.unreadable import too_large


class Source(Protocol):
    """Where settings files are read from: the disk, or what a repository keeps of them."""

    def load(self, path: Path, name: str) -> bytes | Problem:
        """Read a file, as `load` below does."""

    def real(self, path: Path) -> str:
        """Give the one name of a file, whatever way leads to it."""


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
