"""Where something stands in a file, and what is wrong there."""

from dataclasses import dataclass
from typing import NamedTuple


class Position(NamedTuple):
    """A place in a file; line and column count from 1, columns in characters.

    A named tuple and not a dataclass, because some five hundred are made for every file that is
    read.
    """

    file: str
    line: int
    column: int


@dataclass(frozen=True, order=True)
class Problem:
    """Something that keeps a file from being used, told to the person who has to mend it."""

    file: str
    line: int
    column: int
    path: str
    expected: str
    came: str
    advice: str

    @property
    def message(self) -> str:
        """Everything but the place, as one sentence or two."""
        told = f"expected {self.expected}, came {self.came}"
        return f"{told}; {self.advice}" if self.advice else told


def problem_at(position: Position, path: str, expected: str, came: str, advice: str) -> Problem:
    """Give the problem at a position.

    Args:
        position: The place.
        path: Dotted path of the value, "" for the whole file.
        expected: What would have been right there.
        came: What stands there.
        advice: What to do, "" where it goes without saying.

    Returns:
        The problem.
    """
    return Problem(*position, path=path, expected=expected, came=came, advice=advice)


def told(value: object) -> str:
    """Say what a value from a file is, short enough for one line.

    Args:
        value: A value as read: text, number, true or false, list, mapping or None.

    Returns:
        Words such as `text "3,65"` or `a list`.
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:.1f}" if isinstance(value, float) and value % 1 == 0 else shown(value)
    if isinstance(value, str):
        return f'the text "{cut(value)}"'
    return "a list" if isinstance(value, list) else "a mapping"


def shown(number: float) -> str:
    """Write a number as a person would: no trailing zeros, long ones shortened.

    Args:
        number: Any finite number.

    Returns:
        Its text.
    """
    return f"{number:.12g}" if isinstance(number, float) or abs(number) > 10**12 else str(number)


def cut(text: str) -> str:
    """Shorten a text from a file and make what cannot be printed visible.

    Args:
        text: Any text.

    Returns:
        At most 60 printable characters.
    """
    plain = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text[:61])
    return plain if len(text) <= 60 and len(plain) <= 60 else plain[:57] + "..."
