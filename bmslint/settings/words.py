"""What was expected, in words, from the nodes of a compiled schema."""

from typing import Any

from bmslint.settings.paths import split
from bmslint.settings.places import shown

# Endings of keys and how the unit is written; the longest ending that fits holds.
UNITS = {
    "m2K_per_W": "m2 K/W",
    "W_per_mK": "W/(m K)",
    "J_per_kgK": "J/(kg K)",
    "mV_per_K": "mV/K",
    **{
        unit: unit
        for unit in (
            "A2s", "degC", "K", "V", "mV", "A", "mA", "Ah", "W", "s", "ms", "us", "min", "mm",
            "kg", "mohm", "ohm",
        )
    },
    "pct": "%",
}  # fmt: skip

PATTERNS = {
    r"^[A-Za-z][A-Za-z0-9_]*$": "a name of letters, digits and _ that begins with a letter",
    r"^[a-z][a-z0-9_-]*$": "a name of small letters, digits, _ and -",
    r"^[a-z][a-z0-9-]*$": "the id of a rule: small letters, digits and -",
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$": "a date such as 2027-03-31",
}


def unit(path: str) -> str:
    """Give the unit of a value, which its key ends in.

    Args:
        path: Dotted path; for `charge_degC.min` the unit is that of the mapping.

    Returns:
        The unit as written in text, "" for none.
    """
    for part in reversed(split(path)):
        if "_ratio_" in str(part):
            return ""  # a ratio at a temperature has none
        words = str(part).split("_")
        for start in range(1, len(words)):
            ending = "_".join(words[start:])
            if ending in UNITS:
                return UNITS[ending]
    return ""


def expected(nodes: list[dict[str, Any]], path: str) -> str:
    """Say what may stand at a place.

    Args:
        nodes: Schema nodes, one for each choice.
        path: Dotted path, for the unit; "" for none.

    Returns:
        Words such as `a number from 0 to 100000 V, or none`.
    """
    plain = [_expected(node, path) for node in nodes if not _is_none(node)]
    if any(_is_none(node) for node in nodes):
        plain.append("none")
    return ", or ".join(dict.fromkeys(plain)) or "nothing"


def _is_none(node: dict[str, Any]) -> bool:
    return bool(node["type"] == "literal" and node["expected"] == ["none"])


def _expected(node: dict[str, Any], path: str) -> str:
    kind = node["type"]
    if kind == "int" and node.get("ge") == node.get("le") is not None:
        return f"the number {node['ge']}"
    if kind in ("float", "int"):
        noun = "a number" if kind == "float" else "a whole number"
        return " ".join(filter(None, (noun, _range(node), unit(path))))
    if kind == "literal":
        words = [str(word) for word in node["expected"]]
        return words[0] if len(words) == 1 else "one of " + ", ".join(words)
    if kind == "str":
        words_for = PATTERNS.get(node.get("pattern", ""), "a text")
        return f"{words_for}, at most {node['max_length']} characters" if "max_length" in node else words_for
    if kind == "list":
        return f"a list of at most {node['max_length']} items" if "max_length" in node else "a list"
    if kind == "bool":
        return "true or false"
    return "names with keys and values below them" if kind == "dict" else "keys and values below it"


def _range(node: dict[str, Any]) -> str:
    low = f"from {shown(node['ge'])}" if "ge" in node else ""
    if "gt" in node:
        low = f"above {shown(node['gt'])}"
    high = f"up to {shown(node['le'])}" if "le" in node else ""
    if low.startswith("from"):
        return f"{low} {high.removeprefix('up ')}".strip()
    return " and ".join(filter(None, (low, high)))
