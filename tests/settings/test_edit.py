"""Values written into the text of a file: nothing else of it changes."""

from difflib import ndiff
from pathlib import Path

import pytest

from bmslint.data import rules_dir
from bmslint.settings import read_text
from bmslint.settings.edit import EditError, edited
from bmslint.settings.reader import revalidated

PROFILES = sorted((rules_dir().parent / "profiles").rglob("*.yaml"))
COMPLETE = Path(__file__).with_name("complete.yaml")
TEXT = """\
format: 1
# what we flash
pack: {chemistry: lfp, series: 8}   # eight
protection:
    charge_cold:
        inhibit_below_degC: 2.50    # two and a half
        release_above_degC: 5
    charge_hot: none
charge_current:
    steps:
      - {from_degC: 0, max_A: 20}
      - { from_degC: 10 , max_A: 60 }
"""


def difference(before: str, after: str) -> list[str]:
    lines = ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line.startswith(("- ", "+ "))]


@pytest.mark.parametrize("path", [*PROFILES, COMPLETE], ids=lambda path: path.stem)
def test_without_a_change_a_text_stays_as_it_is(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert edited(text, {}) == text


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        (
            {"protection.charge_cold.release_above_degC": 7.5},
            ["-         release_above_degC: 5", "+         release_above_degC: 7.5"],
        ),
        (
            {"protection.charge_cold.inhibit_below_degC": 3.0},
            [
                "-         inhibit_below_degC: 2.50    # two and a half",
                "+         inhibit_below_degC: 3.0         # two and a half",
            ],
        ),
        (
            {"charge_current.steps[1].max_A": 40.0},
            ["-       - { from_degC: 10 , max_A: 60 }", "+       - {from_degC: 10, max_A: 40}"],
        ),
        (
            {"protection.charge_cold.hold_s": 60.0},
            ["+         hold_s: 60"],
        ),
        ({"heater.power_W": 40.0}, ["+ heater:", "+     power_W: 40"]),
        (
            {"protection.charge_cold.sensors": ["core", "post"]},
            ["+         sensors: [core, post]"],
        ),
    ],
)
def test_a_change_shows_as_nothing_but_itself(changes: dict[str, object], lines: list[str]) -> None:
    after = edited(TEXT, changes)
    assert difference(TEXT, after) == lines
    assert read_text(after, "p.yaml").data == revalidated(read_text(TEXT, "p.yaml"), changes).data


def test_line_ends_of_another_system_stay() -> None:
    text = TEXT.replace("\n", "\r\n")
    after = edited(text, {"protection.charge_cold.release_above_degC": 7.5})
    assert after == text.replace("release_above_degC: 5\r", "release_above_degC: 7.5\r")


@pytest.mark.parametrize(
    ("text", "changes", "message"),
    [
        (
            '{"format": 1}',
            {"title": "x"},
            "it is written as JSON; set the values by hand, or write the file as YAML",
        ),
        (
            TEXT,
            {"charge_paths[0].max_A": 4.0},
            "charge_paths[0].max_A is in a list that stands in another file, which cannot be changed"
            " in parts",
        ),
        (
            TEXT.replace("{from_degC: 0, max_A: 20}", "{from_degC: 0,\n          max_A: 20}"),
            {"charge_current.steps[0].max_A": 10.0},
            "its form is not one that can be kept; set the values by hand",
        ),
    ],
)
def test_what_cannot_be_changed_is_told(text: str, changes: dict[str, object], message: str) -> None:
    with pytest.raises(EditError) as error:
        edited(text, changes)
    assert str(error.value) == message
