"""Files that are there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def replace_file(path: Path, text: str) -> None:
    """Write a file so that a crash in the middle leaves what was there before.

    Args:
        path: the file.
        text: its content, written as UTF-8.

    Raises:
        OSError: the folder or file cannot be written.
    """
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
