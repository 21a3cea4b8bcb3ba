"""The page as a reader, a browser and a screen reader take it: whole, in order, safe, and self-contained."""

from __future__ import annotations

import re
import subprocess
from base64 import b64encode
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import html5lib
import pytest
from report_samples import HUT, MAST, PROFILES, SKIN, Element, page_of, profile_page, told, tree

from bmslint.output.glossary import GLOSSARY
from bmslint.output.report.markup import prose
from bmslint.output.words import CAUTION

MOST_BYTES = 600_000
WANTED_BYTES = 300_000
"""A page of one file has to stay below the first; what the profiles give stays below the second."""

SETTINGS = "format: 1\npack: {chemistry: lfp, series: 8}\n"
HOSTILE = (
    'format: 1\ntitle: "</title></script><script>alert(1)</script> \\u202Ehtur\\u202C \\e[31m '
    '<img src=x onerror=alert(1)> & &lt; \'\\""\nextends: {base}\n'
    'accepted:\n  - {{rule: spread-while-heating, reason: "<u>seen</u>", by: "x\\u202Ey", '
    "until: 2027-03-31}}\n"
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A good profile and what extends it, a file that is not judged, and one that cannot be used."""
    place = tmp_path_factory.mktemp("settings")
    (place / "hut.yaml").write_bytes((PROFILES / HUT).read_bytes())
    (place / "hostile.yaml").write_text(HOSTILE.format(base="hut.yaml"), encoding="utf-8")
    (place / "little.yaml").write_text(SETTINGS, encoding="utf-8")
    (place / "broken.yaml").write_text("format: 1\npack: {chemistry: lfp, series: <b>}\n", encoding="utf-8")
    return place


@pytest.fixture(scope="module", params=["one", "hostile", "little", "broken", "several"])
def text(request: pytest.FixtureRequest, folder: Path) -> str:
    if request.param == "one":
        return profile_page(SKIN)
    if request.param == "several":
        names = ("broken.yaml", "hostile.yaml", "little.yaml")
        return page_of(*(folder / name for name in names), PROFILES / SKIN)
    return page_of(folder / f"{request.param}.yaml")


def test_a_parser_of_the_html_standard_finds_no_error(text: str) -> None:
    # html5lib implements the parsing of the WHATWG HTML standard; strict, it raises on every parse error.
    html5lib.HTMLParser(strict=True).parse(text)


def test_every_id_is_there_once_and_every_reference_leads_to_one(text: str) -> None:
    page = tree(text)
    ids = [each["id"] for each in page.every() if "id" in each.attributes]
    assert len(ids) == len(set(ids))
    referring = ("aria-labelledby", "aria-describedby", "for")
    named = [
        part
        for each in page.every()
        for key in referring
        if key in each.attributes
        for part in each[key].split()
    ]
    named += [each["href"].removeprefix("#") for each in page.every("a")]
    named += re.findall(r'fill="url\(#([^)]+)\)"', text)
    assert set(named) <= set(ids)


def test_the_page_has_one_of_each_landmark_and_headings_in_order(text: str) -> None:
    page = tree(text)
    assert page.only("html")["lang"] == "en"
    assert page.only("nav")["aria-label"] == "Contents"
    top = [
        each for each in page.every("header", "main", "footer") if _above(each) <= {"div", "body", "html", ""}
    ]
    assert [each.name for each in top] == ["header", "main", "footer"]
    levels = [int(each.name[1]) for each in page.every("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert all(
        each.words for each in page.every("h1", "h2", "h3", "h4", "h5", "h6", "th", "caption", "label")
    )


def _above(element: Element) -> set[str]:
    names = set()
    while element.above is not None:
        element = element.above
        names.add(element.name)
    return names


def test_every_figure_is_told_in_words(text: str) -> None:
    page = tree(text)
    for figure in page.every("figure"):
        drawing, caption = figure.only("svg"), figure.only("figcaption")
        title, told_in_words = drawing.only("title"), drawing.only("desc")
        assert (drawing["role"], drawing["aria-labelledby"], drawing["aria-describedby"]) == (
            "img", title["id"], told_in_words["id"],
        )  # fmt: skip
        assert title.words
        assert len(told_in_words.words) > 40
        assert caption.words.startswith(title.words)
    for each in page.of_class("sign"):
        assert each["aria-hidden"] == "true"


def test_nothing_is_loaded_and_only_the_pages_own_style_and_script_may_act(text: str) -> None:
    page = tree(text)
    style = page.only("style").text
    scripts = page.every("script")
    (script,) = [each.text for each in scripts if "type" not in each.attributes]
    assert all(each.attributes.get("type", "application/json") == "application/json" for each in scripts)
    policies = [each["content"] for each in page.every("meta") if "http-equiv" in each.attributes]
    hashed = [b64encode(sha256(each.encode()).digest()).decode() for each in (style, script)]
    assert policies == [
        f"default-src 'none'; style-src 'sha256-{hashed[0]}'; script-src 'sha256-{hashed[1]}'; "
        "base-uri 'none'; form-action 'none'"
    ]
    forbidden = {"src", "srcset", "style", "action", "data", "poster", "background", "ping"}
    for each in page.every():
        assert not forbidden & each.attributes.keys()
        assert not [key for key in each.attributes if key.startswith("on")]
        assert each.attributes.get("href", "#").startswith("#")  # type: ignore[union-attr]
        assert each.name not in {"link", "iframe", "img", "object", "embed", "base", "form", "image", "use"}
    assert "url(" not in style
    assert "@import" not in style


def test_verdict_and_caution_come_first_and_the_caution_with_every_verdict(text: str) -> None:
    page = tree(text)
    words = page.only("main").words
    boxes = page.of_class("verdict")
    assert boxes
    for box in boxes:
        assert f"{box.words} Caution. {CAUTION}".replace(" ", "") in page.text.replace(" ", "").replace(
            "\n", ""
        )
    assert words.index(CAUTION) < words.index("What this rests on")
    if "Findings" in words:
        assert words.index(CAUTION) < words.index("Findings")


def test_hostile_text_is_shown_as_text(folder: Path) -> None:
    hostile, plain = tree(page_of(folder / "hostile.yaml")), tree(page_of(folder / "hut.yaml"))
    title = (
        "</title></script><script>alert(1)</script> <U+202E>htur<U+202C> <U+001B>[31m "
        "<img src=x onerror=alert(1)> & &lt; '\""
    )
    assert hostile.only("h1").text == title
    assert hostile.every("title")[0].text.startswith(title[:40])
    assert "<u>seen</u>" in hostile.text
    assert "x<U+202E>y" in hostile.text
    for sign in ("\u202e", "\u202c", "\x1b"):
        assert sign not in hostile.text
    # The taken-on part comes on top of what the same file without it has; nothing that acts does.
    for name in ("script", "img", "u", "style", "title"):
        assert len(hostile.every(name)) == len(plain.every(name))


def test_each_finding_is_told_with_place_value_limit_story_and_remedy() -> None:
    page, verdict = tree(profile_page(SKIN)), told(PROFILES / SKIN).verdict
    articles = page.of_class("finding")
    assert len(articles) == len(verdict.findings) == 5
    for article, finding in zip(articles, verdict.findings, strict=True):
        words = article.words
        assert article.every("h3")[0].text == finding.title
        for part in (
            finding.severity.capitalize(),
            f"{finding.file}, line {finding.line} {finding.path}",
            " ".join(finding.why.split()),
            " ".join(finding.remedy.split()),
            f"Rule {finding.rule}.",
        ):
            assert part.replace("degC", "°C") in words.replace("\u00a0", " ") or part in words
    first = [
        (each.every("dt")[0].text, each.every("dd")[0].text)
        for each in articles[0].of_class("held")[0].every("div")
    ]
    assert first[0] == ("coldest point inside any cell when charging is released", "\u221213.9\u00a0°C")
    assert ("limit: lowest temperature at which the cells may be charged", "0\u00a0°C") in first


def test_prose_is_set_for_a_reader_and_still_only_text() -> None:
    assert prose("at -3 degC, 5 A; `a<b` and release_above_degC: x-1 <i>") == (
        "at \u22123\u00a0°C, 5\u00a0A; <code>a&lt;b</code> and release_above_degC: x-1 &lt;i&gt;"
    )


def test_what_was_told_once_is_referred_to(folder: Path) -> None:
    articles = tree(profile_page(SKIN)).of_class("finding")
    links = [each["href"] for each in articles[1].every("a")]
    assert links[0] == f"#{articles[0]['id']}"
    assert len(profile_page(SKIN).split("Minute by minute")) == 3  # its caption and its label


def test_every_setting_stands_there_with_its_line_and_the_rules_that_looked_at_it() -> None:
    page, of_file = tree(profile_page(SKIN)), told(PROFILES / SKIN)
    (table,) = [each for each in page.of_class("stack") if "columns-3" in each["class"]]
    rows = {row.every("code")[0].text: row for row in table.every("tr") if row.every("code")}
    assert list(rows) == [each.place.path for each in of_file.settings]
    lines = (PROFILES / SKIN).read_text(encoding="utf-8").split("\n")
    for path, row in rows.items():
        (where,) = row.of_class("line")
        number = int(where.text.removeprefix("line "))
        key = re.split(r"[.\[]", path.replace("]", ""))[-1]
        assert key.isdigit() or key in lines[number - 1]
    release = rows["protection.charge_cold.release_above_degC"]
    spoke = release.every("p")[0]
    assert spoke.text == "spoke: cold-release-before-core, heated-current-above-cell"
    assert [each["href"] for each in spoke.every("a")] == ["#file-finding-1", "#file-finding-2"]
    assert "none by name" in rows["title"].text


def test_every_fact_stands_there_with_range_and_basis() -> None:
    page, facts = tree(profile_page(SKIN)), told(PROFILES / SKIN).facts
    assert facts is not None
    (table,) = [each for each in page.of_class("stack") if "columns-4" in each["class"]]
    named = [row.every("code")[0].text for row in table.every("tr") if row.every("code")]
    assert named == [name for group in facts.groups.values() for name in group]
    cells = {
        row.every("code")[0].text: [cell.text for cell in row.every("td")]
        for row in table.every("tr")
        if row.every("code")
    }
    assert cells["mass_kg"] == ["32.8 kg", "", "declared"]
    assert cells["heat_capacity_J_per_K"] == ["33500 J/K", "29500 to 37700 J/K", "default"]
    assert cells["hours_with_air_gap"] == ["not derived: the pack does not stand on a floor", "", ""]


def test_what_was_not_judged_is_told_by_the_setting_to_add(folder: Path) -> None:
    page = tree(page_of(folder / "little.yaml"))
    (part,) = [each for each in page.every("section") if each.attributes.get("id") == "file-not-judged"]
    verdict = told(folder / "little.yaml").verdict
    assert {code.text for code in part.every("code")} == {
        *(path for each in verdict.not_judged for path in each.missing),
        *(each.rule for each in verdict.not_judged),
    }


def test_a_file_that_cannot_be_used_tells_every_problem(folder: Path) -> None:
    page = tree(page_of(folder / "broken.yaml"))
    (part,) = [each for each in page.every("section") if each.attributes.get("id") == "file-problems"]
    (error,) = told(folder / "broken.yaml").verdict.errors
    assert part.every("li")[0].text == f"{folder / 'broken.yaml'}, line 2, column 32: {error.message}"
    assert '"<b>"' in error.message


def test_the_hashes_are_those_of_sha256sum(folder: Path) -> None:
    page = tree(page_of(folder / "hostile.yaml"))
    files = [folder / "hostile.yaml", folder / "hut.yaml"]
    # sha256sum of the GNU core utilities hashes the files a second time.
    lines = subprocess.run(
        ["sha256sum", *files], capture_output=True, check=True, text=True
    ).stdout.splitlines()
    told_on_page = [each.text for each in page.of_class("hash") if ".yaml" in each.text]
    assert told_on_page == [f"{file} {line[:64]}" for file, line in zip(files, lines, strict=True)]


def test_the_glossary_is_there_once_with_every_term(text: str) -> None:
    (part,) = [each for each in tree(text).every("section") if each.attributes.get("id") == "words"]
    assert [each.text for each in part.every("dt")] == [term.word.replace("degC", "°C") for term in GLOSSARY]


def test_several_files_begin_with_an_overview(folder: Path) -> None:
    paths = [folder / "little.yaml", PROFILES / SKIN]
    page = tree(page_of(*paths))
    (overview,) = page.of_class("overview")
    entries = [
        (each.only("a").text, each.only("a")["href"], each.of_class("mini")[0].words)
        for each in overview.every("li")
    ]
    assert entries == [
        (str(paths[0]), "#file1", "NOT JUDGED"),
        ("Ridge hut store, the sensor under the film decides", "#file2", "REJECTED"),
    ]
    assert [each["id"] for each in page.of_class("file")] == ["file1", "file2"]


def test_a_page_is_small_and_the_same_each_time(folder: Path) -> None:
    for name in (SKIN, HUT, MAST):
        assert len(profile_page(name).encode()) < WANTED_BYTES < MOST_BYTES
    again = page_of.__wrapped__(PROFILES / SKIN)
    assert again == profile_page(SKIN)
