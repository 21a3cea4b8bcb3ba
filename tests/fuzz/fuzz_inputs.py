"""Inputs for the fuzz: bytes, marks, structures and damaged profiles, each made from its number alone."""

from __future__ import annotations

import json
import random
import re
import sys
from collections.abc import Callable
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "judge"))

from damages import DAMAGES

from bmslint.data import rules_dir
from bmslint.settings import read_text
from bmslint.settings.schema import json_schema

PROFILES = rules_dir().parent / "profiles"
# One profile that fails on purpose switches its heater for hours; its physics would take the time of thirty.
BASES = sorted(path for path in PROFILES.rglob("*.yaml") if path.stem != "skin-decides")
MARKS = [
    *":-?[]{},&*!|>'\"%#@` \n\t~<=.",
    "\n  ",
    "\n- ",
    ": ",
    " #",
    "---\n",
    "...\n",
    "<<: ",
    "&a ",
    "*a",
    "!!map ",
]
NUMBERS = [
    "0", "-0.0", "1", "-1", "0.001", "5", "12", "100", "273.15", "-273.15", "1e-9", "1e5", "1e308", "-1e308",
    "1e309", ".inf", ".nan", "0x10", "1,5", "1_000", "99999999999999999999", "none", "''", "true",
    "[]", "{}", "5 degC",
]  # fmt: skip
FACTORS = [-1.0, 0.0, 1e-6, 1e-3, 0.1, 0.5, 0.9, 1.0001, 1.1, 2.0, 10.0, 1e3, 1e6]


@cache
def texts() -> tuple[str, ...]:
    return tuple(path.read_text(encoding="utf-8") for path in BASES)


@cache
def trees() -> tuple[Any, ...]:
    return tuple(read_text(text, "base").tree.data for text in texts())


@cache
def words() -> tuple[str, ...]:
    """Every word of the profiles, for one to be put in the place of another."""
    return tuple(sorted({word for text in texts() for word in re.findall(r"[A-Za-z_]\w*", text)}))


def random_bytes(draw: random.Random) -> bytes:
    text = draw.randbytes(draw.randrange(120))
    return b"format: 1\n" + text if draw.random() < 0.3 else text


def random_marks(draw: random.Random) -> bytes:
    pieces = draw.choices([*MARKS, *MARKS, *words(), *NUMBERS], k=draw.randrange(1, 60))
    head = "format: 1\n" if draw.random() < 0.5 else ""
    return (head + "".join(pieces)).encode()


def structure(draw: random.Random) -> bytes:
    """Data of the format's own shape, with a part here and there that does not fit."""
    schema = _schema()
    wrong = draw.choice([0.0, 0.0, 0.01, 0.1])
    data = _drawn(draw, schema, schema["$defs"], wrong)
    if isinstance(data, dict):
        pack = data.get("pack", {})
        data["pack"] = {"chemistry": "lfp", "series": 4, **pack} if isinstance(pack, dict) else pack
        data["format"] = 1
        data.pop("extends", None)
    return json.dumps(data, allow_nan=True).encode()


@cache
def _schema() -> dict[str, Any]:
    return json_schema()


def _drawn(draw: random.Random, node: dict[str, Any], models: dict[str, Any], wrong: float) -> Any:
    if draw.random() < wrong:
        return draw.choice([None, True, -1, 1e300, "", "x", [], {}, [[]], {"": None}])
    if "$ref" in node:
        return _drawn(draw, models[node["$ref"].rpartition("/")[2]], models, wrong)
    if "anyOf" in node:
        return _drawn(draw, draw.choice(node["anyOf"]), models, wrong)
    if "const" in node or "enum" in node:
        return draw.choice(node.get("enum") or [node["const"]])
    if node["type"] == "boolean":
        return draw.random() < 0.5
    if node.get("examples") and draw.random() < (0.95 if "pattern" in node else 0.3):
        return deepcopy(draw.choice(node["examples"]))
    if node["type"] == "object":
        named = draw.random()
        properties = {
            key: _drawn(draw, inner, models, wrong)
            for key, inner in node.get("properties", {}).items()
            if key in node.get("required", ()) or draw.random() < named
        }
        for inner in node.get("patternProperties", {}).values():
            names = draw.sample(["core", "skin", "film", "board", "hull"], draw.randrange(4))
            properties |= {name: _drawn(draw, inner, models, wrong) for name in names}
        return properties
    if node["type"] == "array":
        return [_drawn(draw, node["items"], models, wrong) for _ in range(draw.choice([0, 1, 1, 2, 3]))]
    if node["type"] in ("number", "integer"):
        low = node.get("minimum", node.get("exclusiveMinimum", -1e6))
        high = node.get("maximum", node.get("exclusiveMaximum", 1e6))
        near = draw.choice(node.get("examples") or [1.0])
        value = draw.choice([low, high, near, near * draw.choice(FACTORS), draw.uniform(low, high)])
        return round(value) if node["type"] == "integer" else value
    return draw.choice(["core", "skin", "lfp", "nmc", "x", "\u00fc\u2028", "a b", "2027-03-31"])


