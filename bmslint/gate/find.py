"""Finds the settings files among files and folders."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

SUFFIXES = frozenset({".yaml", ".yml", ".json"})


def settings_files(names: Sequence[str]) -> list[Path]:
    """Find the settings files among files and folders.

    Args:
        names: files, taken as they are, and folders, searched with everything below them for YAML and
            JSON files that say the settings format.

    Returns:
        Each file once, sorted.
    """
    found: set[Path] = set()
    for name in names:
        path = Path(name)
        if path.is_dir():
            found |= {each for each in path.rglob("*") if each.suffix in SUFFIXES and _is_settings(each)}
        else:
            found.add(path)
    return sorted(found)


def _is_settings(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(65536)
    except OSError:
        return False
    return any(
        line.lstrip(b"\xef\xbb\xbf{ \t").startswith((b"format:", b'"format"')) for line in head.splitlines()
    )
