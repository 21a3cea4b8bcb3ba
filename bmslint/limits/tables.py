"""The shipped tables as plain data: one file a chemistry, and one of general defaults."""

from __future__ import annotations

from functools import cache
from typing import Any

from bmslint.data import rules_dir
from bmslint.settings.tree import parse


class UnknownChemistry(LookupError):  # noqa: N818 - the name says all, as KeyError would not
    """A chemistry name for which no table is shipped.

    Attributes:
        name: the name that was asked for.
        known: every name there is a table for, sorted.
        nearest: the known name that looks most like it, or an empty string.
    """

    def __init__(self, name: str, known: tuple[str, ...], nearest: str) -> None:
        self.name = name
        self.known = known
        self.nearest = nearest
        hint = f"; did you mean '{nearest}'?" if nearest else ""
        super().__init__(f"unknown chemistry '{name}': known are {', '.join(known)}{hint}")


class UnusableTable(ValueError):  # noqa: N818 - named like its neighbour
    """A shipped table that cannot be read, because somebody changed it: what and where."""


@cache
def known_chemistries() -> tuple[str, ...]:
    """Name every chemistry there is a table for.

    Returns:
        The names, sorted; each is the stem of a file in `rules/chemistries/`.
    """
    return tuple(sorted(path.stem for path in (rules_dir() / "chemistries").glob("*.yaml")))


@cache
def chemistry_table(name: str) -> dict[str, Any]:
    """Read the table of one chemistry.

    Args:
        name: a name from `known_chemistries()`.

    Returns:
        The file as plain data. It is shared between callers and must not be changed.

    Raises:
        UnknownChemistry: there is no table of that name.
        UnusableTable: the file is damaged.
    """
    # Looked up in the folder's listing, never joined to a path: the name comes from a settings file.
    if name not in known_chemistries():
        raise UnknownChemistry(name, known_chemistries(), _nearest(name))
    return _read(f"chemistries/{name}.yaml")


@cache
def general_defaults() -> dict[str, Any]:
    """Read the defaults that hold for every chemistry.

    Returns:
        The file `rules/defaults.yaml` as plain data, shared, not to be changed.

    Raises:
        UnusableTable: the file is damaged.
    """
    return _read("defaults.yaml")


def source_title(source: dict[str, str]) -> str:
    """Put a row's source in one line.

    Args:
        source: a row's `source`: `title`, and `where` in it if there is one.

    Returns:
        The title, followed by the place in it.
    """
    return f"{source['title']}, {source['where']}" if "where" in source else source["title"]


def _nearest(name: str) -> str:
    from difflib import get_close_matches  # only a misspelt name needs it

    # Case and separators are the usual slips, so they do not count against a name.
    plain = {known.replace("_", ""): known for known in known_chemistries()}
    asked = "".join(c for c in name.lower() if c.isalnum())
    found = get_close_matches(asked, plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else ""


def _read(relative: str) -> dict[str, Any]:
    path = rules_dir() / relative
    tree = parse(path.read_bytes(), str(path))
    if tree.problems:
        raise UnusableTable("\n".join(f"{p.file}, line {p.line}: {p.message}" for p in tree.problems))
    data: dict[str, Any] = tree.data
    return data
