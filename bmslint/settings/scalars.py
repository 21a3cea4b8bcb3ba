"""Plain scalars of YAML 1.2, resolved by its core schema (YAML 1.2.2, section 10.3.2)."""

import math
import re

_WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_FIRST = frozenset("+-.0123456789")
_DECIMAL = re.compile(r"[-+]?[0-9]+\Z")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")
_OTHER_BASE = re.compile(r"0o[0-7]+\Z|0x[0-9a-fA-F]+\Z")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)\Z|\.(nan|NaN|NAN)\Z")

# Longer than any number that a double can hold; also keeps int() from refusing thousands of digits.
_MAX_DIGITS = 309


class NotFiniteError(ValueError):
    """The scalar is infinite, not a number, or too large for a double."""


def resolve(text: str) -> str | int | float | bool | None:
    """Give the value of a plain scalar.

    `yes`, `no`, `on` and `off` are text, as in YAML 1.2.

    Args:
        text: The scalar as written, without quotes around it.

    Returns:
        None, a truth value, a finite number, or the text itself.

    Raises:
        NotFiniteError: for infinity, not-a-number, and numbers beyond the range of a double.
    """
    if not text or text[0] not in _FIRST:
        return _WORDS.get(text, text)
    if _DECIMAL.match(text):
        if len(text) > _MAX_DIGITS:
            raise NotFiniteError(text)
        return int(text)
    if _FLOAT.match(text):
        value = float(text)
        if not math.isfinite(value):
            raise NotFiniteError(text)
        return value
    if _OTHER_BASE.match(text):
        if len(text) > _MAX_DIGITS // 2:
            raise NotFiniteError(text)
        return int(text, 0)
    if _NOT_FINITE.match(text):
        raise NotFiniteError(text)
    return text
