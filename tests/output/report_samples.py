"""Pages that several tests look at, each made once."""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from bmslint import __version__
from bmslint.commands.subjects import subject
from bmslint.data import rules_dir
from bmslint.judge.pack import Pack, load_pack
from bmslint.output.report.page import page
from bmslint.output.report.subject import Occasion, Subject

PROFILES = rules_dir().parent / "profiles"
TODAY = date(2026, 11, 25)
SKIN, HUT, MAST = "failing/skin-decides.yaml", "ridge-hut.yaml", "street-light-mast.yaml"


@cache
def pack() -> Pack:
    return load_pack()


@cache
def told(path: Path) -> Subject:
    return subject(path, pack(), TODAY, allow_accepted_rejects=False)


@cache
def page_of(*paths: Path) -> str:
    return page([told(path) for path in paths], Occasion(pack(), TODAY, __version__))


def profile_page(*names: str) -> str:
    return page_of(*(PROFILES / name for name in names))


class Element:
    """An element of a page: name, attributes, elements and texts inside, in order."""

    def __init__(self, name: str, attributes: dict[str, str | None], above: Element | None) -> None:
        self.name, self.attributes, self.above = name, attributes, above
        self.inside: list[Element | str] = []

    def __getitem__(self, attribute: str) -> str:
        value = self.attributes[attribute]
        assert value is not None
        return value

    def every(self, *names: str) -> list[Element]:
        found = []
        for each in self.inside:
            if isinstance(each, Element):
                found += [each] if not names or each.name in names else []
                found += each.every(*names)
        return found

    def only(self, name: str) -> Element:
        (found,) = self.every(name)
        return found

    def of_class(self, name: str) -> list[Element]:
        return [each for each in self.every() if name in (each.attributes.get("class") or "").split()]

    @property
    def text(self) -> str:
        parts = [each if isinstance(each, str) else each.text for each in self.inside]
        return "".join(parts)

    @property
    def words(self) -> str:
        return " ".join(self.text.split())


class _Tree(HTMLParser):
    VOID = ("br", "input", "link", "meta")

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = self.here = Element("", {}, None)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs), self.here)
        self.here.inside.append(element)
        if tag not in self.VOID:
            self.here = element

    def handle_endtag(self, tag: str) -> None:
        assert tag == self.here.name, f"</{tag}> closes <{self.here.name}>"
        assert self.here.above is not None
        self.here = self.here.above

    def handle_data(self, data: str) -> None:
        self.here.inside.append(data)


@cache
def tree(text: str) -> Element:
    """Read a page, to look at and not to change; every element has to be closed in order."""
    reader = _Tree()
    reader.feed(text)
    reader.close()
    assert reader.here is reader.root
    return reader.root


def carried(text: str) -> list[list[dict[str, Any]]]:
    """The data that a page carries, for each file the runs."""
    blocks = tree(text).every("script")
    return [json.loads(each.text) for each in blocks if each.attributes.get("type") == "application/json"]
