"""What a page is made of: one settings file as it was judged, with everything that is shown of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.finding import Finding, Place, Verdict

if TYPE_CHECKING:
    from datetime import date

    from bmslint.facts import Facts
    from bmslint.facts.course import Course
    from bmslint.facts.response import Response
    from bmslint.judge.pack import Pack
    from bmslint.output.report.figures.currents import Currents
    from bmslint.output.story.form import Story


class Setting(NamedTuple):
    """One value of a settings file and where it stands."""

    value: Any
    place: Place


class Subject(NamedTuple):
    """One settings file.

    Args:
        verdict: what was found.
        title: the file's own title, empty where it has none.
        data: its validated settings, empty where it is unusable.
        settings: every single value, in the order of the file's keys.
        limits: what its cells may endure.
        facts: what was derived; None where it is unusable.
        stories: the story of each finding, those that a person took on too.
        courses: its warm-ups over time, those that there are.
        responses: what another release would give, for each of its warm-ups.
        currents: permitted and borne charge current; None where one of them is not known.
        digests: SHA-256 of the file and of each file it extends, by name.
    """

    verdict: Verdict
    title: str
    data: Mapping[str, Any]
    settings: tuple[Setting, ...]
    limits: Mapping[str, Any]
    facts: Facts | None
    stories: Mapping[Finding, Story]
    courses: tuple[Course, ...]
    responses: tuple[Response, ...]
    currents: Currents | None
    digests: tuple[tuple[str, str], ...]


class Occasion(NamedTuple):
    """What holds for all files of a page: the rules, the day, the program's version."""

    pack: Pack
    today: date
    version: str
