"""Files that are there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import IO


class NewFile:
    """A file in the making: what was at its place before stays there until all of it is written.

    A link keeps leading to its target. A device or pipe is written to at once: put in the place of a device
    such as the null device, a file would be found there by all others.
    """

    def __init__(self, path: Path) -> None:
        """Open a file beside the one that it is to replace.

        Args:
            path: the file to replace, or to make.

        Raises:
            OSError: the folder or file cannot be written.
        """
        self._path = path.resolve() if path.is_symlink() and path.exists() else path
        self._beside: Path | None = None
        if path.exists() and not path.is_file():
            self.stream: IO[str] = path.open("w", encoding="utf-8", errors="backslashreplace", newline="\n")
            return
        handle, name = tempfile.mkstemp(dir=self._path.parent, prefix=f".{self._path.name}.")
        self._beside = Path(name)
        self.stream = os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace", newline="\n")

    def keep(self) -> None:
        """Put the file into its place.

        Raises:
            OSError: something of it could not be written; the place is as it was.
        """
        try:
            self.stream.flush()
            if self._beside is not None:
                os.fsync(self.stream.fileno())
            self.stream.close()
            if self._beside is not None:
                old = self._path.stat().st_mode if self._path.exists() else 0o666 & ~_umask()
                self._beside.chmod(old)
                self._beside.replace(self._path)
        except BaseException:
            self.drop()
            raise

    def drop(self) -> None:
        """Leave everything as it was; does nothing to a file that was put into its place."""
        with suppress(OSError):  # what could not be written is not wanted
            self.stream.close()
        if self._beside is not None:
            self._beside.unlink(missing_ok=True)


def replace_file(path: Path, text: str) -> None:
    """Write a file so that a crash in the middle leaves what was there before.

    Args:
        path: the file; a link keeps leading to its target, and a device or pipe is written to.
        text: its content, written as UTF-8.

    Raises:
        OSError: the folder or file cannot be written.
    """
    file = NewFile(path)
    try:
        file.stream.write(text)
    except BaseException:
        file.drop()
        raise
    file.keep()


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
