"""The neutral settings format: schema, reader and positions."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bmslint.settings.places import Position, Problem
    from bmslint.settings.reader import Document, read, read_text, revalidated

__all__ = ["Document", "Position", "Problem", "read", "read_text", "revalidated"]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'bmslint.settings' has no attribute {name!r}")
    from bmslint.settings import places, reader  # late: a rule file needs the parser and no reader

    return getattr(places if hasattr(places, name) else reader, name)
