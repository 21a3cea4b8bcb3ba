"""Ways from a file's settings to a better verdict, each judged again whole before it is offered.

The worst finding is taken first; what removes it and brings nothing new is kept, then the next finding is
taken on from there, a few ways side by side. A change that turns out not to be needed is taken back.

Source: a beam search, any text on search; widths and limits are our own.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from bmslint.judge.finding import SEVERITIES
from bmslint.judge.judge import judged
from bmslint.judge.moves import MOVED_SENSOR, OF_A_PART, PARTNERS, moves
from bmslint.judge.paths import Nothing, walk
from bmslint.settings import revalidated

if TYPE_CHECKING:
    from datetime import date

    from bmslint.judge.finding import Finding, Verdict
    from bmslint.judge.judgement import Judgement
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document

SIDE_BY_SIDE, FIRST_STEPS, MOST_TRIALS, MOST_WAYS = 4, 5, 40, 5
"""Ways followed at once, ways out of the worst finding kept, files judged at most, ways offered."""

WORDS = ("accepted", "review", "not judged", "rejected")
"""Verdicts of a file that could be read, the best first."""


class Setting(NamedTuple):
    """A setting of a way: its path, what it was (None if the file has it not), and what it becomes."""

    path: str
    was: object
    to: object


class Way(NamedTuple):
    """Settings changed together, and what the rules then say."""

    settings: tuple[Setting, ...]
    verdict: Verdict
    judgement: Judgement

    @property
    def moves_a_sensor(self) -> bool:
        """Whether a sensor has to be put elsewhere."""
        return any(MOVED_SENSOR.match(each.path) for each in self.settings)

    @property
    def changes_a_part(self) -> bool:
        """Whether more than settings has to be changed."""
        return any(OF_A_PART.match(each.path) for each in self.settings)

    def changes(self) -> dict[str, object]:
        """Give the new values by path."""
        return {each.path: each.to for each in self.settings}


class Ways(NamedTuple):
    """The file as it is, ways from it with the least change first, and how many changed files were judged."""

    verdict: Verdict
    judgement: Judgement | None
    ways: tuple[Way, ...]
    tried: int


def ways(document: Document, pack: Pack, *, today: date | None = None) -> Ways:
    """Look for ways to a better verdict.

    Args:
        document: the file as it was read.
        pack: the rules.
        today: the day that dates under `accepted` are held against; the computer's in UTC if left out.

    Returns:
        The ways; none for a file that is unusable, or has nothing to remove.

    Raises:
        PackError: a rule is at fault.
    """
    start = judged(document, pack, today=today, suggestions=False)
    if start.judgement is None:
        return Ways(start.verdict, None, (), 0)
    search = _Search(document, pack, today)
    first = Way((), start.verdict, start.judgement)
    search.known[()] = first
    found = search.run(first)
    return Ways(start.verdict, start.judgement, tuple(found[:MOST_WAYS]), len(search.known) - 1)


class _Search:
    def __init__(self, document: Document, pack: Pack, today: date | None) -> None:
        self.document, self.pack, self.today = document, pack, today
        self.known: dict[tuple[tuple[str, str], ...], Way | None] = {}

    def run(self, start: Way) -> list[Way]:
        """Follow a few ways side by side until nothing is left to remove, or nothing helps."""
        beam, ends = [(start, frozenset[tuple[str, str]]())], []
        width = FIRST_STEPS
        while beam:
            onward: list[tuple[Way, frozenset[tuple[str, str]]]] = []
            for way, stuck in beam:
                worst = next((each for each in _open(way.verdict) if _name(each) not in stuck), None)
                if worst is None:
                    ends.append(way)
                    continue
                steps = self._steps(way, worst, width)
                onward += [(step, stuck) for step in steps] or [(way, stuck | {_name(worst)})]
            width = 1
            beam = sorted(onward, key=lambda each: _rank(each[0]))[:SIDE_BY_SIDE]
        better = [self._needed(way) for way in ends if _left(way.verdict) < _left(start.verdict)]
        return _least(better)

    def _steps(self, way: Way, worst: Finding, most: int) -> list[Way]:
        """Give the ways on that are rid of a finding, and of nothing else for the worse."""
        steps: list[Way] = []
        for kind in moves(worst, way.judgement):
            if len(steps) >= most:
                break
            for move in kind:
                if len(self.known) > MOST_TRIALS:
                    return steps
                step = self._tried({**way.changes(), **move})
                if step is not None and _removes(way.verdict, step.verdict, worst):
                    steps.append(step)
                    break
        return steps

    def _tried(self, changes: Mapping[str, object]) -> Way | None:
        """Judge the file with some values changed; None where that is no usable file."""
        key = tuple(sorted((path, repr(to)) for path, to in changes.items()))
        if key not in self.known:
            self.known[key] = self._judged(changes)
        return self.known[key]

    def _judged(self, changes: Mapping[str, object]) -> Way | None:
        settings = tuple(
            Setting(path, was, to)
            for path, to in changes.items()
            if (was := _value(self.document.data, path)) != to
        )
        try:
            document = revalidated(self.document, {each.path: each.to for each in settings})
        except KeyError:  # the path leads through a section that the file declares as `none`
            return None
        verdict, judgement = judged(
            document,
            self.pack,
            today=self.today,
            suggestions=False,
        )
        return None if judgement is None else Way(settings, verdict, judgement)

    def _needed(self, way: Way) -> Way:
        """Take back what the verdict does not need."""
        for setting in way.settings if len(way.settings) > 1 else ():
            less = self._tried({path: to for path, to in way.changes().items() if path != setting.path})
            if less is not None and _left(less.verdict) <= _left(way.verdict):
                way = less
        return way


def _value(data: dict[str, Any], path: str) -> object:
    found = walk(data, path)
    return None if isinstance(found, Nothing) else found


def _open(verdict: Verdict) -> list[Finding]:
    """Give the findings that keep a file from being accepted, the worst first."""
    return [each for each in verdict.findings if each.severity != "note"]


def _name(finding: Finding) -> tuple[str, str]:
    return finding.rule, finding.path


def _left(verdict: Verdict) -> tuple[int, ...]:
    """Give what keeps a file from being accepted: the verdict's place, and how much there is of each kind."""
    found = [each.severity for each in verdict.findings]
    lacking = sum(each.severity == "reject" for each in verdict.not_judged)
    return WORDS.index(verdict.word), found.count("reject"), lacking, found.count("review")


