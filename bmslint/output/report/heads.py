"""Headings in order: a page of one file begins one level higher than a page of several."""

from __future__ import annotations

from typing import NamedTuple

from bmslint.output.report.markup import Markup, tag


class Heads(NamedTuple):
    """Writes headings at a level (1 to 6), and below it."""

    level: int

    def head(self, text: Markup | str, id: str | None = None) -> Markup:
        """Write a heading at this level.

        Args:
            text: its words.
            id: its id on the page.

        Returns:
            The heading.
        """
        return tag(f"h{self.level}", text, id=id)

    def below(self, text: Markup | str, id: str | None = None) -> Markup:
        """Write a heading one level below.

        Args:
            text: its words.
            id: its id on the page.

        Returns:
            The heading.
        """
        return self.deeper().head(text, id)

    def deeper(self) -> Heads:
        """Give what writes one level below.

        Returns:
            It.
        """
        return Heads(self.level + 1)
