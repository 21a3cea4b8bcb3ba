"""Ways to acceptance, each tried on the file and judged again before it is offered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.judge.evaluate import run
from bmslint.judge.finding import SEVERITIES, Change, Finding
from bmslint.judge.inputs import Inapplicable, World
from bmslint.judge.judgement import Judgement, Spoken, judge_rules
from bmslint.settings import revalidated

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.judge.rule import Suggestion
    from bmslint.settings.reader import Document


class Prover:
    """Tries changes on one file; a change that several findings ask for is judged once."""

    def __init__(self, document: Document, pack: Pack, before: Judgement) -> None:
        """Keep the file and what the rules said of it.

        Args:
            document: the file.
            pack: the rules.
            before: what they said.
        """
        self.document = document
        self.pack = pack
        self.before = before
        self._after: dict[Change, Judgement | None] = {}

    def with_suggestions(self, spoken: Spoken) -> Finding:
        """Add to a finding the changes that were proven to remove it.

        Args:
            spoken: one of the file's findings.

        Returns:
            The finding; unchanged if its rule knows no way out, or none that holds.

        Raises:
            PackError: a rule is at fault.
        """
        changes = []
        for i, suggestion in enumerate(spoken.rule.suggest):
            for change in _candidates(self.before, spoken, i, suggestion):
                after = self._judged(change)
                if after is not None and _proves(self.before, after, spoken):
                    changes.append(change)
                    break
        return spoken.finding._replace(suggest=tuple(dict.fromkeys(changes)))

    def _judged(self, change: Change) -> Judgement | None:
        """What the rules say of the changed file; None if it is not a usable one."""
        if change not in self._after:
            try:
                changed = revalidated(self.document, {change.set: change.to})
            except KeyError:  # the path leads through a section that the file declares as `none`
                self._after[change] = None
            else:
                usable = not changed.problems
                self._after[change] = judge_rules(changed, self.pack) if usable else None
        return self._after[change]


def candidates(before: Judgement, spoken: Spoken) -> list[Change]:
    """Give what a finding's rule knows as ways out, none of them tried.

    Args:
        before: what the rules said of the file.
        spoken: one of its findings.

    Returns:
        Changes of one setting each.

    Raises:
        PackError: a rule is at fault.
    """
    found = [_candidates(before, spoken, i, suggestion) for i, suggestion in enumerate(spoken.rule.suggest)]
    return [change for some in found for change in some]


def _candidates(before: Judgement, spoken: Spoken, i: int, suggestion: Suggestion) -> list[Change]:
    """The change at unfavourable properties first, as it leaves nothing to review; then at nominal."""
    candidates: list[Change] = []
    inputs = before.inputs.asked_by(suggestion.to)
    # A way out may name a setting that the rule itself does not, and that this file declares as `none`.
    named = [inputs.resolve(each.path, spoken.failure.item) for each in suggestion.to.references]
    if any(isinstance(each, Inapplicable) for each in named):
        return candidates
    for world in (inputs.unfavourable, inputs.nominal):
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


def _proves(before: Judgement, after: Judgement, spoken: Spoken) -> bool:
    """Whether a changed file is rid of a finding, and of nothing else for the worse."""
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
