"""What to do about a value that does not fit."""

import re
from difflib import get_close_matches
from typing import Any

from bmslint.settings.places import cut, shown
from bmslint.settings.words import unit

_COMMA = re.compile(r"\s*([-+]?[0-9]+),([0-9]+)\s*\Z")
_NUMBER = re.compile(r"\s*[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?\s*\Z")
_WITH_UNIT = re.compile(r"\s*([-+]?[0-9]+(?:[.,][0-9]+)?)\s*([^0-9\s.,:eE+-][^0-9]{0,11})\Z")
_GLUED = re.compile(r"([A-Za-z_0-9]+):\s*(\S+)\Z")
_TRUE = ("yes", "on", "y")
_FALSE = ("no", "off", "n")

# The same quantity in another unit: what it is multiplied by on the way to ours.
_SMALLER = {"V": ("mV", 1000), "Ah": ("mAh", 1000), "kg": ("g", 1000), "s": ("ms", 1000)}


def advice(nodes: list[dict[str, Any]], path: str, value: object) -> str:
    """Say what to do about a value that fits none of the choices at its place.

    Args:
        nodes: Schema nodes, one for each choice.
        path: Dotted path of the value.
        value: What the file has there.

    Returns:
        Words, "" where it goes without saying.
    """
    kinds = {node["type"]: node for node in nodes}
    words = [word for node in nodes for word in node.get("expected", ())]
    if value is None:
        return f"give a value{', write none' if 'none' in words else ''} or leave the key out"
    if isinstance(value, str):
        return _for_text(value, kinds, words, path)
    if isinstance(value, bool):
        return "write none" if value is False and "none" in words else _quoted(value, kinds)
    if isinstance(value, int | float):
        return _for_number(value, kinds, path)
    if isinstance(value, dict) and "list" in kinds:
        return "begin each item with a dash, or write the list in brackets"
    if isinstance(value, list) and kinds.keys() & {"typed-dict", "dict"}:
        return "write keys without dashes"
    return ""


def _for_text(text: str, kinds: dict[str, Any], words: list[Any], path: str) -> str:
    lower = text.strip().lower()
    if lower == "none":
        return "write none in small letters" if "none" in words else "leave the key out"
    if lower in _FALSE and "none" in words:
        return "write none"
    if kinds.keys() & {"float", "int"}:
        return _number_in(text, unit(path))
    if "bool" in kinds:
        if lower in _TRUE or lower in _FALSE:
            return f"write {'true' if lower in _TRUE else 'false'}; YAML 1.2 takes {lower} as text"
        return "write it without quotes" if lower in ("true", "false") else ""
    if glued := _GLUED.match(text):
        return f"write a space after the colon: {cut(glued[1])}: {cut(glued[2])}"
    if "list" in kinds:
        return f"write it as a list: [{cut(text)}]"
    near = get_close_matches(lower, [str(word) for word in words], n=1) if len(text) < 60 else []
    return f"did you mean {near[0]}?" if near else ""


def _number_in(text: str, wanted: str) -> str:
    """Say how to write a number; one in another unit is never handed on as it stands."""
    if comma := _COMMA.match(text):
        return f"write {comma[1]}.{comma[2]}, with a decimal point"
    if _NUMBER.match(text):
        return f"write {cut(text.strip())} without quotes"
    if with_unit := _WITH_UNIT.match(text):
        number, written = with_unit[1].replace(",", "."), _plain(with_unit[2])
        if written == _plain(wanted):
            return f"write {number}; the unit is in the key"
        return f"convert it to {wanted} and write the number alone" if wanted else "write the number alone"
    return ""


def _plain(written: str) -> str:
    """Bring a unit to one spelling: signs for degree, micro and power, case kept as mW is not MW."""
    for sign, word in (
        ("\u00b0", "deg"),
        ("\u00b5", "u"),
        ("\u03bc", "u"),
        ("\u2126", "ohm"),
        ("\u03a9", "ohm"),
    ):
        written = written.replace(sign, word)
    return {"C": "degC", "%": "pct"}.get(written.strip(), written.strip()).replace(" ", "")


def _for_number(value: float, kinds: dict[str, Any], path: str) -> str:
    if "int" in kinds and float(value).is_integer() and not isinstance(value, int):
        return f"write {int(value)}"
    number = kinds.get("float")
    if number is None:
        return _quoted(value, kinds)
    smaller, factor = _SMALLER.get(unit(path), ("", 1))
    if smaller and value > number.get("le", value):
        return f"if it is in {smaller}, write {shown(value / factor)}"
    return ""


def _quoted(value: object, kinds: dict[str, Any]) -> str:
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return f'write it in quotes: "{text}"' if "str" in kinds and "pattern" not in kinds["str"] else ""
