"""The form of a story."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from bmslint.judge.finding import Place
    from bmslint.output.glossary import Term
    from bmslint.output.story.teller import Number


class Entry(NamedTuple):
    """A labelled value with its unit.

    Args:
        label: what it is, in plain words.
        value: the value.
        place: where it stands, as file, line and column; or `declare` and the setting that would replace what
            was assumed; empty for what has neither.
        path: the setting, fact or limit as files and rules call it; empty for what has none.
    """

    label: str
    value: str
    place: str = ""
    path: str = ""


class Table(NamedTuple):
    """Rows of text under a head; `caption` says what they are."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Section(NamedTuple):
    """One part of a story.

    Args:
        name: what the part is, the same in every story: `settings`, `happens`, `limit`, `harm`, `sure`,
            `change`, `remedy`, `asks`, `looked`, `missing`.
        heading: its heading.
        paragraphs: its text.
        entries: labelled values.
        table: a table, None where there is none.
    """

    name: str
    heading: str
    paragraphs: tuple[str, ...] = ()
    entries: tuple[Entry, ...] = ()
    table: Table | None = None


class Story(NamedTuple):
    """A rule in one file.

    Args:
        rule: its id.
        title: its title.
        state: `spoke`, `passed`, `does not apply` or `not judged`.
        severity: of the finding; of the rule where it did not speak.
        says: what state and severity mean, in words.
        lead: what was found, or why nothing was.
        place: where the setting stands that it is about; None where nothing was found.
        sections: the story, in order.
        numbers: every number that was filled into it; those of `lead` are the finding's own.
        terms: explanations of the words of the trade that occur in it.
    """

    rule: str
    title: str
    state: str
    severity: str
    says: str
    lead: str
    place: Place | None
    sections: tuple[Section, ...]
    numbers: tuple[Number, ...]
    terms: tuple[Term, ...]


def texts(story: Story) -> tuple[str, ...]:
    """Give every text of a story.

    Args:
        story: the story.

    Returns:
        Title, lead, and what the sections hold.
    """
    found = [story.title, story.lead]
    for section in story.sections:
        found += [section.heading, *section.paragraphs]
        found += [text for entry in section.entries for text in (entry.label, entry.value)]
        if section.table is not None:
            found += [
                section.table.caption,
                *section.table.head,
                *(cell for row in section.table.rows for cell in row),
            ]
    return tuple(found)
