"""The whole page: verdict and caution first, then everything that they rest on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from bmslint.output.glossary import GLOSSARY
from bmslint.output.report.guard import policy
from bmslint.output.report.heads import Heads
from bmslint.output.report.live import SCRIPT
from bmslint.output.report.markup import Markup, code, joined, outside, prose, tag
from bmslint.output.report.onefile import Part, parts
from bmslint.output.report.signs import sign, tone
from bmslint.output.report.style import sheet
from bmslint.output.report.summary import caution, meaning, own_rules, verdict_box

if TYPE_CHECKING:
    from bmslint.output.report.subject import Occasion, Subject


LONGEST_TITLE = 50
"""Characters of a file's title in the name of the window."""


def page(subjects: Sequence[Subject], occasion: Occasion) -> str:
    """Write the page about one or several files.

    Args:
        subjects: the files, at least one, in the order to show them.
        occasion: the rules, the day, the version.

    Returns:
        HTML that loads nothing from elsewhere, the same for the same arguments.
    """
    one = len(subjects) == 1
    told = _single(subjects[0], occasion) if one else _several(subjects, occasion)
    title = _name(subjects[0]) if one else f"{len(subjects)} settings files"
    style = sheet()
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=policy(style, SCRIPT)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("meta", name="color-scheme", content="light dark"),
        tag(
            "title",
            f"{title if len(title) <= LONGEST_TITLE else title[: LONGEST_TITLE - 1] + '…'}: settings report",
        ),
        tag("style", Markup(style)),
    )
    foot = tag("footer", caution(), _made(occasion), class_="foot")
    skip = tag("a", "Skip to the verdict", href="#verdict", class_="skip")
    body = tag("body", tag("div", skip, told, foot, class_="sheet"), tag("script", Markup(SCRIPT)))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def _single(subject: Subject, occasion: Occasion) -> Markup:
    heads = Heads(2)
    content = parts(subject, occasion, "file", heads)
    top = tag(
        "header",
        tag("p", "Report on battery protection settings", class_="kicker"),
        tag("h1", outside(_name(subject))),
        tag("p", outside(subject.verdict.file), class_="quiet") if subject.title else "",
        class_="top",
    )
    first = tag(
        "section",
        verdict_box(subject.verdict),
        caution(),
        own_rules(occasion.pack),
        id="verdict",
        aria_label="Verdict",
    )
    return joined(
        top,
        _columns(
            [("verdict", "Verdict", []), *content],
            tag("main", first, _sections(content, heads, ""), _glossary()),
        ),
    )


def _several(subjects: Sequence[Subject], occasion: Occasion) -> Markup:
    heads = Heads(3)
    top = tag(
        "header",
        tag("p", "Report on battery protection settings", class_="kicker"),
        tag("h1", f"{len(subjects)} settings files"),
        class_="top",
    )
    names = [f"file{number}" for number in range(1, len(subjects) + 1)]
    overview = tag(
        "section",
        tag("h2", "Overview"),
        tag(
            "ul",
            (_entry(subject, name) for subject, name in zip(subjects, names, strict=True)),
            class_="overview",
        ),
        caution(),
        own_rules(occasion.pack),
        id="verdict",
        class_="part",
    )
    articles = []
    for subject, name in zip(subjects, names, strict=True):
        content = parts(subject, occasion, name, heads)
        articles.append(
            tag(
                "article",
                tag("h2", outside(_name(subject)), id=f"{name}-head"),
                tag("p", outside(subject.verdict.file), class_="quiet") if subject.title else "",
                verdict_box(subject.verdict),
                caution(),
                _sections(content, heads, f"{name}-head "),
                id=name,
                class_="part file",
                aria_labelledby=f"{name}-head",
            )
        )
    contents: list[Part] = [("verdict", "Overview", [])]
    contents += [(name, _name(subject), []) for subject, name in zip(subjects, names, strict=True)]
    return joined(top, _columns(contents, tag("main", overview, articles, _glossary())))


def _entry(subject: Subject, name: str) -> Markup:
    """One file of the overview."""
    word = subject.verdict.word
    verdict = tag(
        "span", sign(word), " ", tag("span", word.upper(), class_="word"), class_=f"mini {tone(word)}"
    )
    link = tag("a", outside(_name(subject)), href=f"#{name}")
    return tag(
        "li",
        verdict,
        link,
        tag("p", outside(subject.verdict.file), class_="quiet fine") if subject.title else "",
        tag("p", meaning(subject.verdict), class_="fine"),
    )


def _glossary() -> Markup:
    """The words of the trade, once for the whole page."""
    terms = (joined(tag("dt", prose(term.word)), tag("dd", prose(term.means))) for term in GLOSSARY)
    return tag(
        "section",
        tag("h2", "Words", id="words-title"),
        tag("dl", terms, class_="pairs fine"),
        id="words",
        class_="part",
        aria_labelledby="words-title",
    )


def _columns(contents: Sequence[Part], main: Markup) -> Markup:
    """The list of contents beside or above what it lists."""
    listed = [*contents, ("words", "Words", [])]
    items = (tag("li", tag("a", outside(title), href=f"#{name}")) for name, title, _ in listed)
    return tag(
        "div", tag("nav", tag("ul", items), class_="contents", aria_label="Contents"), main, class_="columns"
    )


def _sections(content: Sequence[Part], heads: Heads, of: str) -> Iterator[Markup]:
    """The parts of a file; on a page of several each is called by its file, too, which `of` names."""
    for name, title, inside in content:
        yield tag(
            "section",
            heads.head(title, id=f"{name}-title"),
            inside,
            id=name,
            class_="part",
            aria_labelledby=f"{of}{name}-title",
        )


def _name(subject: Subject) -> str:
    return subject.title or subject.verdict.file


def _made(occasion: Occasion) -> Markup:
    return tag(
        "p",
        f"Made by bmslint {occasion.version} with the rules {occasion.pack.name}, digest ",
        code(occasion.pack.digest),
        f", for the day {occasion.today.isoformat()}.",
        class_="quiet fine",
    )
