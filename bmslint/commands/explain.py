"""`bmslint explain`: why a file was judged as it was, or what a rule is about, in plain words."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint.commands.shared import OK, UNUSABLE, load_rules, say, say_pack, say_problems, take_rules

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from bmslint.facts.course import Course, Run
    from bmslint.judge.finding import Accepted, Finding, Verdict
    from bmslint.judge.judgement import Judgement
    from bmslint.judge.pack import Pack
    from bmslint.judge.rule import Rule
    from bmslint.output.explain import Explained
    from bmslint.settings.reader import Document

MOST_STORIES = 3
"""Findings of one rule that are told in full; the others' places are named."""


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    from bmslint.commands.arguments import take_day

    parser.add_argument("subject", metavar="FILE", help="settings file; or the id of a rule, without a file")
    parser.add_argument("rule", nargs="?", metavar="RULE", help="id of the rule to explain on that file")
    take_day(parser)
    take_rules(parser)


def run(options: argparse.Namespace) -> int:
    """Explain a file, a rule on a file, or a rule."""
    from bmslint.judge.faults import PackError
    from bmslint.limits import UnusableTable

    try:
        pack = load_rules(options)
        if options.rule is None and not _is_file(options.subject):
            return _rule(options.subject, pack)
        if options.rule is not None and pack.rule(options.rule) is None:
            return _no_rule(options.rule, options.subject, pack)
        return _file(options, pack)
    except (PackError, UnusableTable) as error:
        return say_pack(error)


def _is_file(subject: str) -> bool:
    """Whether an argument is meant as a file: it is there, or it is written like one."""
    return Path(subject).exists() or any(sign in subject for sign in "/\\.")


def _rule(name: str, pack: Pack) -> int:
    """Explain a rule without a file; one that is no longer run, too."""
    from bmslint.judge.retired import load_retired
    from bmslint.output.explain_rule import write_retired, write_rule
    from bmslint.output.page import Page

    page, rule = Page(), pack.rule(name)
    retired = next((each for each in load_retired({each.id for each in pack.rules}) if each.id == name), None)
    if rule is not None:
        write_rule(page, rule)
    elif retired is not None:
        write_retired(page, retired)
    else:
        return _no_rule(name, "", pack)
    page.write(sys.stdout)
    return OK


def _no_rule(name: str, file: str, pack: Pack) -> int:
    """Tell that an id is no rule's, and what may have been meant."""
    from difflib import get_close_matches

    from bmslint.judge.own.changes import SWITCHED_OFF
    from bmslint.judge.template import visible

    off = [
        (each, own)
        for own in pack.own
        for each in own.changes
        if each.rule == name and each.now == SWITCHED_OFF
    ]
    if off:
        change, own = off[0]
        say(
            visible(
                f"bmslint: the rule {name} is switched off by {own.name}: {' '.join(change.reason.split())}"
            )
        )
        return UNUSABLE
    if file and pack.rule(file) is not None:
        say(visible(f"bmslint: the file comes first: bmslint explain {name} {file}"))
        return UNUSABLE
    near = get_close_matches(name, [rule.id for rule in pack.rules], 1, 0.6)
    hint = f"; did you mean {near[0]}?" if near else "; `bmslint rules` lists them"
    what = "no rule" if file else "neither a settings file nor a rule"
    say(visible(f"bmslint: {name!r} is {what}{hint}"))
    return UNUSABLE


def _file(options: argparse.Namespace, pack: Pack) -> int:
    """Judge a file and explain what became of it, or of one rule."""
    from bmslint.judge.judge import judged
    from bmslint.output.explain import Explained, fits
    from bmslint.output.page import Page
    from bmslint.settings import read

    if Path(options.subject).is_dir():
        say(f"bmslint: {options.subject} is a folder; name one settings file")
        return UNUSABLE
    document = read(options.subject)
    verdict, judgement = judged(document, pack, today=options.today)
    if judgement is None:
        return say_problems(verdict.errors)
    page = Page()
    explained = Explained(page, _courses(document, judgement), fits(getattr(sys.stdout, "encoding", None)))
    explained.head(verdict, str(document.data.get("title", "")), pack.own)
    if options.rule is None:
        _whole(explained, verdict, judgement, pack)
    else:
        rule = pack.rule(options.rule)
        assert rule is not None
        _one(explained, rule, verdict, judgement)
    page.write(sys.stdout)
    return OK


def _courses(document: Document, judgement: Judgement) -> dict[str, Course]:
    from bmslint.facts.course import Course, course

    runs: tuple[Run, ...] = ("heated_warmup", "ambient_warmup")
    found = {run: course(document.data, judgement.inputs.limits, run) for run in runs}
    return {run: each for run, each in found.items() if isinstance(each, Course)}


def _taken(verdict: Verdict) -> Iterator[tuple[Finding, Accepted]]:
    """The findings that a person took on, each with its entry."""
    return ((finding, entry) for entry in verdict.accepted for finding in entry.findings)


def _whole(explained: Explained, verdict: Verdict, judgement: Judgement, pack: Pack) -> None:
    """The worst finding in full, the others in short, and what was not judged."""
    from bmslint.output.story.finding import finding_story

    if verdict.findings:
        worst, *others = verdict.findings
        rule = pack.rule(worst.rule)
        assert rule is not None
        explained.story(finding_story(worst, rule, judgement.inputs, explained.courses), rule)
        explained.short(others)
    else:
        explained.nothing(judgement.inputs)
    explained.taken(list(_taken(verdict)))
    explained.not_judged(verdict.not_judged)
    explained.end("Of one rule alone, also why it did not speak:", f"  bmslint explain {verdict.file} RULE")


def _one(explained: Explained, rule: Rule, verdict: Verdict, judgement: Judgement) -> None:
    """What became of one rule."""
    from bmslint.output.story.finding import finding_story
    from bmslint.output.story.silence import silence_story

    taken = [(finding, entry) for finding, entry in _taken(verdict) if finding.rule == rule.id]
    found: list[tuple[Finding, Accepted | None]] = [(f, None) for f in verdict.findings if f.rule == rule.id]
    found += taken
    for finding, entry in found[:MOST_STORIES]:
        explained.story(finding_story(finding, rule, judgement.inputs, explained.courses), rule, entry)
    explained.short([finding for finding, _ in found[MOST_STORIES:]])
    if not found:
        lacks = next((each for each in verdict.not_judged if each.rule == rule.id), None)
        outcome = verdict.outcomes[rule.id]
        explained.story(silence_story(rule, outcome, lacks, judgement.inputs, explained.courses), rule)
        explained.waived([each for each in verdict.not_applicable if each.rule == rule.id])
    explained.end()
