"""What keeps a settings file from being judged although it could be read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.settings.places import Problem, problem_at

if TYPE_CHECKING:
    from bmslint.limits import UnknownChemistry
    from bmslint.settings import Document


def unknown_chemistry(document: Document, error: UnknownChemistry) -> Problem:
    """Tell of a chemistry without a table at its place.

    Args:
        document: the file.
        error: what the tables said.

    Returns:
        The problem.
    """
    path = "pack.chemistry"
    expected = f"one of {', '.join(error.known)}"
    advice = f"did you mean {error.nearest}?" if error.nearest else ""
    return problem_at(document.position(path), path, expected, error.name, advice)
