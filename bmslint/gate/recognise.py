"""Tells a settings file from other YAML and JSON by its keys at the top level, without reading it whole.

Nothing is parsed: a damaged profile has to be recognised too, so that it is reported and not passed over.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

SECTIONS = frozenset(
    {
        "title", "pack", "heater", "sensors", "protection", "charge_current", "charge_paths", "balancing",
        "full_charge", "charger", "load", "storage", "site", "accepted", "not_applicable",
    }
)  # fmt: skip
"""Keys at the top level of a settings file, but `format` and `extends`."""

_BOM, _WIDE = b"\xef\xbb\xbf", (b"\xff\xfe", b"\xfe\xff")
_KEY = re.compile(rb"([\"']?)([A-Za-z_]+)\1[ \t]*:(?:[ \t]|$)|\?[ \t]+([\"']?)([A-Za-z_]+)\3[ \t]*$")
_BEGINS = rb"(?:(?<=[\s{\[,:])|(?<=^))"
_FLOW = re.compile(
    _BEGINS + rb"(\"(?:[^\"\\]|\\.)*\"|'(?:[^']|'')*'|[A-Za-z_]+(?=[ \t]*:[\s,}]))([ \t\r\n]*:)?"
    rb"|[{}\[\]]|(?<=\s)#[^\n\r]*",
    re.DOTALL,
)


def is_settings(text: bytes) -> bool:
    """Say whether a text is a settings file, damaged or not.

    Args:
        text: the bytes of a YAML or JSON file.

    Returns:
        Whether it has the key `format` at the top level, or `extends` beside another key of the format;
        a key is seen where it is written plainly or in quotes.
    """
    if text.startswith(_WIDE):  # not readable as settings, but to be reported
        text = text.decode("utf-16", "replace").encode("utf-8", "replace")
    if b"format" not in text and b"extends" not in text:
        return False
    extends = section = False
    for key in _top_level_keys(text.removeprefix(_BOM)):
        extends |= key == "extends"
        section |= key in SECTIONS
        if key == "format" or (extends and section):
            return True
    return False


def _top_level_keys(text: bytes) -> Iterator[str]:
    top: int | None = None
    at = 0
    for line in text.splitlines(keepends=True):
        bare = line.lstrip(b" ")
        begins = bare.removeprefix(b"---").lstrip()
        if begins.startswith(b"{") and top is None:
            yield from _flow_keys(text[at:])
            return
        at += len(line)
        if not begins or begins.startswith((b"#", b"%", b"...")):
            continue
        indent = len(line) - len(bare)
        top = indent if top is None else top
        if indent == top and (match := _KEY.match(bare.rstrip())):
            yield (match[2] or match[4]).decode()


def _flow_keys(text: bytes) -> Iterator[str]:
    """Keys of the outermost braces."""
    depth = 0
    for match in _FLOW.finditer(text):
        if match[1] is not None:
            if depth == 1 and (match[2] is not None or match[1][:1] not in b"\"'"):
                yield match[1].strip(b"\"'").decode("utf-8", "replace")
        elif match[0] in (b"{", b"["):
            depth += 1
        elif match[0] in (b"}", b"]"):
            depth -= 1
