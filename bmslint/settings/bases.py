"""`extends`: a settings file that takes from another what it does not say itself."""

import os
from dataclasses import replace
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from bmslint.settings.files import DISK, Boundary, Source
from bmslint.settings.migrate import format_problem
from bmslint.settings.places import Position, Problem, problem_at, told
from bmslint.settings.tree import Tree, parse_all

MAX_LEVELS = 20


def single(text: bytes, name: str) -> Tree:
    """Parse a settings text, which holds one document.

    Args:
        text: The bytes of the file.
        name: Name of the file.

    Returns:
        The document; without data where the text holds several, or no mapping.
    """
    trees = parse_all(text, name)
    tree = next((tree for tree in trees if tree.data is None), trees[0])
    if tree.data is None:
        return tree
    if len(trees) > 1:
        place = trees[1].positions[""]
        expected = "one document in a settings file"
        problem = problem_at(place, "", expected, "a second one", "put it into a file of its own")
        return replace(tree, data=None, problems=(problem,))
    if not isinstance(tree.data, dict):
        came = "a list" if isinstance(tree.data, list) else "a single value"
        problem = problem_at(
            tree.positions[""], "", "keys such as `format: 1` and `pack:` at the top level", came,
            "is it the right file?",
        )  # fmt: skip
        return replace(tree, data=None, problems=(*tree.problems, problem))
    return tree


def with_bases(tree: Tree, path: Path, source: Source = DISK) -> Tree:
    """Merge a settings file over the files that it extends, over any number of levels up to 20.

    Mappings merge, lists and single values are replaced, an empty value removes what the base
    has. Every position keeps the file that it came from.

    Args:
        tree: The file itself.
        path: Where it lies; `extends` is relative to its folder, and may not lead out of the repository,
            or of the working folder if there is none.
        source: Where the files that it extends are read from.

    Returns:
        The merged document; without data where a base cannot be used.
    """
    if tree.data is None or "extends" not in tree.data:
        return tree
    chain = [tree]
    seen = [source.real(path)]
    boundary = source.boundary(path.parent)
    while isinstance(named := chain[-1].data.get("extends"), str):
        at = chain[-1].positions["extends"]
        base_path = path.parent / named
        base = (
            _refused(named, at)
            or _outside(base_path, at, named, boundary, source)
            or _base(base_path, at, chain[-1].file, named, seen, source)
        )
        if isinstance(base, Problem):
            return replace(tree, data=None, problems=(*chain[0].problems, base))
        if fault := format_problem(base):
            return replace(tree, data=None, problems=(*chain[0].problems, fault))
        if base.data is None:
            return replace(tree, data=None, problems=(*chain[0].problems, *base.problems))
        chain.append(base)
        path = base_path
    merged = chain.pop()
    while chain:
        merged = _merged(merged, chain.pop())
    return merged


def _refused(named: str, at: Position) -> Problem | None:
    expected = "a path relative to this file, with forward slashes"
    windows = PureWindowsPath(named)
    if PurePosixPath(named).is_absolute() or windows.drive or windows.root:
        return problem_at(at, "extends", expected, "an absolute path", f'came from "{named}"')
    if not named.isprintable():
        return problem_at(at, "extends", expected, told(named), "remove what cannot be printed")
    if "\\" in named:
        return problem_at(at, "extends", expected, f'"{named}"', "write / in place of \\")
    return None


def _outside(
    path: Path, at: Position, named: str, boundary: Boundary | None, source: Source
) -> Problem | None:
    if boundary is None or Path(source.real(path)).is_relative_to(boundary.folder):
        return None
    came = f'"{named}", which leads out of it'
    return problem_at(at, "extends", f"a file inside {boundary.what}", came, boundary.advice)


def _base(path: Path, at: Position, file: str, named: str, seen: list[str], source: Source) -> Tree | Problem:
    real = source.real(path)
    if real in seen:
        came = f'"{named}", which leads back to a file above it'
        return problem_at(at, "extends", "files that do not extend each other", came, "remove one")
    if len(seen) > MAX_LEVELS:
        came = "one more"
        return problem_at(at, "extends", f"at most {MAX_LEVELS} levels", came, "merge some of them")
    seen.append(real)
    name = os.path.normpath(Path(file).parent / named)
    text = source.load(path, name)
    if isinstance(text, Problem):
        came = f'"{named}": {text.came}'
        return problem_at(at, "extends", "a settings file that can be read", came, text.advice)
    return single(text, name)


def _merged(base: Tree, over: Tree) -> Tree:
    gone: list[str] = []
    data = merge(base.data, over.data, "", gone)
    data["extends"] = over.data["extends"]
    cut = tuple(gone)
    closed = tuple(f"{path}{sign}" for path in cut for sign in ".[")
    exact = frozenset(cut)

    def kept(positions: dict[str, Position]) -> dict[str, Position]:
        return {
            path: place
            for path, place in positions.items()
            if path not in exact and not path.startswith(closed)
        }

    return Tree(
        over.file,
        data,
        kept(base.positions) | over.positions,
        kept(base.key_positions) | over.key_positions,
        (*over.problems, *base.problems),
    )


def merge(base: dict[str, Any], over: dict[str, Any], path: str, gone: list[str]) -> dict[str, Any]:
    """Merge two mappings as JSON Merge Patch does (RFC 7396), but keep an empty value that removes nothing.

    Args:
        base: What is taken where `over` says nothing.
        over: What goes before it.
        path: Dotted path of both, "" for whole documents.
        gone: Collects the paths of the base that no longer hold.

    Returns:
        The merged mapping; the two are not changed.
    """
    data = dict(base)
    for key, value in over.items():
        inner = f"{path}.{key}" if path else key
        below = base.get(key)
        if isinstance(below, dict) and isinstance(value, dict):
            data[key] = merge(below, value, inner, gone)
            continue
        gone.append(inner)
        if value is None and key in base:
            del data[key]
        else:
            data[key] = value
    return data
