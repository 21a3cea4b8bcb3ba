"""What a baseline held back in a run; told on every run that has one, for a person and for a program."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bmslint.gate.baseline import Baseline


def baseline_told(baseline: Baseline) -> str:
    """Tell a person, at the end of a run.

    Args:
        baseline: in force.

    Returns:
        Its size, and what became of it; one paragraph.
    """
    size = baseline.size()
    parts = [
        f"{baseline.path} holds {_count(size.entries, 'entry', 'entries')}; "
        f"{_count(size.held_back, 'finding is', 'findings are')} held back by it in this run, "
        "which is not to say that they are good"
    ]
    if size.waiting:
        waits = _count(size.waiting, "entry of severity reject holds", "entries of severity reject hold")
        parts.append(f"{waits} nothing back, for want of a reason that a person wrote")
    if size.gone:
        gone = _count(size.gone, "entry is", "entries are")
        parts.append(f"{gone} no longer needed: --write-baseline {baseline.path} drops what is gone")
    return "; ".join(parts) + "."


def baseline_json(baseline: Baseline) -> dict[str, Any]:
    """Tell a program, at the end of a run.

    Args:
        baseline: in force.

    Returns:
        Plain data.
    """
    size = baseline.size()
    return {
        "file": baseline.path.as_posix(),
        "entries": size.entries,
        "held_back": size.held_back,
        "without_reason": size.waiting,
        "gone": size.gone,
    }


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
