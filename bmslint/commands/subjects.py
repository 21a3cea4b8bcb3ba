"""Collects what a report tells of one settings file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from hashlib import sha256
from os import path as paths
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bmslint.facts import derive
from bmslint.facts.course import Course, course
from bmslint.facts.current_lines import current_lines
from bmslint.facts.response import Response, response
from bmslint.judge.finding import Place
from bmslint.judge.judge import judged
from bmslint.limits import load_limits
from bmslint.output.report.figures.currents import Currents
from bmslint.output.report.subject import Setting, Subject
from bmslint.output.story.finding import finding_story
from bmslint.settings import read, read_text
from bmslint.settings.files import load

if TYPE_CHECKING:
    from datetime import date

    from bmslint.facts.course import Run
    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.inputs import Inputs
    from bmslint.judge.pack import Pack
    from bmslint.output.story.form import Story
    from bmslint.settings.reader import Document

RUNS: tuple[Run, ...] = ("heated_warmup", "ambient_warmup")


def subject(file: Path, pack: Pack, today: date, allow_accepted_rejects: bool) -> Subject:
    """Judge a file and collect everything that is told of it.

    Args:
        file: the settings file.
        pack: the rules.
        today: the day that dates under `accepted` are held against.
        allow_accepted_rejects: whether findings of severity `reject` that a person took on do not count.

    Returns:
        What the page is made of.

    Raises:
        PackError: a rule is at fault.
    """
    content = load(file, str(file))
    # Judged and hashed is one and the same reading of the file.
    document = read_text(content, str(file)) if isinstance(content, bytes) else read(file)
    digests = [(str(file), sha256(content).hexdigest())] if isinstance(content, bytes) else []
    digests += _bases(document)
    verdict, judgement = judged(document, pack, today=today, allow_accepted_rejects=allow_accepted_rejects)
    if judgement is None:
        return Subject(verdict, "", {}, (), {}, None, {}, (), (), None, tuple(digests))
    data = document.data
    limits = load_limits(data)
    lines = current_lines(data, limits)
    courses: dict[str, Course] = {
        run: each for run in RUNS if isinstance(each := course(data, limits, run), Course)
    }
    responses = [response(data, limits, run) for run in RUNS]
    return Subject(
        verdict=verdict,
        title=str(data.get("title", "")),
        data=data,
        settings=tuple(_settings(document)),
        limits=limits.data,
        facts=derive(data, limits, whole=True),
        stories=_stories(verdict, judgement.inputs, pack, courses),
        courses=tuple(courses.values()),
        responses=tuple(each for each in responses if isinstance(each, Response)),
        currents=None if lines is None else Currents(lines.permitted, lines.borne),
        digests=tuple(digests),
    )


def _bases(document: Document) -> Iterator[tuple[str, str]]:
    """Name and hash every file that a settings file extends, nearest first."""
    seen = {paths.realpath(document.file)}
    while isinstance(named := (document.tree.data or {}).get("extends"), str):
        base = paths.normpath(Path(document.tree.positions["extends"].file).parent / named)
        content = load(Path(base), base)
        if not isinstance(content, bytes) or paths.realpath(base) in seen:
            return
        seen.add(paths.realpath(base))
        yield base, sha256(content).hexdigest()
        document = read_text(content, base)


def _stories(
    verdict: Verdict, inputs: Inputs, pack: Pack, courses: Mapping[str, Course]
) -> dict[Finding, Story]:
    taken = (each for entry in verdict.accepted for each in entry.findings)
    stories = {}
    for each in (*verdict.findings, *taken):
        rule = pack.rule(each.rule)
        if rule is not None:
            stories[each] = finding_story(each, rule, inputs, courses)
    return stories


def _settings(document: Document) -> Iterator[Setting]:
    for path, value in _values(document.data, ""):
        at = document.position(path)
        yield Setting(value, Place(path, at.file, at.line, at.column))


def _values(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Every single value, and every list of single values, with its path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _values(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and any(isinstance(each, dict | list) for each in value):
        for number, inner in enumerate(value):
            yield from _values(inner, f"{path}[{number}]")
    else:
        yield path, value
