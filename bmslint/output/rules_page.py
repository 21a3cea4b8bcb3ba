"""Every rule on one page; `python -m bmslint.output.rules_page > rules/README.md` writes it anew."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bmslint.judge.pack import Pack
    from bmslint.judge.retired import Retired
    from bmslint.judge.rule import Rule

STATES = {
    "fail": "speaks",
    "pass": "holds",
    "does_not_apply": "does not apply",
    "not_judged": "is not judged",
}
HEAD = """\
# The rules

Generated from the rule files by `python -m bmslint.output.rules_page`; change those, not this page.
`reject` means do not flash, `review` that a person must look, `note` is a remark. A rule whose data are
missing is not judged, which is not passed. How a source is known: read, common practice (the trade does it,
no source), unverified (from memory, or judgement). Every example named here is run by the tests.
"""


def rules_page(
    pack: Pack, retired: Sequence[Retired], examples: Mapping[str, Mapping[str, Sequence[str]]]
) -> str:
    """Write every rule of a pack on one page.

    Args:
        pack: the rules.
        retired: the rules that are no longer run.
        examples: names of the examples, by rule and by what is expected.

    Returns:
        The page in Markdown: a table of contents, then the rules by family.
    """
    families = sorted({rule.family for rule in pack.rules})
    counts = [f"{sum(r.severity == s for r in pack.rules)} {s}" for s in ("reject", "review", "note")]
    lines = [HEAD, f"{len(pack.rules)} rules: {', '.join(counts)}.", ""]
    for family in families:
        named = [rule for rule in pack.rules if rule.family == family]
        lines += [f"- [{family}](#{family}): {', '.join(f'[{r.id}](#{r.id})' for r in named)}"]
    if retired:
        lines += [f"- [retired](#retired): {', '.join(f'[{r.id}](#{r.id})' for r in retired)}"]
    for family in families:
        lines += ["", f"## {family}"]
        for rule in pack.rules:
            if rule.family == family:
                lines += _rule(rule, examples.get(rule.id, {}))
    if retired:
        lines += ["", "## retired"]
        for each in retired:
            lines += _retired(each)
    return "\n".join([*lines, ""])


def _rule(rule: Rule, examples: Mapping[str, Sequence[str]]) -> list[str]:
    parts = {
        "Why": rule.why,
        "To do": rule.remedy,
        "Does not apply to": rule.does_not_apply_to,
        "Known false alarms": rule.known_false_alarms,
        "Also silences": ", ".join(rule.covers),
    }
    sources = [f"{s.title}{', ' if s.clause else ''}{s.clause} ({s.how})" for s in rule.sources]
    lines = ["", f"### {rule.id}", "", f"**{_plain(rule.title)}** ({rule.severity})", ""]
    lines += [f"- {name}: {_plain(text)}" for name, text in parts.items() if text]
    lines += [
        f"- Parameter {name}: {each.value:g} {each.unit}; {_plain(each.means)}".replace(" ;", ";")
        for name, each in rule.parameters.items()
    ]
    lines += [f"- Source: {_plain(text)}" for text in sources]
    lines += [
        f"- It {state}: {_plain('; '.join(examples[expect]))}"
        for expect, state in STATES.items()
        if examples.get(expect)
    ]
    return lines


def _retired(rule: Retired) -> list[str]:
    parts = {
        "Why": rule.why,
        "Retired in": rule.retired_in,
        "Because": rule.retired_because,
        "Instead": ", ".join(rule.instead),
    }
    lines = ["", f"### {rule.id}", "", f"**{_plain(rule.title)}** ({rule.severity}, no longer run)", ""]
    return lines + [f"- {name}: {_plain(text)}" for name, text in parts.items() if text]


def _plain(text: str) -> str:
    """Put a text on one line and keep what Markdown would take for a sign, but for code."""
    parts = " ".join(text.split()).split("`")
    return "`".join(
        part if i % 2 else re.sub(r"([*<>\[\]|\\])", r"\\\1", part) for i, part in enumerate(parts)
    )


def main() -> None:
    """Print the page of the built-in rules."""
    from bmslint.judge.example_names import example_names
    from bmslint.judge.pack import load_pack
    from bmslint.judge.retired import load_retired

    pack = load_pack()
    retired = load_retired({rule.id for rule in pack.rules})
    sys.stdout.buffer.write(rules_page(pack, retired, example_names()).encode())


if __name__ == "__main__":
    main()
