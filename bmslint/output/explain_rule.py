"""A rule explained without a file, and the meaning of the words that occur."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bmslint.output.glossary import terms_in
from bmslint.output.rules import retired_parts, rule_parts
from bmslint.output.text import COLOURS
from bmslint.output.words import SEVERITIES_SAID

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bmslint.judge.retired import Retired
    from bmslint.judge.rule import Rule
    from bmslint.output.glossary import Term
    from bmslint.output.page import Page


def write_rule(page: Page, rule: Rule) -> None:
    """Explain a rule without a file.

    Args:
        page: where to.
        rule: the rule.
    """
    page.line((rule.id, "bold"))
    page.paragraph("", " ".join(rule.title.split()), indent=0)
    page.gap()
    parts = rule_parts(rule)
    for name, text in parts:
        told = f"{text}: {SEVERITIES_SAID[rule.severity]}" if name == "Severity" else text
        page.paragraph(f"{name}: ", told, COLOURS[rule.severity] if name == "Severity" else "bold", indent=0)
    page.gap()
    write_words(page, terms_in([rule.title, *(text for _, text in parts)]))
    page.paragraph("", f"What it says of a file: bmslint explain FILE {rule.id}", indent=0)


def write_retired(page: Page, rule: Retired) -> None:
    """Explain a rule that is no longer run.

    Args:
        page: where to.
        rule: the rule.
    """
    page.line((rule.id, "bold"))
    page.paragraph("", rule.title, indent=0)
    page.gap()
    for name, text in retired_parts(rule):
        page.paragraph(f"{name}: ", text, indent=0)


def write_words(page: Page, terms: Sequence[Term]) -> None:
    """Write what words mean.

    Args:
        page: where to.
        terms: the words.
    """
    if not terms:
        return
    page.line(("What the words mean", "bold"))
    for term in terms:
        page.paragraph(f"{term.word}: ", term.means, indent=2)
    page.gap()
