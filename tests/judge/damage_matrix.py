"""What the rules make of every damage to every good profile; run by itself it prints it for review.

    .venv/bin/python tests/judge/damage_matrix.py > came.yaml
    diff tests/judge/damage_matrix.yaml came.yaml

A cell is the list of rules that speak newly, each with its severity; where none speaks but some are no longer
judged for lack of data, these; else a reason in words why nothing speaks. What is printed keeps the reasons
that are stated, and writes UNEXPLAINED where a silent cell has none.
"""

from __future__ import annotations

import json
import textwrap
from functools import cache
from pathlib import Path
from typing import Any

from damages import DAMAGES

from bmslint.data import rules_dir
from bmslint.judge.finding import SEVERITIES
from bmslint.judge.judgement import Judgement, judge_rules
from bmslint.judge.pack import Pack, load_pack
from bmslint.settings import Document, read, read_text
from bmslint.settings.paths import copied
from bmslint.settings.tree import parse

Cell = list[str] | str
FOLDER = rules_dir().parent / "profiles"
PROFILES = sorted(path.stem for path in FOLDER.glob("*.yaml"))
STATED = Path(__file__).with_name("damage_matrix.yaml")


@cache
def pack() -> Pack:
    return load_pack()


@cache
def profile(stem: str) -> Document:
    return read(FOLDER / f"{stem}.yaml")


@cache
def undamaged(stem: str) -> Judgement:
    return judge_rules(profile(stem), pack())


def stated() -> dict[str, dict[str, Cell]]:
    data: Any = parse(STATED.read_bytes(), STATED.name).data
    return dict(data)


def came(damage: str, stem: str) -> Cell:
    """Damage a profile and judge it.

    Args:
        damage: the damage's name.
        stem: the profile's.

    Returns:
        "severity rule" for each rule that speaks newly, sorted; the paths that the reader refuses; a reason
        where the profile has nothing to damage; where nothing speaks, "unjudged rule" for each `reject` and
        `review` that is no longer judged.
    """
    document = profile(stem)
    data = copied(document.tree.data)
    reason = DAMAGES[damage](data)
    if reason is not None:
        return reason
    damaged = read_text(json.dumps(data), document.file)
    if damaged.problems:
        return [f"refused {each.path}" for each in damaged.problems]
    before, after = undamaged(stem), judge_rules(damaged, pack())
    was = {(each.finding.severity, each.rule.id, each.finding.path) for each in before.spoken}
    speak = {
        (SEVERITIES.index(each.finding.severity), each.rule.id)
        for each in after.spoken
        if (each.finding.severity, each.rule.id, each.finding.path) not in was
    }
    if speak:
        return [f"{SEVERITIES[rank]} {rule}" for rank, rule in sorted(speak)]
    judged = {each.rule for each in before.not_judged}
    return [
        f"unjudged {each.rule}"
        for each in after.not_judged
        if each.severity != "note" and each.rule not in judged
    ]


def explained(now: Cell, before: Cell | None) -> Cell:
    """A silent cell with the reason that is stated for it."""
    return now if now else before if isinstance(before, str) else "UNEXPLAINED"


def written(stem: str, cell: Cell) -> str:
    text = cell if isinstance(cell, str) else f"[{', '.join(cell)}]"
    return textwrap.fill(
        f"  {stem}: {text}", 116, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False
    )


def main() -> None:
    comment = __doc__.partition("\n\n    ")[2].partition("\n\n")[2] if __doc__ else ""
    print("\n".join(f"# {line}" for line in comment.strip().splitlines()))
    before = stated() if STATED.exists() else {}
    for damage in DAMAGES:
        print(f"{damage}:")
        for stem in PROFILES:
            cell = explained(came(damage, stem), before.get(damage, {}).get(stem))
            print(written(stem, cell), flush=True)


if __name__ == "__main__":
    main()
