"""Texts within Markdown, such that nothing in them is taken for a mark, a link or a person's name."""

from __future__ import annotations

import re

from bmslint.judge.template import visible

_MARKS = re.compile(r"([\\`*_\[\]<&~$|])")
"""What has a meaning anywhere within a line."""

_APART = "&#8203;"
"""A break without width; what a host would turn into a link falls apart at it."""

_LINKS = re.compile(r"(?<=@)|(?<=#)(?=\d)|(?<=:)(?=//)|(?<=www)(?=\.)", re.IGNORECASE)


def prose(text: str) -> str:
    """Give a text as it is to be read within a line, after other words.

    Args:
        text: any text.

    Returns:
        One line of Markdown that shows the text.
    """
    parts = _LINKS.split(visible(text))
    return _APART.join(_MARKS.sub(r"\\\1", part) for part in parts)


def code(text: str) -> str:
    """Give a text as a word of a program, to be copied as it is.

    Args:
        text: any text.

    Returns:
        One line of Markdown that shows the text in the type of programs; a bar is escaped for tables.
    """
    shown = visible(text)
    longest = max((len(run) for run in re.findall("`+", shown)), default=0)
    fence = "`" * (longest + 1)
    pad = " " if shown.startswith("`") or shown.endswith("`") or not shown.strip() else ""
    return f"{fence}{pad}{shown}{pad}{fence}"
