"""Small damages to a rule, as a slip of the hand would make them."""

import re
from collections.abc import Iterator

from bmslint.judge.expression import Expression, read_expression
from bmslint.judge.rule import Rule

WORD = re.compile(r'"[^"]*"|\d+\.\d+|\d+|[A-Za-z_]\w*|&&|\|\||[<>=!]=|\S|\s+')
SWAPPED = {
    "<": ("<=", ">"),
    "<=": ("<",),
    ">": (">=", "<"),
    ">=": (">",),
    "==": ("!=",),
    "!=": ("==",),
    "&&": ("||",),
    "||": ("&&",),
    "!": ("",),
    "in": ("==",),
    "+": ("-",),
    "-": ("+",),
    "*": ("/",),
    "/": ("*",),
    "exists": ("all",),
    "all": ("exists",),
    "not_above": ("not_below",),
    "not_below": ("not_above",),
    "true": ("false",),
    "false": ("true",),
}


def damaged(text: str) -> Iterator[str]:
    """Damage an expression in one place.

    Args:
        text: an expression of a rule.

    Yields:
        The opposite; the expression with one operator swapped, one number moved by a hundredth of it and at
        least by a step of its last decimal, a tolerance made ten times as wide or taken away, one text
        changed, one text or clause taken out.
    """
    yield f"!({text.strip()})"
    words = WORD.findall(text)
    for i in range(len(words)):
        for other in _others(words, i):
            yield "".join([*words[:i], other, *words[i + 1 :]])
        yield from _shorter_list(words, i)
    for sign in ("&&", "||"):
        parts = text.split(sign)
        yield from (sign.join(parts[:i] + parts[i + 1 :]) for i in range(len(parts)) if len(parts) > 1)


def _shorter_list(words: list[str], i: int) -> Iterator[str]:
    """Take out one text of a list, with the comma and the space beside it."""
    if not words[i].startswith('"') or "[" not in words[:i] or words[i + 1 : i + 2] not in ([","], ["]"]):
        return
    first = words[i - 1] == "["
    before, after = (i, i + 3) if first else (i - 2, i + 1)
    yield "".join([*words[:before], *words[after:]])


def _others(words: list[str], i: int) -> tuple[str, ...]:
    word = words[i]
    if not word[0].isdigit():
        return (*SWAPPED.get(word, ()), '"another"') if word.startswith('"') else SWAPPED.get(word, ())
    if words[i + 1 : i + 2] == [")"] and "".join(words[:i]).rpartition("not_")[2].count(",") == 2:
        return (repr(float(word) * 10.0), "0.0")
    decimals = len(word.partition(".")[2])
    step = max(10.0**-decimals, abs(float(word)) / 100.0)
    return tuple(f"{float(word) + change:.{decimals}f}" for change in (-step, step))


def mutants(rule: Rule) -> Iterator[tuple[str, Rule]]:
    """Damage a rule in one place.

    Args:
        rule: a rule.

    Yields:
        What was done, and the damaged rule: `require` or `applies` damaged, `applies` or a path of
        `each` taken out.
    """
    for text in damaged(rule.require.text):
        yield f"require {_flat(text)}", _with_require(rule, read_expression(text))
    if rule.applies is not None:
        yield "applies taken out", rule._replace(applies=None)
        for text in damaged(rule.applies.text):
            yield f"applies {_flat(text)}", rule._replace(applies=read_expression(text))
    if len(rule.each) > 1:
        for gone in rule.each:
            yield f"each without {gone}", rule._replace(each=tuple(p for p in rule.each if p != gone))


def _with_require(rule: Rule, require: Expression) -> Rule:
    """A rule rests on the paths of its expressions; those under `needs` stay."""
    parts = (rule.require, rule.value, rule.limit)
    known = {each for part in parts if part for each in part.references}
    needs = tuple(each for each in rule.references if each not in known)
    parts = (require, rule.value, rule.limit)
    references = needs + tuple(each for part in parts if part for each in part.references)
    return rule._replace(require=require, references=references)


def _flat(text: str) -> str:
    return " ".join(text.split())
