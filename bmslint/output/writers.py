"""The forms in which verdicts are written, each by a writer that takes them one at a time.

A run may judge many thousand files, so a writer holds little of what it wrote.
"""

from __future__ import annotations

from importlib import import_module
from typing import IO, TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:
    from pathlib import Path

    from bmslint.gate.baseline import Baseline
    from bmslint.judge.finding import Severity, Verdict
    from bmslint.judge.pack import Pack


class Run(NamedTuple):
    """What a writer knows of a run before the first verdict.

    `pack` are the rules, `files` is the number of verdicts to come, `fail_on` the least severity that
    fails, and `root` the folder that names in places are relative to, where a form asks for that. `baseline`
    is the one in force; what it held back is known when all verdicts came.
    """

    pack: Pack
    files: int
    fail_on: Severity
    root: Path
    baseline: Baseline | None = None


class Writer(Protocol):
    """Writes the verdicts of a run to a stream; made with the stream and the run."""

    def __init__(self, stream: IO[str], run: Run) -> None:
        """Write what stands before the first verdict."""

    def add(self, verdict: Verdict) -> None:
        """Write a verdict; they come in the order of the files' names."""

    def end(self) -> None:
        """Write what stands after the last verdict."""


WRITERS = {
    "text": "bmslint.output.text_run:TextWriter",
    "json": "bmslint.output.json:JsonWriter",
    "sarif": "bmslint.output.sarif:SarifWriter",
    "junit": "bmslint.output.junit:JunitWriter",
    "markdown": "bmslint.output.markdown:MarkdownWriter",
}
"""By the name of the form, module and class of its writer."""


def writer(form: str, stream: IO[str], run: Run) -> Writer:
    """Begin to write verdicts.

    Args:
        form: a name of `WRITERS`.
        stream: where to.
        run: what is known of the run.

    Returns:
        The writer.

    Raises:
        OSError: the stream takes nothing.
    """
    module, _, name = WRITERS[form].partition(":")
    made: type[Writer] = getattr(import_module(module), name)
    return made(stream, run)
