"""Signs for verdicts and severities: each has a shape of its own, so that colour only repeats it."""

from __future__ import annotations

from bmslint.output.report.markup import Markup, tag

_RING = "M12 2.5a9.5 9.5 0 1 0 0 19a9.5 9.5 0 1 0 0-19z"
_SQUARE, _DIAMOND = "M3.5 3.5h17v17h-17z", "M12 1.8L22.2 12L12 22.2L1.8 12z"
SHAPES = {
    "accepted": f"{_RING}M7.5 12.4l3.2 3.2l6-7",
    "review": f"{_DIAMOND}M12 7v6M12 16v1.4",
    "rejected": f"{_SQUARE}M8 8l8 8M16 8l-8 8",
    "not judged": f"{_RING}M7.5 12h1.5M11.2 12h1.6M15 12h1.5",
    "unusable": f"{_SQUARE}M8 12h8",
    "reject": f"{_SQUARE}M8 8l8 8M16 8l-8 8",
    "note": f"{_RING}M12 10.5v6.5M12 7v1",
}


def sign(word: str) -> Markup:
    """Draw the sign of a verdict or severity; the word itself stands beside it.

    Args:
        word: one of `SHAPES`.

    Returns:
        The sign.
    """
    return tag("svg", tag("path", d=SHAPES[word]), class_="sign", viewBox="0 0 24 24", aria_hidden="true")


def tone(word: str) -> str:
    """Name the class that colours a verdict or severity.

    Args:
        word: a verdict or severity.

    Returns:
        A class of the style sheet.
    """
    return word.replace(" ", "-")
