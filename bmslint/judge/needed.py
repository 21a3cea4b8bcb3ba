"""What has to be there before the engine is asked.

It would call `missing || true` true, and `[].all(...)`; so paths and empty collections are looked at first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from bmslint.judge import engine
from bmslint.judge.inputs import Inapplicable, Inputs, Item, Lacking
from bmslint.judge.paths import joined

if TYPE_CHECKING:
    from bmslint.judge.expression import Reference


class Need(NamedTuple):
    """A path that must be there; the owner of an optional one, which must not be `none`.

    One that is walked by a macro must not be empty.
    """

    path: str
    owner: bool
    iterated: bool
    of_item: bool


@cache
def _needs(references: tuple[Reference, ...]) -> tuple[Need, ...]:
    """Give what must be there for expressions that read these paths, each once, in their order."""
    optional = {each.path for each in references if each.optional}
    found: dict[Need, None] = {}
    for each in references:
        path = each.path.rpartition(".")[0] if each.optional else each.path
        if path not in optional and path not in ("", "facts", "limits"):
            of_item = path.split(".", 1)[0].split("[", 1)[0] == "item"
            found[Need(path, each.optional, each.iterated, of_item)] = None
    return tuple(found)


def lacks(
    references: tuple[Reference, ...], inputs: Inputs, item: Item | None
) -> tuple[str | None, Sequence[str]]:
    """Look for what is not there.

    Args:
        references: the paths that expressions read.
        inputs: settings, limits and facts.
        item: the match that the rule is evaluated for.

    Returns:
        Why the rule does not apply, None if it may; the settings that are missing, none in the first case.
    """
    missing: list[str] = []
    known = inputs.lacks
    for need in _needs(references):
        key = (need, item.path) if item is not None and need.of_item else need
        if key in known:
            lack = known[key]
        else:
            lack = known[key] = _lack(need, inputs, item)
        if lack is None:
            continue
        if isinstance(lack, Inapplicable):
            return lack.reason, ()
        missing += lack.paths
    return None, missing


def _lack(need: Need, inputs: Inputs, item: Item | None) -> Lacking | Inapplicable | None:
    found = inputs.resolve(need.path, item)
    if isinstance(found, Inapplicable | Lacking):
        return found
    if need.owner and found == "none":
        return Inapplicable(f"{need.path} is none")
    if need.iterated and isinstance(found, list | dict) and not found:
        return Inapplicable(f"{need.path} is empty")
    return None


def not_found(
    references: Sequence[Reference], results: Iterable[object], inputs: Inputs, item: Item | None
) -> Sequence[str]:
    """Name the settings that a macro or a computed index did not find.

    Args:
        references: the paths that the expression reads.
        results: what it gave.
        inputs: settings, limits and facts.
        item: the match that the rule was evaluated for.

    Returns:
        The settings that are missing.
    """
    keys = [each.key for each in results if isinstance(each, engine.MissingKey)]
    if not keys:
        return ()
    return list(dict.fromkeys(_missing_path(references, key, inputs, item) for key in keys))


def _missing_path(references: Sequence[Reference], key: str, inputs: Inputs, item: Item | None) -> str:
    for reference in references:
        found = inputs.resolve(reference.path, item)
        each = (
            enumerate(found) if isinstance(found, list) else found.items() if isinstance(found, dict) else ()
        )
        for name, value in each:
            if reference.iterated and isinstance(value, dict) and key not in value:
                return joined(joined(reference.path, name), key)
    return joined(references[0].path, key) if references else key
