"""Files that are there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def replace_file(path: Path, text: str) -> None:
    """Write a file so that a crash in the middle leaves what was there before.

    Args:
        path: the file; a link keeps leading to its target, and a device or pipe is written to.
        text: its content, written as UTF-8.

    Raises:
        OSError: the folder or file cannot be written.
    """
    if path.exists() and not path.is_file():
        # Put in the place of a device such as the null device, a file would be found there by all others.
        with path.open("w", encoding="utf-8", newline="\n") as device:
            device.write(text)
        return
    if path.is_symlink() and path.exists():
        path = path.resolve()
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(handle)
        Path(name).chmod(path.stat().st_mode if path.exists() else 0o666 & ~_umask())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
