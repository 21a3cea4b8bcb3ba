"""Settings as the pure-Python loader of ruamel.yaml reads them, to compare our own reader with."""

from datetime import date
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML


def load(source: Path | bytes) -> Any:
    """Load YAML with dates as text, as the core schema of YAML 1.2 has them."""
    return undated(YAML(typ="safe", pure=True).load(source))


def undated(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: undated(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [undated(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value
