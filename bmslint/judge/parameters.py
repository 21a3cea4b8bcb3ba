"""Numbers of judgement of a rule, put into its expressions and templates when the pack loads.

Put in as literals, and not handed to the engine as variables: an activation of a rule's own costs ten
times as much as the evaluation.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import takewhile
from typing import NamedTuple

from bmslint.judge.expression import LONGEST, Expression, read_expression, tokens_of
from bmslint.judge.faults import RuleError
from bmslint.judge.template import Template, show

NAME = "parameters"


class Parameter(NamedTuple):
    """A number, its unit, one sentence on what it decides, and the number that the rule file states."""

    value: float
    unit: str
    means: str
    stated: float


def put_in(text: str, parameters: Mapping[str, Parameter]) -> str:
    """Put the values into an expression.

    Args:
        text: an expression.
        parameters: those of its rule.

    Returns:
        The expression with a decimal number in the place of each `parameters.name`.

    Raises:
        RuleError: the rule has no such parameter.
    """
    if len(text) > LONGEST:
        return text
    parts, end = [], 0
    for start, after, name in _named(text):
        value = _found(name, parameters, start).value
        parts += [text[end:start], repr(value) if value >= 0.0 else f"({value!r})"]
        end = after
    return "".join([*parts, text[end:]])


def _named(text: str) -> Iterator[tuple[int, int, str]]:
    """Where an expression names a parameter: start, end, the name after the dot."""
    tokens = tokens_of(text)
    for i, token in enumerate(tokens):
        if token.text != NAME or (i and tokens[i - 1].text == "."):
            continue
        dot, name = tokens[i + 1 : i + 2], tokens[i + 2 : i + 3]
        if dot and dot[0].text == "." and name and name[0].kind == "name":
            yield token.offset, name[0].offset + len(name[0].text), name[0].text
        else:
            yield token.offset, token.offset + len(token.text), ""


def read_filled(text: str, parameters: Mapping[str, Parameter]) -> Expression:
    """Read an expression with the values put in.

    Args:
        text: an expression.
        parameters: those of its rule.

    Returns:
        The expression that is to be evaluated.

    Raises:
        RuleError: as `put_in` and `read_expression` do, its place in the text as it was written.
    """
    if NAME not in text:
        return read_expression(text)
    filled = put_in(text, parameters)
    try:
        return read_expression(filled)
    except RuleError as fault:
        raise RuleError(fault.what, offset=place_before(text, parameters, fault.offset)) from None


def place_before(text: str, parameters: Mapping[str, Parameter], offset: int) -> int:
    """Find a character of an expression as it was before values were put in.

    Args:
        text: the expression as it was written.
        parameters: those of its rule.
        offset: characters from the start of the text that `put_in` gave.

    Returns:
        Characters from the start of the text as it was written.
    """
    for start, end, _ in _named(text):
        if start >= offset:
            break
        longer = end - start - len(put_in(text[start:end], parameters))
        offset = max(start, offset + longer)
    return offset


def fill_in(template: Template, parameters: Mapping[str, Parameter]) -> Template:
    """Put the values into a template.

    Args:
        template: a template.
        parameters: those of its rule.

    Returns:
        The template without fields that name a parameter.

    Raises:
        RuleError: the rule has no such parameter.
    """
    if not any(path.startswith(NAME) for path, _ in template.fields):
        return template
    texts, fields = [template.texts[0]], []
    for (path, form), text in zip(template.fields, template.texts[1:], strict=True):
        root, _, name = path.partition(".")
        if root == NAME:
            texts[-1] += show(_found(name, parameters, 0).value, form) + text
        else:
            fields.append((path, form))
            texts.append(text)
    return Template(tuple(texts), tuple(fields))


def unused(texts: Iterable[str], parameters: Mapping[str, Parameter]) -> list[str]:
    """Find parameters that decide nothing.

    Args:
        texts: expressions and templates of the rule.
        parameters: those of the rule.

    Returns:
        Names that stand in no text.
    """
    rests = [rest for text in texts for rest in text.split(f"{NAME}.")[1:]]
    words = {"".join(takewhile(lambda char: char.isalnum() or char == "_", rest)) for rest in rests}
    return [name for name in parameters if name not in words]


def _found(name: str, parameters: Mapping[str, Parameter], offset: int) -> Parameter:
    if name in parameters:
        return parameters[name]
    known = f"it has {', '.join(parameters)}" if parameters else "it has none"
    raise RuleError(f"{NAME}{name and f'.{name}'} is no parameter of the rule; {known}", offset=offset)
