"""What a folder or repository says once and for all runs: `.bmslint.yaml`, or `[tool.bmslint]`."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from bmslint.settings.places import Position, Problem

YAML_NAME, TOML_NAME, TABLE = ".bmslint.yaml", "pyproject.toml", "[tool.bmslint]"

OUTPUT_FORMATS = ("text", "json", "sarif", "junit", "markdown")
"""Forms in which the verdicts of a run are written."""

FAIL_ON = ("reject", "review", "note")


class ConfigurationError(Exception):
    """A configuration cannot be used; `problems` says why, all at once."""

    def __init__(self, problems: Sequence[str]) -> None:
        """Take the problems, each with its place."""
        super().__init__("\n".join(problems))
        self.problems = tuple(problems)


class Configuration(NamedTuple):
    """What was found.

    `values` holds what the file says by key, paths relative to `folder`; `places` says of each key where it
    stands. Without a configuration both are empty and `file` too.
    """

    file: str = ""
    folder: Path = Path()
    values: Mapping[str, Any] = {}
    places: Mapping[str, str] = {}


def find_configuration(start: Path | None = None) -> Configuration:
    """Find and read the nearest configuration.

    Args:
        start: the folder to start from, the working directory if left out. Folders above it are looked at
            up to the root of the repository; outside of a repository none is.

    Returns:
        The configuration; an empty one if there is none.

    Raises:
        ConfigurationError: it cannot be used, or two files beside each other both are one.
    """
    from bmslint.settings.repository import repository_root

    start = Path.cwd() if start is None else start.absolute()
    root = repository_root(start) or start
    for folder in (start, *start.parents):
        found = _of_folder(folder)
        if found is not None:
            return found
        if folder == root:
            break
    return Configuration()


def _of_folder(folder: Path) -> Configuration | None:
    own, project = folder / YAML_NAME, folder / TOML_NAME
    text = _content(project)
    table = _table(text, project) if text is not None and _may_have_table(text) else None
    if own.is_symlink() or own.exists():
        if table is not None:
            told = f"{_shown(own)}: {_shown(project)} beside it has a table {TABLE}, too; keep one of the two"
            raise ConfigurationError([told])
        return _of_yaml(own)
    return None if table is None else _of_toml(table, project)


def _content(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise ConfigurationError([f"{_shown(path)}: cannot be read: {error.strerror}"]) from None


def _shown(path: Path) -> str:
    """A file as a person in the working directory calls it."""
    return os.path.relpath(path)


def _may_have_table(text: bytes) -> bool:
    """Whether to parse: the parser takes longer to import than a whole settings file to read."""
    if b"bmslint" not in text:
        return False
    bare = (line.translate(None, b" \t\"'") for line in text.splitlines())
    return b"\\u" in text.lower() or any(
        line.startswith(b"[tool]") or (b"tool" in line and b"bmslint" in line) for line in bare
    )


def _table(text: bytes, path: Path) -> Any:
    import tomllib

    try:
        data = tomllib.loads(text.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ConfigurationError([f"{_shown(path)}: expected TOML; {error}"]) from None
    tool = data.get("tool")
    return tool.get("bmslint") if isinstance(tool, dict) else None


def _of_toml(table: Any, path: Path) -> Configuration:
    file = _shown(path)
    reader = _Reader(lambda key: f"{file}: {TABLE}{key and ' '}{key}")
    return reader.configuration(table, file, path.parent)


def _of_yaml(path: Path) -> Configuration:
    from bmslint.settings.files import load
    from bmslint.settings.places import Problem
    from bmslint.settings.tree import parse_all

    file = _shown(path)
    text = load(path, file)
    trees = [] if isinstance(text, Problem) else parse_all(text, file)
    faults = [text] if isinstance(text, Problem) else [each for tree in trees for each in tree.problems]
    if faults:
        raise ConfigurationError([_told(each) for each in faults])
    if len(trees) > 1:
        raise ConfigurationError([f"{_at(trees[1].positions[''])}: expected one document, came a second one"])
    places, keys = trees[0].positions, trees[0].key_positions

    def place(key: str) -> str:
        return _at(keys.get(key) or places.get(key) or places[""])

    return _Reader(place).configuration(trees[0].data, file, path.parent)


def _at(place: Position) -> str:
    return f"{place.file}:{place.line}:{place.column}"


def _told(problem: Problem) -> str:
    return f"{problem.file}:{problem.line}:{problem.column}: {problem.message}"


class _Reader:
    """Holds plain data against the keys of a configuration."""

    def __init__(self, place: Callable[[str], str]) -> None:
        self.place = place
        self.problems: list[str] = []

    def configuration(self, data: Any, file: str, folder: Path) -> Configuration:
        if not isinstance(data, dict):
            self.refuse("", f"keys such as {', '.join(list(KEYS)[:3])}", data)
            data = {}
        for key, value in data.items():
            reader = KEYS.get(key)
            if reader is None:
                self.problems.append(f"{self.place(key)}: there is no key `{_cut(key)}`{_nearest(key, KEYS)}")
            else:
                reader(self, key, value)
        if self.problems:
            raise ConfigurationError(self.problems)
        return Configuration(file, folder, data, {key: self.place(key) for key in data})

    def refuse(self, path: str, expected: str, value: object) -> None:
        from bmslint.settings.places import told

        self.problems.append(f"{self.place(path)}: expected {expected}, came {told(value)}")

    def texts(self, key: str, value: object) -> None:
        if not isinstance(value, list):
            self.refuse(key, "a list of texts", value)
            return
        for number, each in enumerate(value):
            self.text(f"{key}[{number}]", each)

    def text(self, key: str, value: object) -> None:
        if not isinstance(value, str) or not value or not value.isprintable():
            self.refuse(key, "a text", value)

    def truth(self, key: str, value: object) -> None:
        if not isinstance(value, bool):
            self.refuse(key, "true or false", value)

    def severity(self, key: str, value: object) -> None:
        if value not in FAIL_ON:
            self.refuse(key, f"one of {', '.join(FAIL_ON)}", value)

    def outputs(self, key: str, value: object) -> None:
        if not isinstance(value, dict):
            self.refuse(key, "a file for each form, such as `sarif: bmslint.sarif`", value)
            return
        for form, file in value.items():
            if form not in OUTPUT_FORMATS:
                told = f"there is no form `{_cut(form)}`{_nearest(form, OUTPUT_FORMATS)}"
                self.problems.append(f"{self.place(f'{key}.{form}')}: {told}")
            else:
                self.text(f"{key}.{form}", file)


KEYS: Mapping[str, Callable[[_Reader, str, Any], None]] = {
    "paths": _Reader.texts,
    "exclude": _Reader.texts,
    "rules": _Reader.texts,
    "installed_rules": _Reader.truth,
    "fail_on": _Reader.severity,
    "write": _Reader.outputs,
    "baseline": _Reader.text,
}
"""What a configuration may say."""


def _nearest(key: object, known: Sequence[str] | Mapping[str, Any]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(str(key), list(known), n=1)
    return f"; did you mean {near[0]}?" if near else f"; known are {', '.join(known)}"


def _cut(key: object) -> str:
    from bmslint.settings.places import cut

    return cut(str(key))
