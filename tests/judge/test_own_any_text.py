"""Any bytes as a rule or as changes load or are told as faults of a file; nothing else ever comes out."""

import tempfile
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st
from test_own import BASE, RULE

from bmslint.judge.faults import PackError
from bmslint.judge.pack import load_pack

CHANGES = "rules:\n  base: {severity: note, parameters: {most_K: 8}, reason: x}\n"
WORDS = [
    "id", "tried", "severity", "reject", "require", "each", "sensors.*", "item", "parameters", "facts.block",
    "needs", "suggest", "covers", "at", "says", "[", "]", "{", "}", ": ", ", ", "\n", "  ", "- ", "'", '"',
    "null", "true", "1", "1.5", "&a ", "*a", "<<", "!!str ", "{here}", "{parameters.x}",
    "\u2028", "\x85", "---\n",
]  # fmt: skip


@st.composite
def spoilt(draw: st.DrawFn, text: str) -> bytes:
    """A sound text with a stretch of it replaced by words of such files, or by anything."""
    start = draw(st.integers(0, len(text)))
    end = draw(st.integers(start, min(start + 30, len(text))))
    words = draw(st.lists(st.sampled_from(WORDS), max_size=6).map("".join))
    bytes_between = draw(st.one_of(st.just(words.encode()), st.binary(max_size=12)))
    return text[:start].encode() + bytes_between + text[end:].encode()


def came_of(rule: bytes, changes: bytes) -> str:
    with tempfile.TemporaryDirectory() as folder:
        base, own = Path(folder) / "base" / "family", Path(folder) / "own"
        base.mkdir(parents=True)
        own.mkdir()
        (base / "base.yaml").write_text(BASE, encoding="utf-8")
        (own / "tried.yaml").write_bytes(rule)
        (own / "changes.yaml").write_bytes(changes)
        try:
            load_pack(base.parent, [own])
        except PackError as error:
            files = {f"{own}/tried.yaml", f"{own}/changes.yaml"}
            sound = all(each.file in files and each.message for each in error.problems)
            return "told" if sound else str(error)
    return "loaded"


SOUND = RULE.format(id="tried", require="pack.series > 1.0")


@settings(max_examples=300, deadline=None, derandomize=True)
@given(rule=spoilt(SOUND), changes=spoilt(CHANGES))
@example(rule=b"", changes=b"")
@example(rule=b"\xff", changes=b"\xff")
@example(rule=SOUND.replace("at: protection.charge_cold", "at:").encode(), changes=b"rules: {base: }")
@example(rule=SOUND.encode() + b"parameters: {x: }\n", changes=b"rules: {base: {parameters: , reason: x}}")
@example(rule=SOUND.encode() + b"suggest:\n- {set: '{parameters}', to: parameters}\n", changes=b"rules:\n")
def test_any_rule_and_any_change(rule: bytes, changes: bytes) -> None:
    assert came_of(rule, changes) in ("loaded", "told")


def test_what_is_spoilt_is_sound_before() -> None:
    assert came_of(SOUND.encode(), CHANGES.encode()) == "loaded"