def damaged_bytes(draw: random.Random) -> bytes:
    text = draw.choice(texts()).encode()
    for _ in range(draw.choice([1, 1, 2, 5])):
        at = draw.randrange(len(text))
        text = text[:at] + draw.randbytes(draw.randrange(3)) + text[at + draw.randrange(4) :]
    return text


def damaged_lines(draw: random.Random) -> bytes:
    lines = draw.choice(texts()).splitlines(keepends=True)
    for _ in range(draw.choice([1, 1, 2, 4])):
        at, other = draw.randrange(len(lines)), draw.randrange(len(lines))
        what = draw.randrange(5)
        if what == 0 and len(lines) > 1:
            del lines[at]
        elif what == 1:
            lines.insert(other, lines[at])
        elif what == 2:
            lines[at], lines[other] = lines[other], lines[at]
        elif what == 3:
            lines[at] = draw.choice(["  ", "\t", "- ", "# "]) + lines[at]
        else:
            lines[at] = lines[at].rstrip("\n")
    return "".join(lines).encode()


def damaged_tokens(draw: random.Random) -> bytes:
    parts = re.split(r"(#[^\n]*|-?\d[\w.+-]*|[A-Za-z_]\w*)", draw.choice(texts()))
    tokens = [index for index in range(1, len(parts), 2) if not parts[index].startswith("#")]
    for index in draw.sample(tokens, draw.choice([1, 1, 2, 3])):
        number = parts[index][0] in "-0123456789"
        parts[index] = draw.choice(NUMBERS if number or draw.random() < 0.2 else words())
    return "".join(parts).encode()


def _numbers(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(data, dict | list):
        inside = data.items() if isinstance(data, dict) else enumerate(data)
        return [found for key, value in inside for found in _numbers(value, (*path, key))]
    return [path] if isinstance(data, int | float) and not isinstance(data, bool) else []


def scaled_numbers(draw: random.Random) -> bytes:
    data = deepcopy(draw.choice(trees()))
    for path in draw.sample(_numbers(data), draw.choice([1, 1, 2, 4])):
        holder = data
        for part in path[:-1]:
            holder = holder[part]
        holder[path[-1]] *= draw.choice(FACTORS)
    return json.dumps({**data, "format": 1}).encode()


def named_damages(draw: random.Random) -> bytes:
    """One to three of the damages that the rules are held against; not all fit a profile that has one."""
    data = deepcopy(draw.choice(trees()))
    for name in draw.sample(sorted(DAMAGES), draw.choice([1, 2, 3])):
        try:
            DAMAGES[name](data)
        except (KeyError, TypeError, IndexError, AttributeError):
            continue
    return json.dumps(data).encode()


def extended(draw: random.Random) -> bytes:
    """A file that takes a profile beside it as its base, and changes or removes what that has."""
    base = draw.choice(BASES)
    over = json.loads(structure(draw))
    over = over if isinstance(over, dict) else {}
    kept = {key: over[key] if draw.random() < 0.7 else None for key in over if draw.random() < 0.3}
    name = base.relative_to(PROFILES).as_posix() if draw.random() < 0.95 else "../gone.yaml"
    return json.dumps({**kept, "format": 1, "extends": name}).encode()


KINDS: dict[str, tuple[int, Callable[[random.Random], bytes]]] = {
    "random bytes": (34, random_bytes),
    "random marks and words": (30, random_marks),
    "random structures": (8, structure),
    "profiles with damaged bytes": (12, damaged_bytes),
    "profiles with damaged lines": (7, damaged_lines),
    "profiles with damaged words and numbers": (6, damaged_tokens),
    "profiles that extend another": (1, extended),
    "profiles with scaled numbers": (1, scaled_numbers),
    "profiles with named damages": (1, named_damages),
}
"""What is fed, each with its share in percent; a file that is judged takes as long as hundreds of others."""

_CYCLE = tuple(kind for kind, (share, _) in KINDS.items() for _ in range(share))


def fuzz_input(number: int) -> tuple[str, bytes]:
    """Make an input.

    Args:
        number: which one; the same number gives the same input, as long as profiles and format stay.

    Returns:
        Its kind and its bytes.
    """
    # The cycle is walked in steps that share no divisor with it, so that a short run has every kind.
    kind = _CYCLE[number * 37 % len(_CYCLE)]
    return kind, KINDS[kind][1](random.Random(f"fuzz {number}"))
