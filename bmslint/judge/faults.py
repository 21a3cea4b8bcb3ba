"""What is wrong with a rule pack, told with file, line and column."""

from __future__ import annotations

from typing import NamedTuple


class RuleError(Exception):
    """One part of a rule that cannot be used; the loader adds the file and the place.

    `offset` counts characters from the start of the text at fault, `line` and `column` count from 1
    inside that text; the engine gives one, the readers of expressions and templates the other.
    """

    def __init__(self, what: str, *, offset: int = 0) -> None:
        """Keep what is wrong and where it starts in the text at fault."""
        super().__init__(what)
        self.what = what
        self.offset = offset


class PackProblem(NamedTuple):
    """One thing wrong with a rule pack, at a place in a file; line and column count from 1."""

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        """Give the place and the message on one line."""
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class PackError(Exception):
    """A rule pack that cannot be used: nothing is judged with it."""

    def __init__(self, problems: list[PackProblem]) -> None:
        """Keep every problem, sorted by place."""
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[PackError], tuple[list[PackProblem]]]:
        """Let it be sent from one process to another."""
        return PackError, (list(self.problems),)