def _rank(way: Way) -> tuple[object, ...]:
    """Order ways: the better verdict, then the less work on the pack, then the smaller change."""
    lists = sum(isinstance(each.to, list | str | bool) for each in way.settings)
    return (
        _left(way.verdict), way.moves_a_sensor, way.changes_a_part, _narrowed(way), len(way.settings), lists,
        round(sum(_size(each) for each in way.settings), 6), [each.path for each in way.settings],
        repr(way.settings),
    )  # fmt: skip


def _narrowed(way: Way) -> int:
    """Count the thresholds that come much closer to the ones that end what they began."""
    was = {each.path: each.was for each in way.settings}
    count = 0
    for each in way.settings:
        section, _, key = each.path.rpartition(".")
        other = f"{section}.{PARTNERS.get(key)}"
        now = walk(way.judgement.inputs.data, other)
        before, after = _gap(each.was, was.get(other, now)), _gap(each.to, now)
        count += before is not None and after is not None and after < before / 2.0
    return count


def _gap(one: object, other: object) -> float | None:
    return abs(one - other) if isinstance(one, float) and isinstance(other, float) else None


def _size(setting: Setting) -> float:
    """Give how far a number is moved, as a part of itself."""
    was, to = setting.was, setting.to
    if not isinstance(was, float) or not isinstance(to, float):
        return 1.0
    return abs(to - was) / max(abs(was), abs(to))


def _removes(before: Verdict, after: Verdict, finding: Finding) -> bool:
    """Whether a file is rid of a finding, and on the whole no worse; what is new can be removed next."""
    if after.outcomes[finding.rule].state not in ("passed", "spoke"):
        return False
    same = [each for each in _open(after) if _name(each) == _name(finding)]
    milder = all(SEVERITIES.index(each.severity) > SEVERITIES.index(finding.severity) for each in same)
    return milder and _left(after) <= _left(before)


def _least(found: list[Way]) -> list[Way]:
    """Order ways by the least change; one that does all that another does, and more, goes."""
    kept: list[Way] = []
    for way in sorted(found, key=_rank):
        asked = set(map(repr, way.settings))
        if not any(set(map(repr, less.settings)) <= asked for less in kept):
            kept.append(way)
    return kept
