"""What folders of one's own added and changed; shown on every run, for a person and for a program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from bmslint.judge.own.changes import SWITCHED_OFF
from bmslint.judge.template import show

if TYPE_CHECKING:
    from bmslint.judge.own.changes import OwnPack, RuleChange


def own_told(packs: Sequence[OwnPack]) -> Iterator[tuple[str, str]]:
    """Tell a person.

    Args:
        packs: the folders of a run.

    Yields:
        Head and text of a paragraph for each folder, and for each change of it.
    """
    for pack in packs:
        yield "Rules of one's own: ", f"{pack.name} ({_count(pack.rules, 'rule')} added)"
        for change in pack.changes:
            yield f"  {change.rule}: ", f"{_told(change)} ({' '.join(change.reason.split())})"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _told(change: RuleChange) -> str:
    unit = f" {change.unit}" if change.unit else ""
    name = "" if change.now == SWITCHED_OFF else change.what.removeprefix("parameters.") + " "
    return f"{name}{show(change.now)}{unit}, was {show(change.was)}{unit}"


def own_json(packs: Sequence[OwnPack]) -> list[dict[str, Any]]:
    """Tell a program.

    Args:
        packs: the folders of a run.

    Returns:
        Plain data, an item for each folder.
    """
    return [
        {
            "name": pack.name,
            "digest": pack.digest,
            "rules": pack.rules,
            "changes": [change._asdict() for change in pack.changes],
        }
        for pack in packs
    ]
