"""The expression engine of the rules, behind one small interface so that it can be exchanged.

Measured with cel-expr-python 0.1.3 on two shared cores: import 20 ms, compile 0.13 ms, take what was
compiled before 0.02 ms, evaluate 0.05 ms at first and 0.004 ms after that with a prepared activation, 0.1 ms
with plain data. The engine keeps the arguments of a function written in Python for ever, 160 bytes a call, so
comparisons with a tolerance are functions for whoever writes a rule, and spelled out when it is compiled.
"""

from __future__ import annotations

import math
import os
from binascii import a2b_base64, b2a_base64
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from bmslint.judge.expression import ROOTS, Token, tokens_of
from bmslint.judge.faults import RuleError
from bmslint.judge.prepared import prepared

Result = bool | float | str


class MissingKey(NamedTuple):
    """An evaluation came upon a key that is not there; `key` as the engine tells it."""

    key: str


class Values(NamedTuple):
    """Variables handed to the engine once and used by many evaluations."""

    activation: Any


_COMPARISONS = {"not_above": ("<=", "+"), "not_below": (">=", "-")}
"""By name, the two signs of `value <= limit + tolerance`."""
_OPENING, _CLOSING = frozenset("([{"), frozenset(")]}")


@cache
def _cel() -> Any:
    from cel_expr_python import cel

    return cel


@cache
def _environment() -> Any:
    cel = _cel()
    real, truth = cel.Type.DOUBLE, cel.Type.BOOL
    functions = [
        cel.FunctionDecl(name, [cel.Overload(f"{name}_double", truth, [real] * 3)]) for name in _COMPARISONS
    ]
    return cel.NewEnv(variables=dict.fromkeys(ROOTS, cel.Type.DYN), functions=functions)


@cache
def compiled(text: str) -> Any:
    """Compile an expression, once for each text.

    Args:
        text: an expression in the Common Expression Language.

    Returns:
        The engine's own form, to be given to `evaluate`.

    Raises:
        RuleError: the text is not an expression, or names an unknown variable or function.
    """
    known = _kept(text)
    if known is not None:
        return known
    try:
        return _compiled(text)
    except RuntimeError as error:
        what, offset = _compile_error(str(error), text)
        raise RuleError(what, offset=offset) from None


def _compiled(text: str) -> Any:
    """Compile as it is written, so that faults are told at their places, and then what is evaluated."""
    as_written = _environment().compile(text)
    spelled = _spelled_out(text)
    return as_written if spelled == text else _environment().compile(spelled)


def _spelled_out(text: str) -> str:
    """Write comparisons with a tolerance as what they mean, the innermost first."""
    while True:
        tokens = tokens_of(text)
        calls = [at for at, token in enumerate(tokens[:-1]) if token.text in _COMPARISONS]
        if not calls:
            return text
        first, second, end = _ends_of_arguments(tokens, calls[-1] + 1)
        name, begins = tokens[calls[-1]], tokens[calls[-1] + 1].offset + 1
        compare, widen = _COMPARISONS[name.text]
        value, limit, tolerance = text[begins:first], text[first + 1 : second], text[second + 1 : end]
        # A comment at the end of an argument ends with its line.
        meaning = f"(({value}\n) {compare} ({limit}\n) {widen} ({tolerance}\n))"
        text = text[: name.offset] + meaning + text[end + 1 :]


def _ends_of_arguments(tokens: list[Token], at: int) -> list[int]:
    """Where the arguments of a call end that opens at a token: at two commas and a bracket."""
    ends, depth = [], 0
    for token in tokens[at:]:
        depth += (token.text in _OPENING) - (token.text in _CLOSING)
        if depth == 0 or (depth == 1 and token.text == ","):
            ends.append(token.offset)
        if depth == 0:
            break
    return ends


