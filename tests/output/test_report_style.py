"""Colours of the page: contrast in both schemes, and for eyes that see fewer colours.

Contrast ratios are computed by the package wcag-contrast-ratio, limits are those of WCAG 2.2: 4.5 for text
(success criterion 1.4.3, level AA), 3 for what a drawing or a control needs to be understood (1.4.11). Colour
vision deficiency is simulated by the package colorspacious after Machado, Oliveira and Fernandes, IEEE Trans.
Visualization and Computer Graphics 15 (2009) 1291; differences are in its CAM02-UCS.
"""

from __future__ import annotations

import re
import warnings
from itertools import combinations

import numpy as np
import pytest
import wcag_contrast_ratio

from bmslint.output.report.style import DARK, LIGHT, sheet

with warnings.catch_warnings():
    # Older than Python's complaint about backslashes in a text, which is an error here.
    warnings.simplefilter("ignore")
    import colorspacious

SCHEMES = {"light": LIGHT, "dark": DARK}
TEXT, DRAWN = 4.5, 3.0
WORDS_ON_GROUND = ("ink", "quiet", "link", "reject", "review", "note", "accepted", "chilly", "mild", "hot")
DRAWN_ON_GROUND = ("edge", "ink", "link", "chilly", "mild", "hot", "reject", "review", "note", "accepted")
LINES_ON_SHADE = ("ink", "chilly", "mild", "hot")
BANDS = tuple(f"{side}{number}" for side in ("cold", "warm") for number in range(1, 6))

APART = 12.0
"""Difference in CAM02-UCS, of which 1 is about what an eye just sees side by side: colours of thin lines that
lie apart have to differ by many times that. Our own choice."""


def rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return red, green, blue


def ratio(scheme: dict[str, str], one: str, other: str) -> float:
    return float(wcag_contrast_ratio.rgb(rgb(scheme[one]), rgb(scheme[other])))


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=SCHEMES)
def test_words_and_lines_stand_out(scheme: dict[str, str]) -> None:
    short = {name: ratio(scheme, name, "ground") for name in WORDS_ON_GROUND}
    assert {name: value for name, value in short.items() if value < TEXT} == {}
    short = {name: ratio(scheme, name, "ground") for name in DRAWN_ON_GROUND}
    short |= {f"{name} on shade": ratio(scheme, name, "shade") for name in LINES_ON_SHADE}
    # What marks cells, sensors and the coldest point has to be seen on every band.
    short |= {f"cross on {band}": ratio(scheme, "cross", band) for band in BANDS}
    assert {name: value for name, value in short.items() if value < DRAWN} == {}


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=SCHEMES)
@pytest.mark.parametrize("eye", ["usual", "protanomaly", "deuteranomaly", "tritanomaly"])
def test_colours_of_lines_differ_for_every_eye(scheme: dict[str, str], eye: str) -> None:
    seen = {name: _seen(scheme[name], eye) for name in ("chilly", "hot", "ink")}
    close = {pair: float(np.linalg.norm(seen[pair[0]] - seen[pair[1]])) for pair in combinations(seen, 2)}
    assert {pair: value for pair, value in close.items() if value < APART} == {}


@pytest.mark.parametrize("scheme", SCHEMES.values(), ids=SCHEMES)
@pytest.mark.parametrize("eye", ["usual", "protanomaly", "deuteranomaly", "tritanomaly"])
def test_bands_of_temperature_run_in_order_and_cold_differs_from_warm(
    scheme: dict[str, str], eye: str
) -> None:
    for side in ("cold", "warm"):
        lightness = [_seen(scheme[f"{side}{number}"], eye)[0] for number in range(1, 6)]
        steps = np.diff(lightness)
        assert (steps < 0).all() or (steps > 0).all()
    for number in range(2, 6):
        pair = [_seen(scheme[f"{side}{number}"], eye) for side in ("cold", "warm")]
        assert float(np.linalg.norm(pair[0] - pair[1])) >= APART


def _seen(colour: str, eye: str) -> np.ndarray:
    """A colour as an eye sees it, in CAM02-UCS."""
    space: object = "sRGB1"
    if eye != "usual":
        space = {"name": "sRGB1+CVD", "cvd_type": eye, "severity": 100}
    plain = np.clip(colorspacious.cspace_convert(rgb(colour), space, "sRGB1"), 0.0, 1.0)
    result: np.ndarray = colorspacious.cspace_convert(plain, "sRGB1", "CAM02-UCS")
    return result


def test_every_colour_is_named_in_both_schemes_and_nothing_else_colours_the_page() -> None:
    assert LIGHT.keys() == DARK.keys()
    text = sheet()
    assert set(re.findall(r"var\(--([a-z0-9]+)\)", text)) - {"tone"} <= LIGHT.keys()
    for colour in re.findall(r"#[0-9a-f]{3,8}\b", text):
        assert colour in {*LIGHT.values(), *DARK.values()}
    assert not re.search(r"\b(?:rgb|hsl|oklch|lab)a?\(", text)


def test_paper_is_light_and_unfolded() -> None:
    paper = sheet().partition("@media print{")[2]
    assert f"--ground:{LIGHT['ground']}" in paper
    assert "details::details-content{content-visibility:visible" in paper
