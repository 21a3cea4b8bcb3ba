"""Markup that is safe by how it is made: every text is escaped when it becomes part of an element.

Only this module writes angle brackets. A text from outside, such as the title of a settings file, is shown
as text whatever it holds: markup is escaped, and characters that move the cursor or the reading order are
written as their code points.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

from bmslint.judge.template import visible

VOID = frozenset({"br", "col", "hr", "input", "link", "meta"})
"""Elements of HTML without content and without an end tag."""

Attribute = str | int | float | bool | None

_UNIT = re.compile(r"\bdegC\b")
_APART = re.compile(r"(?<=\d) (?=(?:°C|[KAVWhs%]|mV|Ah|Wh|min|mm|mA)(?!\w))")
_NAMED = re.compile(r"`([^`]+)`")
_MINUS = re.compile(r"(?<![\w.)\]-])-(?=\d)")


class Markup(str):
    """Text that is markup already and is not escaped again."""

    __slots__ = ()


def tag(name: str, /, *children: Markup | str | Iterable[Markup | str], **attributes: Attribute) -> Markup:
    """Write an element.

    Args:
        name: the element's name.
        children: its content in order; plain text is escaped, None is not allowed.
        attributes: by name; a trailing `_` is dropped and others become `-`, so that `class_` and
            `aria_label` can be written. None and False leave an attribute out, True writes its name alone.

    Returns:
        The element.
    """
    head = f"<{name}{''.join(_attribute(key, value) for key, value in attributes.items())}>"
    if name in VOID:
        return Markup(head)
    return Markup(f"{head}{joined(*children)}</{name}>")


def joined(*children: Markup | str | Iterable[Markup | str]) -> Markup:
    """Put contents after each other without an element around them.

    Args:
        children: as for `tag`.

    Returns:
        Their markup.
    """
    parts: list[str] = []
    for child in children:
        if isinstance(child, Markup):
            parts.append(child)
        elif isinstance(child, str):
            parts.append(escape(visible(child), quote=False))
        else:
            parts.append(joined(*child))
    return Markup("".join(parts))


def prose(text: str) -> Markup:
    """Give a sentence of a rule or a fact as a person reads it.

    Args:
        text: words with units as keys have them.

    Returns:
        The same with degrees Celsius by their sign, a true minus, and numbers held together with their units,
        and what stands between backticks as a name; names of settings stay as they are.
    """
    plain = _MINUS.sub("\u2212", _UNIT.sub("°C", " ".join(text.split())))
    return Markup(_NAMED.sub(r"<code>\1</code>", _APART.sub("\u00a0", joined(plain))))


def outside(text: str) -> Markup:
    """Write a text from a settings file so that its reading direction does not touch what stands around it.

    Args:
        text: any text.

    Returns:
        The text, isolated.
    """
    return tag("bdi", text)


def code(text: str) -> Markup:
    """Write a name that stands in a file: a setting, a rule, a place.

    Args:
        text: the name; lines may break after its dots, colons, slashes and hyphens.

    Returns:
        The name.
    """
    return tag("code", text)


def number(value: float) -> str:
    """Write a coordinate.

    Args:
        value: a finite number.

    Returns:
        At most one decimal, no trailing zero.
    """
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def degrees(value_degC: float) -> str:
    """Write a temperature for a drawing.

    Args:
        value_degC: in degC.

    Returns:
        At most one decimal, a true minus, the unit.
    """
    return f"{number(value_degC)} °C".replace("-", "\u2212")


def _attribute(key: str, value: Attribute) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    shown = number(value) if isinstance(value, float) else visible(str(value))
    return f' {name}="{escape(shown)}"'
