"""Judges one settings file to a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from bmslint.judge.finding import Verdict
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.suggest import Prover
from bmslint.judge.unusable import unknown_chemistry
from bmslint.limits import UnknownChemistry

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.settings.reader import Document


def judge(document: Document, pack: Pack) -> Verdict:
    """Judge a settings file.

    Args:
        document: the file as it was read.
        pack: the rules.

    Returns:
        The verdict, with suggestions that were tried and judged again.

    Raises:
        PackError: a rule is at fault.
    """
    if document.problems:
        return Verdict(file=document.file, word="unusable", errors=document.problems)
    try:
        judgement = judge_rules(document, pack)
    except UnknownChemistry as error:
        return Verdict(file=document.file, word="unusable", errors=(unknown_chemistry(document, error),))
    prover = Prover(document, pack, judgement)
    return Verdict(
        file=document.file,
        word=_word(judgement),
        findings=tuple(map(prover.with_suggestions, judgement.spoken)),
        not_judged=judgement.not_judged,
        outcomes=judgement.outcomes,
        accepted=tuple(document.data.get("accepted", ())),
    )


def _word(judgement: Judgement) -> Literal["accepted", "review", "rejected", "not judged"]:
    found = {each.finding.severity for each in judgement.spoken}
    if "reject" in found:
        return "rejected"
    if any(each.severity == "reject" for each in judgement.not_judged):
        return "not judged"
    return "review" if "review" in found else "accepted"
