"""What a rule's expression names, read from its text without the engine."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import NamedTuple

from bmslint.judge.faults import RuleError

SETTINGS_ROOTS = (
    "pack",
    "heater",
    "sensors",
    "protection",
    "charge_current",
    "charge_paths",
    "balancing",
    "full_charge",
    "charger",
    "load",
    "storage",
    "site",
)
"""Sections of a settings file that an expression may name directly."""

ROOTS = ("settings", "facts", "limits", "item", "key", "here", *SETTINGS_ROOTS)
"""Every variable of an expression."""

MACROS = frozenset({"all", "exists", "exists_one", "filter", "map"})
LONGEST = 2000
MOST_MAPS = 2
"""Each `map` over another may double a text or list; 26 of them took 2 GiB for a literal of 16 characters."""

_TOKEN = r"""(?P<skip>\s+|//[^\n]*)
    |(?P<text>[rRbB]{0,2}(?:\"{3}[\s\S]*?\"{3}|'{3}[\s\S]*?'{3}|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'))
    |(?P<real>\d+\.\d*(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?|\d+[eE][+-]?\d+)
    |(?P<whole>0[xX][0-9a-fA-F]+[uU]?|\d+[uU]?)
    |(?P<name>[A-Za-z_]\w*)
    |(?P<sign>&&|\|\||[<>=!]=|.)"""
_ARITHMETIC = frozenset("+-*/%")
_BEFORE_UNARY = frozenset({"(", "[", "{", ",", "?", ":", "&&", "||", "<", ">", "<=", ">=", "==", "!=", "!"})


class Token(NamedTuple):
    """One word of an expression, with its place in the text."""

    kind: str
    text: str
    offset: int


def tokens_of(text: str) -> list[Token]:
    """Split an expression into its words.

    Args:
        text: the expression.

    Returns:
        Its words in their order, without space and comments.
    """
    # Compiled at the first use, as a run reads no expression of the built-in rules.
    return [
        Token(str(match.lastgroup), match.group(), match.start())
        for match in re.finditer(_TOKEN, text, re.VERBOSE)
        if match.lastgroup != "skip"
    ]


class Reference(NamedTuple):
    """One path that an expression reads.

    `optional` says that the expression asks by `has()` whether it is there; `iterated` that it is
    walked by a macro, so that an empty collection would make the expression true of nothing.
    """

    path: str
    optional: bool
    iterated: bool


class Expression(NamedTuple):
    """The text of a condition or value, and the paths it reads."""

    text: str
    references: tuple[Reference, ...]


def read_expression(text: str) -> Expression:
    """Read the paths of an expression and refuse literals that could not be computed with.

    Args:
        text: an expression in the Common Expression Language.

    Returns:
        The text with its references, each path once.

    Raises:
        RuleError: a whole number beside an arithmetic sign (the language does not add whole numbers
            to decimal ones, and every number of a settings file is decimal), a number too large to
            hold, half a character, more than two `map`, or more than 2,000 characters.
    """
    if len(text) > LONGEST:
        raise RuleError(f"an expression of {len(text)} characters; the most is {LONGEST}")
    if not text.isascii() and any("\ud800" <= char <= "\udfff" for char in text):
        raise RuleError("half a character, which is not text")
    tokens = tokens_of(text)
    _check_literals(tokens)
    maps = [token for token, after in pairwise(tokens) if (token.text, after.text) == ("map", "(")]
    if len(maps) > MOST_MAPS:
        raise RuleError(f"{len(maps)} times map; the most is {MOST_MAPS}", offset=maps[MOST_MAPS].offset)
    found: dict[str, Reference] = {}
    for reference in _references(tokens):
        known = found.get(reference.path)
        if known is not None:
            reference = Reference(
                reference.path,
                known.optional or reference.optional,
                known.iterated or reference.iterated,
            )
        found[reference.path] = reference
    return Expression(text, tuple(found.values()))


def _check_literals(tokens: list[Token]) -> None:
    for i, token in enumerate(tokens):
        if token.kind == "real" and math.isinf(float(token.text)):
            raise RuleError(f"the number {token.text} is too large", offset=token.offset)
        if token.kind != "whole":
            continue
        after = tokens[i + 1].text if i + 1 < len(tokens) else ""
        if after in _ARITHMETIC or _computes(tokens, i - 1):
            raise RuleError(
                f"the whole number {token.text} beside an arithmetic sign; write {token.text}.0, "
                "as every number in a settings file is decimal",
                offset=token.offset,
            )


def _computes(tokens: list[Token], i: int) -> bool:
    """Whether the token at `i` is an arithmetic sign between two operands."""
    if i < 0 or tokens[i].text not in _ARITHMETIC:
        return False
    if tokens[i].text != "-":
        return True
    return not (i == 0 or tokens[i - 1].text in _BEFORE_UNARY)


def _references(tokens: list[Token]) -> list[Reference]:
    references = []
    i = 0
    while i < len(tokens):
        token = tokens[i]
        if token.kind != "name" or token.text not in ROOTS or (i and tokens[i - 1].text == "."):
            i += 1
            continue
        asked = i >= 2 and tokens[i - 1].text == "(" and tokens[i - 2].text == "has"
        path, iterated, i = _follow(tokens, i)
        if path.startswith("settings."):
            path = path.removeprefix("settings.")
        if path not in ("settings", "facts", "limits", "key", "here"):
            references.append(Reference(path, asked, iterated))
    return references


def _follow(tokens: list[Token], i: int) -> tuple[str, bool, int]:
    """Read one dotted path from the token at `i`: path, walked by a macro, index after it."""
    path = tokens[i].text
    i += 1
    while i < len(tokens):
        texts = [token.text for token in tokens[i : i + 3]]
        if texts[0] == "." and len(texts) > 1 and tokens[i + 1].kind == "name":
            if len(texts) > 2 and texts[2] == "(":
                return path, texts[1] in MACROS, i + 2
            path += "." + texts[1]
            i += 2
        elif texts[0] == "[" and len(texts) == 3 and texts[2] == "]" and tokens[i + 1].kind == "whole":
            path += f"[{texts[1]}]"
            i += 3
        elif texts[0] == "[" and len(texts) == 3 and texts[2] == "]" and tokens[i + 1].kind == "text":
            path += "." + texts[1].strip("\"'")
            i += 3
        else:
            break
    return path, False, i