def _kept(text: str) -> Any | None:
    """Give what was compiled before, if this engine did it and takes it back."""
    form = prepared().expressions.get(text)
    if form is None or prepared().engine != version():
        return None
    try:
        return _environment().deserialize(a2b_base64(form))
    except (RuntimeError, ValueError):
        return None


def kept_form(text: str) -> str:
    """Compile an expression to be kept.

    Args:
        text: the expression.

    Returns:
        What the engine can make it of again, as printable characters.
    """
    form: bytes = _compiled(text).serialize()
    return b2a_base64(form, newline=False).decode("ascii")


def same_form(one: str, other: str) -> bool:
    """Whether two forms are of the same parts, which the engine writes in no order.

    Args:
        one: what `kept_form` gave.
        other: what it gave another time.

    Returns:
        True if they have the same bytes, in whatever order.
    """
    return sorted(a2b_base64(one)) == sorted(a2b_base64(other))


@cache
def version() -> str:
    """Name the engine that is installed.

    Returns:
        Its name and version, as the folder beside it tells; the library that asks for versions takes
        longer to import than all of the judge. "" where there is no such folder.
    """
    beside = os.listdir(Path(_cel().__file__).parents[1])  # noqa: PTH208
    found = [name for name in beside if name.startswith("cel_expr_python-") and name.endswith(".dist-info")]
    return found[0].removesuffix(".dist-info") if len(found) == 1 else ""


def _compile_error(message: str, text: str) -> tuple[str, int]:
    """Take the first message and its place from what the engine prints."""
    first = message.splitlines()[0]
    parts = first.split("<input>:", 1)
    if len(parts) == 1:
        return first.split(" [")[0].split(": ", 1)[-1], 0
    line, column, what = parts[1].split(":", 2)
    what = what.split(" (in container")[0].split(", expecting")[0].strip()
    if " expecting {" in what:
        what = what.split(" expecting {")[0]
    if int(line) < 1:
        return what, 0
    before = text.split("\n")[: int(line) - 1]
    return what, sum(len(row) + 1 for row in before) + int(column) - 1


def values(variables: Mapping[str, Any]) -> Values:
    """Hand variables to the engine.

    Args:
        variables: plain data by name: mappings, lists, text, truth values and floats.

    Returns:
        The variables in the engine's form. They must not be changed afterwards.
    """
    return Values(_environment().Activation(dict(variables)))


def evaluate(text: str, variables: Values) -> Result | MissingKey:
    """Evaluate an expression.

    Args:
        text: the expression.
        variables: what `values` gave.

    Returns:
        True, False, a finite number or a text; or the key that was not there.

    Raises:
        RuleError: anything else that the engine gives: an error, an endless loop, a list, a number
            that is not finite.
    """
    expression = compiled(text)
    try:
        result = expression.eval(variables.activation)
    except RuntimeError as error:
        raise RuleError(str(error).split(" [")[0].split(": ", 1)[-1]) from None
    value = result.plain_value()
    if value is True or value is False:  # an error's plain form is a text
        return value
    cel = _cel()
    kind = result.type()
    if kind == cel.Type.ERROR:
        return _error(str(value))
    if kind == cel.Type.DOUBLE or kind == cel.Type.INT:
        if not math.isfinite(value):
            raise RuleError("gives a number that is not finite")
        return float(value)
    if kind == cel.Type.STRING:
        return str(value)
    raise RuleError(f"gives {kind.name()}; a rule gives true or false, a number or a text")


def _error(message: str) -> MissingKey:
    """Tell a key that is not there from a fault of the rule.

    An error comes back from the engine as a value whose plain form is a non-empty text, which
    Python takes for true; it must never count as one.
    """
    for start in ("NOT_FOUND: Key not found in map : ", "UNKNOWN: No value with name "):
        if message.startswith(start):
            return MissingKey(message.removeprefix(start).split('"')[1])
    if message.startswith("UNKNOWN: Index error: "):
        return MissingKey(message.split("index=")[1].split(" ")[0])
    raise RuleError(message.split(": ", 1)[-1])
