"""Ways to acceptance, each tried on the file and judged again before it is offered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.evaluate import run
from bmslint.judge.finding import SEVERITIES, Change, Finding
from bmslint.judge.inputs import World
from bmslint.judge.judgement import Judgement, Spoken, judge_rules
from bmslint.settings import revalidated

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.judge.rule import Suggestion
    from bmslint.settings.reader import Document


def with_suggestions(document: Document, pack: Pack, judgement: Judgement, spoken: Spoken) -> Finding:
    """Add to a finding the changes that were proven to remove it.

    Args:
        document: the file.
        pack: the rules.
        judgement: what the rules said of the file.
        spoken: one of its findings.

    Returns:
        The finding; unchanged if its rule knows no way out, or none that holds.

    Raises:
        PackError: a rule is at fault.
    """
    if not spoken.rule.suggest:
        return spoken.finding
    return spoken.finding._replace(suggest=_proven(document, pack, judgement, spoken))


def _proven(document: Document, pack: Pack, before: Judgement, spoken: Spoken) -> tuple[Change, ...]:
    changes = []
    for i, suggestion in enumerate(spoken.rule.suggest):
        for change in _candidates(before, spoken, i, suggestion):
            if _proves(document, pack, before, spoken, change):
                changes.append(change)
                break
    return tuple(dict.fromkeys(changes))


def _candidates(before: Judgement, spoken: Spoken, i: int, suggestion: Suggestion) -> list[Change]:
    """The change at unfavourable properties first, as it leaves nothing to review; then at nominal."""
    candidates = []
    for world in (before.inputs.unfavourable, before.inputs.nominal):
        change = _candidate(world, spoken, i, suggestion)
        if change is not None and change not in candidates:
            candidates.append(change)
    return candidates


def _candidate(world: World, spoken: Spoken, i: int, suggestion: Suggestion) -> Change | None:
    item = spoken.failure.item
    to = run(spoken.rule, f"suggest[{i}].to", suggestion.to, world, item)
    if not isinstance(to, bool | float | str):
        return None
    extra = item.variables() if item is not None else {}
    return Change(suggestion.set.fill(lambda path: world.look_up(path, extra)), to)


def _proves(document: Document, pack: Pack, before: Judgement, spoken: Spoken, change: Change) -> bool:
    try:
        changed = revalidated(document, {change.set: change.to})
    except KeyError:  # the path leads through a section that the file declares as `none`
        return False
    if changed.problems:
        return False
    after = judge_rules(changed, pack)
    if {each.rule for each in after.not_judged} - {each.rule for each in before.not_judged}:
        return False
    if after.outcomes[spoken.rule.id].state not in ("passed", "spoke"):
        return False
    was = {(each.finding.rule, each.finding.path): each.finding for each in before.spoken}
    for each in (other.finding for other in after.spoken):
        old = was.get((each.rule, each.path))
        mine = each.rule == spoken.rule.id and each.path == spoken.finding.path
        if mine and (not each.unfavourable_only or spoken.finding.unfavourable_only):
            return False
        worse = old is None or SEVERITIES.index(each.severity) < SEVERITIES.index(old.severity)
        if worse and each.severity != "note":
            return False
    return True
