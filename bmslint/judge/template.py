"""Message templates: dotted paths and a number format, nothing more."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from bmslint.judge.expression import ROOTS
from bmslint.judge.faults import RuleError

_FIELD = re.compile(r"\{([^{}]*)\}")
_PATH = re.compile(r"[A-Za-z_]\w*(?:\.[A-Za-z_]\w*|\[\d+\])*\Z")
_FORMATS = frozenset({".0f", ".1f", ".2f", ".3f"})
_NAMES = frozenset({*ROOTS, "value", "limit", "parameters"})
NOT_GIVEN = "(not given)"


class Template(NamedTuple):
    """Texts and fields in turn: `parts` starts and ends with a text, fields stand between."""

    texts: tuple[str, ...]
    fields: tuple[tuple[str, str], ...]

    def fill(self, look_up: Callable[[str], object]) -> str:
        """Put values in the place of fields.

        Args:
            look_up: gives the value at a path, None if there is none.

        Returns:
            The text on one line, free of control characters.
        """
        out = [self.texts[0]]
        for (path, form), text in zip(self.fields, self.texts[1:], strict=True):
            out += [show(look_up(path), form), text]
        return "".join(out)


def read_template(text: str) -> Template:
    """Read a template.

    Args:
        text: text with fields such as `{facts.sensing.curve_error_K:.1f}`.

    Returns:
        The template.

    Raises:
        RuleError: a field that is not a path of known names, an unknown number format, a lone brace.
    """
    texts: list[str] = []
    fields: list[tuple[str, str]] = []
    end = 0
    for match in _FIELD.finditer(text):
        texts.append(_plain(text[end : match.start()], end))
        path, _, form = match.group(1).partition(":")
        if not _PATH.match(path) or path.split(".")[0].split("[")[0] not in _NAMES:
            raise RuleError(f"{{{match.group(1)}}} is not a path of known names", offset=match.start())
        if form and form not in _FORMATS:
            known = ", ".join(sorted(_FORMATS))
            raise RuleError(f"{form!r} is not a number format; known are {known}", offset=match.start())
        fields.append((path.removeprefix("settings."), form))
        end = match.end()
    texts.append(_plain(text[end:], end))
    return Template(tuple(texts), tuple(fields))


def _plain(text: str, start: int) -> str:
    for brace in "{}":
        if brace in text:
            raise RuleError(f"a lone {brace}", offset=start + text.index(brace))
    return text


def show(value: object, form: str = "") -> str:
    """Write a value for a person.

    Args:
        value: a number, a text, a truth value, a list of them, or None.
        form: one of .0f, .1f, .2f, .3f for a number, or empty for its shortest form.

    Returns:
        The text on one line, free of control characters.
    """
    if value is None:
        return NOT_GIVEN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        number = format(value, form or ".10g")
        return number[1:] if number.startswith("-") and not number.strip("-0.") else number
    if isinstance(value, list):
        return ", ".join(show(each, form) for each in value)
    if isinstance(value, dict):
        return ", ".join(f"{visible(str(key))}: {show(each, form)}" for key, each in value.items())
    return visible(str(value))


def visible(text: str) -> str:
    """Give a text from outside as one line in which nothing moves the cursor or the reading order.

    Args:
        text: any text.

    Returns:
        The text with control, format and line-separating characters written as their code points.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(char if char.isprintable() else f"<U+{ord(char):04X}>" for char in text)
