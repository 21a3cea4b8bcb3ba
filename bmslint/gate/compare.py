"""What a change did to settings files: findings that came and went, settings and facts that moved."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from bmslint.gate.changes import SettingChange, changed_settings
from bmslint.gate.facts_changed import FactChange, changed_facts, deciding_facts
from bmslint.judge.finding import SEVERITIES, Severity
from bmslint.judge.identity import identity
from bmslint.judge.judge import Judged, judged
from bmslint.settings.files import DISK, Source
from bmslint.settings.reader import read

if TYPE_CHECKING:
    from datetime import date

    from bmslint.judge.finding import Finding, NotJudged, Verdict
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document

State = Literal["changed", "came", "went", "unchanged"]


class Side(NamedTuple):
    """One of the two things that are compared: what it is called, its files by name, where they are read."""

    name: str
    files: Mapping[str, Path]
    source: Source = DISK


class Stayed(NamedTuple):
    """A finding that was there before and after."""

    was: Finding
    now: Finding

    @property
    def raised(self) -> bool:
        """Whether it is more severe now."""
        return SEVERITIES.index(self.now.severity) < SEVERITIES.index(self.was.severity)


class FileComparison(NamedTuple):
    """What became of one settings file.

    `was` and `now` are its verdicts, None where there is no such file. With `was` unusable every finding
    came; with `now` unusable nothing else is told. `taken_on` are findings that counted and no longer do,
    as a person took them on; `unjudged` are rules that were judged before, or would be new, and lack data.
    """

    name: str
    state: State
    was: Verdict | None
    now: Verdict | None
    came: tuple[Finding, ...] = ()
    went: tuple[Finding, ...] = ()
    stayed: tuple[Stayed, ...] = ()
    taken_on: tuple[Finding, ...] = ()
    unjudged: tuple[NotJudged, ...] = ()
    settings: tuple[SettingChange, ...] = ()
    facts: tuple[FactChange, ...] = ()


class Comparison(NamedTuple):
    """What became of all files of two sides.

    `files` leaves out those that hold the same settings as before: `unchanged` is their number, and
    `still` that of their findings by severity.
    """

    old: str
    new: str
    files: tuple[FileComparison, ...]
    unchanged: int
    still: Mapping[Severity, int]


def gathered(old: str, new: str, files: Iterable[FileComparison]) -> Comparison:
    """Put together what became of all files.

    Args:
        old: what the side before is called.
        new: what the side after is called.
        files: what became of each.

    Returns:
        The comparison; little is kept of files that did not change.
    """
    told, unchanged = [], 0
    still: dict[Severity, int] = dict.fromkeys(SEVERITIES, 0)
    for each in files:
        if each.state != "unchanged":
            told.append(each)
            continue
        unchanged += 1
        for finding in each.stayed:
            still[finding.now.severity] += 1
    return Comparison(old, new, tuple(told), unchanged, still)


def compare(
    old: Side,
    new: Side,
    pack: Pack,
    *,
    today: date,
    allow_accepted_rejects: bool = False,
    elsewhere: Callable[[Sequence[Path]], Iterable[Verdict]] | None = None,
) -> Iterator[FileComparison]:
    """Compare two sets of settings files, matched by name.

    Args:
        old: before.
        new: after.
        pack: the rules, the same for both.
        today: the day that both are judged on.
        allow_accepted_rejects: as for `judge`.
        elsewhere: judges files of the new side that did not change, such as in other processes; one by one
            here if left out.

    Yields:
        What became of each file, in the order of their names; those that are judged elsewhere come last.

    Raises:
        PackError: a rule is at fault.
    """
    deciding = deciding_facts(pack.rules)
    unchanged: dict[str, str] = {}

    def judge(document: Document) -> Judged:
        return judged(document, pack, today=today, allow_accepted_rejects=allow_accepted_rejects)

    for name in sorted(old.files.keys() | new.files.keys()):
        before, after = (_read(side, name) for side in (old, new))
        same = before is not None and after is not None and _same(before, after)
        if same and elsewhere is not None:
            unchanged[str(new.files[name])] = name
            continue
        two = None if after is None else judge(after)
        one = two if same else None if before is None else judge(before)
        found = _compared(name, one, two)
        if found.state == "changed" and one and two and one.judgement and two.judgement:
            assert before is not None
            assert after is not None
            facts = changed_facts(one.judgement.inputs.facts, two.judgement.inputs.facts, deciding)
            found = found._replace(settings=changed_settings(before, after), facts=facts)
        yield found
    if elsewhere is not None and unchanged:
        for verdict in elsewhere([Path(each) for each in unchanged]):
            yield _unchanged(unchanged[verdict.file], verdict)


def _unchanged(name: str, verdict: Verdict) -> FileComparison:
    """What is told of a file that holds the same settings; it may be that judging it came to no end."""
    if verdict.word == "unusable":
        return FileComparison(name, "changed", verdict, verdict)
    one = Judged(verdict, None)
    return _compared(name, one, one)


def _read(side: Side, name: str) -> Document | None:
    return read(side.files[name], side.source) if name in side.files else None


def _same(before: Document, after: Document) -> bool:
    """Whether two files hold the same settings, what they extend included, so that one verdict does."""
    return not before.problems and not after.problems and before.data == after.data


def _compared(name: str, was: Judged | None, now: Judged | None) -> FileComparison:
    state: State = "changed"
    if was is None or now is None:
        state = "came" if was is None else "went"
    elif was is now:
        state = "unchanged"
    before, after = (None if each is None else each.verdict for each in (was, now))
    if after is not None and after.word == "unusable":
        return FileComparison(name, state, before, after)
    old = before.findings if before is not None else ()
    new = after.findings if after is not None else ()
    stayed = tuple(Stayed(*pair) for pair in _pairs(old, new))
    kept = {id(finding) for each in stayed for finding in each}
    gone = [each for each in old if id(each) not in kept]
    taken = [] if after is None else [each for entry in after.accepted for each in entry.findings]
    taken_on = {id(one) for one, _ in _pairs(gone, taken)}
    return FileComparison(
        name,
        state,
        before,
        after,
        came=tuple(each for each in new if id(each) not in kept),
        went=tuple(each for each in gone if id(each) not in taken_on),
        stayed=stayed,
        taken_on=tuple(each for each in gone if id(each) in taken_on),
        unjudged=_unjudged(before, after),
    )


def _pairs(old: Sequence[Finding], new: Sequence[Finding]) -> list[tuple[Finding, Finding]]:
    """Match findings by what they are known by; the first of several with the first."""
    waiting: dict[str, list[Finding]] = {}
    for each in reversed(old):
        waiting.setdefault(identity(each), []).append(each)
    pairs = []
    for each in new:
        if alike := waiting.get(identity(each)):
            pairs.append((alike.pop(), each))
    return pairs


def _unjudged(was: Verdict | None, now: Verdict | None) -> tuple[NotJudged, ...]:
    before = set() if was is None or was.word == "unusable" else {each.rule for each in was.not_judged}
    return () if now is None else tuple(each for each in now.not_judged if each.rule not in before)
