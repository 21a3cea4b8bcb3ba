"""Judges one settings file to a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from bmslint.judge.entries import utc_today, with_entries
from bmslint.judge.finding import Verdict
from bmslint.judge.judgement import judge_rules
from bmslint.judge.suggest import Prover
from bmslint.judge.unusable import unknown_chemistry
from bmslint.limits import UnknownChemistry

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from bmslint.judge.finding import Finding, NotJudged
    from bmslint.judge.judgement import Judgement
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document


class Judged(NamedTuple):
    """A verdict, and what it was made of; None for a file that could not be judged."""

    verdict: Verdict
    judgement: Judgement | None


def judge(
    document: Document, pack: Pack, *, today: date | None = None, allow_accepted_rejects: bool = False
) -> Verdict:
    """Judge a settings file.

    Args:
        document: the file as it was read.
        pack: the rules.
        today: the day that the dates under `accepted` are held against, and so an input like the file;
            the computer's in UTC if left out.
        allow_accepted_rejects: whether findings of severity `reject` that a person took on do not count.

    Returns:
        The verdict, with suggestions that were tried and judged again.

    Raises:
        PackError: a rule is at fault.
    """
    return judged(document, pack, today=today, allow_accepted_rejects=allow_accepted_rejects).verdict


def judged(
    document: Document,
    pack: Pack,
    *,
    today: date | None = None,
    allow_accepted_rejects: bool = False,
    suggestions: bool = True,
) -> Judged:
    """Judge a settings file, and keep what the verdict was made of.

    Args:
        document: as for `judge`.
        pack: as for `judge`.
        today: as for `judge`.
        allow_accepted_rejects: as for `judge`.
        suggestions: whether ways out are looked for, each at the price of judging once more.

    Returns:
        The verdict that `judge` gives, with what the rules were judged on.

    Raises:
        PackError: a rule is at fault.
    """
    if document.problems:
        return Judged(Verdict(file=document.file, word="unusable", errors=document.problems), None)
    try:
        judgement = judge_rules(document, pack)
    except UnknownChemistry as error:
        problem = unknown_chemistry(document, error)
        return Judged(Verdict(file=document.file, word="unusable", errors=(problem,)), None)
    whole = with_entries(judgement, document, pack, today or utc_today(), allow_accepted_rejects)
    proven = {each.finding: each.finding for each in whole.judgement.spoken}
    if suggestions:
        prover = Prover(document, pack, judgement)
        proven = {each.finding: prover.with_suggestions(each) for each in whole.judgement.spoken}
    taken = {finding for entry in whole.accepted for finding in entry.findings}
    counted = [each for each in whole.judgement.spoken if each.finding not in taken]
    verdict = Verdict(
        file=document.file,
        word=verdict_word((each.finding for each in counted), whole.judgement.not_judged),
        findings=tuple(proven[each.finding] for each in counted),
        not_judged=whole.judgement.not_judged,
        outcomes=whole.judgement.outcomes,
        accepted=tuple(
            entry._replace(findings=tuple(proven[each] for each in entry.findings))
            for entry in whole.accepted
        ),
        not_applicable=whole.not_applicable,
    )
    return Judged(verdict, whole.judgement)


def verdict_word(
    findings: Iterable[Finding], not_judged: Sequence[NotJudged]
) -> Literal["accepted", "review", "rejected", "not judged"]:
    """Give the verdict of a file that could be judged.

    Args:
        findings: those that count.
        not_judged: rules that lack data.

    Returns:
        The worst that holds.
    """
    found = {each.severity for each in findings}
    if "reject" in found:
        return "rejected"
    if any(each.severity == "reject" for each in not_judged):
        return "not judged"
    return "review" if "review" in found else "accepted"
