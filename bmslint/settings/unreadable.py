"""Says in words why bytes are not a text, or a text is not YAML."""

import re
from typing import Any

from bmslint.settings.places import Position, Problem, cut, problem_at

_UTF16 = (b"\xff\xfe", b"\xfe\xff")
# A key whose colon lacks its space reads as one word with what follows, and the parser stumbles behind it.
_AFTER_A_GLUED_KEY = ("mapping values are not allowed", "could not find expected ':'")
_GLUED = re.compile(r"\s*([A-Za-z_0-9]+):([^\s:]\S*)\s*(?:#.*)?\Z")
_BOM = b"\xef\xbb\xbf"

# What the parser says, what it means to a person, and what to do; the first that matches.
_WORDS = (
    ("mapping values are not allowed", "one key and one value on a line", "a second colon",
     "start a new line, or put the text in quotes"),
    ("did not find expected key", "a key in line with the keys above it", "something else",
     "check the indentation, and the quotes and brackets above"),
    ("did not find expected ',' or ']'", "a comma or ] in the list", "something else",
     "close the list, or put a comma between its items"),
    ("did not find expected ',' or '}'", "a comma or } in the mapping", "something else",
     "close the mapping, or put a comma between its keys"),
    ("unexpected end of stream", "the closing quote", "the end of the file",
     "close the text with the quote that opens it"),
    ("block sequence entries are not allowed", "a value, or a list on lines of its own",
     "a dash on the line of the key", "begin the list on the next line"),
    ("could not find expected ':'", "a colon after the key", "the next line",
     "write the key as `key: value`"),
    ("unknown escape character", "an escape that YAML knows, such as \\n", "an unknown one",
     "write the text in single quotes, or the backslash twice"),
    ("found incompatible YAML document", "YAML 1.2", "another version of YAML",
     "remove the %YAML line"),
    ("did not find expected node content", "a value", "something else",
     "check the brackets, commas and quotes before it"),
    ("did not find expected '-' indicator", "a dash in line with the dashes above it",
     "something else", "check the indentation"),
    ("found unexpected ':'", "a space after the colon", "a colon without one",
     "write `key: value`, or put the text in quotes"),
    ("expected alphabetic or numeric character", "the name of an anchor after & or *",
     "a character that is in no name", "put the text in quotes"),
    ("expected comment or line break", "a new line after | or >", "more text",
     "begin the text on the next line, or put it in quotes"),
    ("expected <document start>", "the end of the file, or a line with --- before more",
     "more text", "check the indentation of this line"),
    ("mapping keys are not allowed", "a key or a value", "a question mark",
     "put the text in quotes"),
    ("tag", "text in quotes where it begins with !", "a tag", "put the text in quotes"),
    ("directive", "a key", "a % at the start of the line", "put the text in quotes"),
    ("cannot start any token", "a key or a value", "a character that cannot begin one",
     "put the text in quotes"),
)  # fmt: skip


def text_problem(text: bytes, name: str, max_bytes: int) -> Problem | None:
    """Say why bytes cannot be a settings text at all.

    Args:
        text: The bytes of a file.
        name: Name of the file.
        max_bytes: The largest size that is read, in bytes.

    Returns:
        The problem, or None for UTF-8 of a fitting size.
    """
    start = Position(name, 1, 1)
    save = "save the file as UTF-8"
    if len(text) > max_bytes:
        return too_large(name, max_bytes)
    if text.startswith(_UTF16):
        return problem_at(start, "", "UTF-8 text", "UTF-16 text", save)
    try:
        text.decode("utf-8")
    except UnicodeDecodeError as error:
        place = place_of(text, error.start, name)
        came = f"the byte 0x{text[error.start]:02X}, which is not UTF-8"
        return problem_at(place, "", "UTF-8 text", came, save)
    if (zero := text.find(b"\0")) >= 0:
        came = "a zero byte: a binary file, or UTF-16"
        return problem_at(place_of(text, zero, name), "", "UTF-8 text", came, save)
    return None


def too_large(name: str, max_bytes: int) -> Problem:
    """Give the problem of a file that is larger than what is read.

    Args:
        name: Name of the file.
        max_bytes: The largest size that is read, in bytes.

    Returns:
        The problem.
    """
    expected = f"a file of at most {max_bytes // (1024 * 1024)} MiB"
    return problem_at(Position(name, 1, 1), "", expected, "a larger one", "is it the right file?")


def place_of(text: bytes, offset: int, name: str) -> Position:
    """Give the position of a byte.

    Args:
        text: The bytes of a file; those before the offset are UTF-8.
        offset: Number of bytes before the place.
        name: Name of the file.

    Returns:
        Its position; CR, LF and CR LF end a line.
    """
    before = text[:offset].removeprefix(_BOM).replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    last = before.rfind(b"\n") + 1
    column = len(before[last:].decode("utf-8", "replace")) + 1
    return Position(name, before.count(b"\n") + 1, column)


def parser_problem(error: Any, text: bytes, name: str) -> Problem:
    """Turn an error of the YAML parser into a problem.

    Args:
        error: The error of the C parser; those of the reader carry `position` in bytes, the
            others `problem` and marks.
        text: The bytes that were parsed.
        name: Name of the file.

    Returns:
        The problem, at the place where the parser stopped.
    """
    if hasattr(error, "position"):
        place = place_of(text, error.position, name)
        came = f"the control character 0x{error.character:02X}"
        return problem_at(place, "", "printable text", came, "remove it")
    mark = error.problem_mark or error.context_mark
    place = Position(name, mark.line + 1, mark.column + 1)
    expected, came, advice = _in_words(str(error.problem))
    lines = text.removeprefix(_BOM).decode("utf-8").splitlines()
    if any(words in str(error.problem) for words in _AFTER_A_GLUED_KEY):
        for number in range(max(mark.line - 1, 0), min(mark.line + 1, len(lines))):
            if glued := _GLUED.match(lines[number]):
                return _without_space(glued, Position(name, number + 1, glued.end(1) + 2))
    line = lines[mark.line] if mark.line < len(lines) else ""
    before = line[: mark.column + 1]
    if before.endswith("\t") and not before.strip():
        expected, came, advice = "spaces", "a tab", "indent with spaces"
    elif mark.line >= len(lines) or not line[mark.column :].strip():
        came = "the end of the file" if mark.line >= len(lines) - 1 else "the end of the line"
    if error.context and error.context_mark and error.context_mark.line != mark.line:
        advice += f" (it began on line {error.context_mark.line + 1})"
    return problem_at(place, "", expected, came, advice)


def _without_space(glued: re.Match[str], place: Position) -> Problem:
    came, advice = cut(f"{glued[1]}:{glued[2]}"), cut(f"{glued[1]}: {glued[2]}")
    return problem_at(place, "", "a space after the colon", f'"{came}"', f"write {advice}")


def _in_words(problem: str) -> tuple[str, str, str]:
    for words, expected, came, advice in _WORDS:
        if words in problem:
            return expected, came, advice
    return "YAML", f'something that cannot be read ("{problem}")', "check this line and the one above"
