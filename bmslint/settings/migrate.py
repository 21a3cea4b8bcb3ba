"""Versions of the settings format."""

from bmslint.settings.places import Problem, problem_at, told
from bmslint.settings.tree import Tree

FORMAT = 1


def format_problem(tree: Tree) -> Problem | None:
    """Say why a file of another format version cannot be read.

    Args:
        tree: The settings file.

    Returns:
        The problem; None for the current version, and where `format` is missing or no whole
        number, which the validation tells.
    """
    version = tree.data.get("format") if isinstance(tree.data, dict) else None
    if isinstance(version, bool) or not isinstance(version, int) or version == FORMAT:
        return None
    if version > FORMAT:
        advice = "the file was written for a newer bmslint: update bmslint"
    else:
        advice = "there has been no such version"
    place = tree.positions["format"]
    return problem_at(place, "format", f"version {FORMAT} of the format", told(version), advice)
