"""The glossary explains what occurs, and nothing else."""

import re

import pytest

from bmslint.data import rules_dir
from bmslint.judge.pack import load_pack
from bmslint.output.glossary import GLOSSARY, Term, terms_in
from bmslint.output.story.doubt import CONFIDENCE
from bmslint.output.story.labels import KEYS, SECTIONS
from bmslint.output.story.silence import SAYS
from bmslint.output.story.tales import TALES
from bmslint.output.story.warmup import AFTER, HEATED, STANDING

# Words that a customer cannot be expected to know; chosen by reading every word of the rules.
JARGON = (
    "inhibit", "released", "hysteresis", "plates lithium", "soaked", "state of charge", "derated", "film",
    "unfavourable", "contactor", "relay", "thermistor", "cut-out", "over-voltage", "under-voltage", "trips",
    "chatters", "balancing", "float", "fuse", "short circuit", "electrolyte", "electrode", "dendrite",
    "pulse",
    "tail current", "trickle", "busbar", "shunt", "core", "series", "parallel", "lag", "resolution",
    "noise", "hold time", "self-discharge", "overload", "gasses", "deciding sensor", "relaxing",
    "nominal voltage",
)  # fmt: skip


@pytest.mark.parametrize("word", JARGON)
def test_a_word_of_the_trade_is_explained(word: str) -> None:
    assert terms_in([f"Something {word} somewhere."]) != ()


def test_terms_stand_in_order_with_an_explanation_of_their_own() -> None:
    words = [term.word.lower() for term in GLOSSARY]
    assert words == sorted(set(words))
    for term in GLOSSARY:
        assert re.fullmatch(r"[A-Za-z].*\.", term.means), term.word
        assert len(term.means) < 260, term.word


def test_every_term_occurs_in_what_a_person_reads() -> None:
    """In a rule, or in the sentences of stories; a term that never does would be dead."""
    texts = [
        text
        for rule in load_pack().rules
        for text in (rule.title, rule.why, rule.remedy, *rule.says.texts, rule.known_false_alarms)
    ]
    texts += [line.text for lines in TALES.values() for line in lines]
    texts += [
        *CONFIDENCE.values(),
        *SAYS.values(),
        *KEYS.values(),
        *SECTIONS.values(),
        *AFTER,
        HEATED,
        STANDING,
    ]
    # Numbers are filled in with their units; a hysteresis is named by no rule, but by those who write one.
    texts += ["5 degC apart by 5 K", "20 A", "a hysteresis of 2 K", "at the unfavourable end"]
    texts += [
        path.read_text(encoding="utf-8") for path in sorted((rules_dir().parent / "profiles").glob("*.yaml"))
    ]
    assert set(GLOSSARY) - set(terms_in(texts)) == set()


def test_only_what_occurs_is_explained() -> None:
    assert terms_in(["Nothing of the kind."]) == ()
    assert terms_in(["It Trips.", "a FUSE"]) == (
        Term("fuse", "A part that melts and opens for good when far too much current flows."),
        Term("trip", "A protection acts, because a limit was passed: it stops the current."),
    )


def test_parts_of_other_words_are_not_taken_for_a_term() -> None:
    """`strip` holds `trip`, `score` holds `core`, `plated` is a word of its own."""
    assert terms_in(["strips, a scored bracelet, refused"]) == ()
