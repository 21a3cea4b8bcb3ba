"""What cannot be used: each with its place, what was expected, what came, and what to do."""

import codecs
from pathlib import Path

import pytest

from bmslint.settings import Document, read, read_text

START = "format: 1\npack: {chemistry: lfp, series: 8}\n"


def told(document: Document) -> list[tuple[int, int, str, str]]:
    assert document.data == {}
    return [(p.line, p.column, p.path, p.message) for p in document.problems]


# Text after the two lines of START, and the problems.
FAULTS = {
    "duplicate key": (
        "heater: none\nsite: {coldest_degC: 1, hottest_degC: 2, coldest_degC: 3}\n",
        [(4, 42, "site.coldest_degC", 'expected each key once in a mapping, came "coldest_degC" again,'
          " first on line 4; remove one of them")],
    ),
    "tab as indentation": (
        "site:\n\tcoldest_degC: 1\n",
        [(4, 1, "", "expected spaces, came a tab; indent with spaces")],
    ),
    "not a number": (
        "site: {coldest_degC: .nan}\n",
        [(3, 22, "site.coldest_degC", "expected a finite number, came .nan")],
    ),
    "infinity": (
        "site: {coldest_degC: -.inf}\n",
        [(3, 22, "site.coldest_degC", "expected a finite number, came -.inf")],
    ),
    "beyond a double": (
        "site: {coldest_degC: 1e999}\n",
        [(3, 22, "site.coldest_degC", "expected a finite number, came 1e999")],
    ),
    "whole number beyond a double": (
        f"site: {{coldest_degC: {'9' * 5000}}}\n",
        [(3, 22, "site.coldest_degC", f"expected a finite number, came {'9' * 57}...")],
    ),
    "yes is text": (
        "protection: {second_overvoltage: {independent: yes}}\n",
        [(3, 48, "protection.second_overvoltage.independent",
          'expected true or false, came the text "yes"; write true; YAML 1.2 takes yes as text')],
    ),
    "off is text": (
        "full_charge: {sets_full: off}\n",
        [(3, 26, "full_charge.sets_full",
          'expected true or false, came the text "off"; write false; YAML 1.2 takes off as text')],
    ),
    "no for none": (
        "heater: no\n",
        [(3, 9, "heater", 'expected keys and values below it, or none, came the text "no"; write none')],
    ),
    "false for none": (
        "heater: {cutout_degC: false}\n",
        [(3, 23, "heater.cutout_degC",
          "expected a number from -273.15 to 2000 degC, or none, came false; write none")],
    ),
    "decimal comma": (
        "protection:\n  cell_overvoltage:\n    trip_above_V: 3,65\n",
        [(5, 19, "protection.cell_overvoltage.trip_above_V",
          'expected a number from 0 to 100000 V, came the text "3,65"; write 3.65, with a decimal point')],
    ),
    "decimal comma between braces": (
        "protection: {cell_overvoltage: {trip_above_V: 3,65}}\n",
        [(3, 49, "protection.cell_overvoltage.65",
          "expected a decimal point, came 3,65; write 3.65")],
    ),
    "number in quotes": (
        "load: {continuous_A: '150'}\n",
        [(3, 22, "load.continuous_A",
          'expected a number from 0 to 1000000 A, came the text "150"; write 150 without quotes')],
    ),
    "number with its unit": (
        "load: {continuous_A: 150 A}\n",
        [(3, 22, "load.continuous_A",
          'expected a number from 0 to 1000000 A, came the text "150 A"; write 150; the unit is in the key')],
    ),
    "below absolute zero": (
        "site: {coldest_degC: -300}\n",
        [(3, 22, "site.coldest_degC", "expected a number from -273.15 to 2000 degC, came -300")],
    ),
    "another unit, out of bounds": (
        "charger: {bulk_V: 288000}\n",
        [(3, 19, "charger.bulk_V",
          "expected a number from 0 to 100000 V, came 288000; if it is in mV, write 288")],
    ),
    "empty value": (
        "site:\n  coldest_degC:\n",
        [(4, 16, "site.coldest_degC",
          "expected a number from -273.15 to 2000 degC, came nothing; give a value or leave the key out")],
    ),
    "misspelt key": (
        "protection: {charge_cold: {relase_above_degC: 5}}\n",
        [(3, 28, "protection.charge_cold.relase_above_degC",
          'expected a key of `protection.charge_cold`, came "relase_above_degC", which is not known;'
          " did you mean release_above_degC?")],
    ),
    "key in another place": (
        "coldest_degC: -20\n",
        [(3, 1, "coldest_degC",
          'expected a key of the settings file, came "coldest_degC", which is not known;'
          " it belongs in `site`")],
    ),
    "key in another case": (
        "site: {coldest_degc: -20}\n",
        [(3, 8, "site.coldest_degc",
          'expected a key of `site`, came "coldest_degc", which is not known; write coldest_degC')],
    ),
    "key like no other": (
        "site: {moon: full}\n",
        [(3, 8, "site.moon",
          'expected a key of `site`, came "moon", which is not known;'
          " known here: coldest_degC, hottest_degC, warms_to_degC, floor_degC")],
    ),
    "misspelt word": (
        "heater: {decided_by: lowset}\n",
        [(3, 22, "heater.decided_by",
          'expected one of lowest, highest, mean, came the text "lowset"; did you mean lowest?')],
    ),
    "a word for a list": (
        "heater: {sensors: skin}\n",
        [(3, 19, "heater.sensors",
          'expected a list of at most 1000 items, came the text "skin"; write it as a list: [skin]')],
    ),
    "a mapping for a list": (
        "charge_paths:\n  name: mains\n",
        [(4, 3, "charge_paths",
          "expected a list of at most 100 items, came a mapping;"
          " begin each item with a dash, or write the list in brackets")],
    ),
    "name of a sensor": (
        "sensors: {front left: {place: board}}\n",
        [(3, 11, "sensors.front left",
          "expected a name of letters, digits and _ that begins with a letter, at most 40 characters,"
          ' came the text "front left"; rename it')],
    ),
    "name of a sensor and what is in it": (
        "sensors: {a.b: {accuracy_K: 3,65}, c: {accuracy_K: 3,65}}\n",
        [(3, 11, "sensors.a.b",
          "expected a name of letters, digits and _ that begins with a letter, at most 40 characters,"
          ' came the text "a.b"; rename it'),
         (3, 54, "sensors.c.65", "expected a decimal point, came 3,65; write 3.65")],
    ),
    "keys that look like paths": (
        ".: 1\nsite: {'': 1, '[0]': 2, a.b: 3}\n",
        [(3, 1, ".", 'expected a key of the settings file, came ".", which is not known; known here: format,'
          " title, extends, pack, heater, sensors, protection, charge_current, charge_paths, balancing,"
          " full_charge, charger, load, storage, site, accepted, not_applicable"),
         (4, 8, "site.", 'expected a key of `site`, came "", which is not known;'
          " known here: coldest_degC, hottest_degC, warms_to_degC, floor_degC"),
         (4, 15, "site.[0]", 'expected a key of `site`, came "[0]", which is not known;'
          " known here: coldest_degC, hottest_degC, warms_to_degC, floor_degC"),
         (4, 25, "site.a.b", 'expected a key of `site`, came "a.b", which is not known;'
          " known here: coldest_degC, hottest_degC, warms_to_degC, floor_degC")],
    ),
    "number as text": (
        "title: 2026\n",
        [(3, 8, "title", 'expected a text, at most 200 characters, came 2026; write it in quotes: "2026"')],
    ),
    "missing in a list item": (
        "charge_current: {steps: [{from_degC: 0}]}\n",
        [(3, 18, "charge_current.steps[0].max_A",
          "expected a number from 0 to 1000000 A, came no key `max_A`; add `max_A`")],
    ),
    "one problem for a choice": (
        "heater: 5\nprotection: {charge_cold: [0, 5], cell_overvoltage: off}\n",
        [(3, 9, "heater", "expected keys and values below it, or none, came 5"),
         (4, 27, "protection.charge_cold",
          "expected keys and values below it, or none, came a list; write keys without dashes"),
         (4, 53, "protection.cell_overvoltage",
          'expected keys and values below it, or none, came the text "off"; write none')],
    ),
    "tag": (
        "title: !!python/object:os.system x\n",
        [(3, 8, "title",
          'expected a value without a tag, came the tag "tag:yaml.org,2002:python/object:os.system";'
          " remove the tag, and write text in quotes")],
    ),
    "mapping as key": (
        "? {a: 1}\n: 2\n",
        [(3, 3, "", "expected a word as key, came a mapping as key; write the key as a word")],
    ),
    "merge of a text": (
        "site: {<<: cold, coldest_degC: 1}\n",
        [(3, 12, "site", "expected a mapping after <<, or a list of mappings, came something else;"
          " write << with an alias of a mapping")],
    ),
    "alias without anchor": (
        "site: *cold\n",
        [(3, 7, "", "expected an alias of an anchor above it, came *cold;"
          " write &cold before the value it stands for")],
    ),
    "anchor around itself": (
        "site: &cold\n  coldest_degC: *cold\n",
        [(4, 17, "", "expected a value that does not hold itself, came *cold, which stands inside its own"
          " anchor; write the value out")],
    ),
    "second document": (
        "---\nformat: 1\n",
        [(4, 1, "", "expected one document in a settings file, came a second one;"
          " put it into a file of its own")],
    ),
    "second colon": (
        "title: Hut: heated\n",
        [(3, 11, "", "expected one key and one value on a line, came a second colon;"
          " start a new line, or put the text in quotes")],
    ),
    "no space after a colon": (
        "site:\n  coldest_degC:-3\n  hottest_degC: 4\n",
        [(4, 16, "", 'expected a space after the colon, came "coldest_degC:-3"; write coldest_degC: -3')],
    ),
    "no space after the only colon": (
        "site:\n  coldest_degC:-3\n",
        [(4, 3, "site", 'expected keys and values below it, came the text "coldest_degC:-3";'
          " write a space after the colon: coldest_degC: -3")],
    ),
    "text after the end": (
        "site: {}\n]\n",
        [(4, 1, "", "expected a key in line with the keys above it, came something else;"
          " check the indentation, and the quotes and brackets above (it began on line 1)")],
    ),
    "text that begins with a star": (
        "title: *** hut ***\n",
        [(3, 9, "", "expected the name of an anchor after & or *, came a character that is in no name;"
          " put the text in quotes")],
    ),
    "text that begins with a percent sign": (
        "title: %hut\n",
        [(3, 8, "", "expected a key or a value, came a character that cannot begin one;"
          " put the text in quotes")],
    ),
    "bracket left open": (
        "heater:\n  sensors: [skin\n  power_W: 5\n",
        [(5, 10, "", "expected a comma or ] in the list, came something else;"
          " close the list, or put a comma between its items"
          " (it began on line 4)")],
    ),
    "quote left open": (
        "title: 'Hut\n",
        [(4, 1, "", "expected the closing quote, came the end of the file;"
          " close the text with the quote that opens it"
          " (it began on line 3)")],
    ),
    "wrong indentation": (
        "site:\n    coldest_degC: 1\n  hottest_degC: 2\n",
        [(5, 3, "", "expected a key in line with the keys above it, came something else;"
          " check the indentation, and the quotes and brackets above"
          " (it began on line 1)")],
    ),
    "control character": (
        "title: a\x07b\n",
        [(3, 9, "", "expected printable text, came the control character 0x07; remove it")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_fault_is_told_with_its_place(name: str) -> None:
    text, expected = FAULTS[name]
    assert told(read_text(START + text, "file.yaml")) == expected


EMPTY = "expected a document, came an empty file; is it the right file?"

WHOLE = {
    "empty": (b"", [(1, 1, "", EMPTY)]),
    "only a comment": (b"# later\n", [(1, 1, "", EMPTY)]),
    "only a marker": (b"---\n", [(2, 1, "", EMPTY)]),
    "list at the top": (
        b"- format: 1\n",
        [(1, 1, "", "expected keys such as `format: 1` and `pack:` at the top level, came a list;"
          " is it the right file?")],
    ),
    "one word": (
        b"settings\n",
        [(1, 1, "", "expected keys such as `format: 1` and `pack:` at the top level, came a single value;"
          " is it the right file?")],
    ),
    "nothing that is needed": (
        b"title: x\n",
        [(1, 1, "format", "expected the number 1, came no key `format`; add `format`"),
         (1, 1, "pack", "expected keys and values below it, came no key `pack`; add `pack`")],
    ),
    "pack without its own": (
        b"format: 1\npack: {parallel: 1}\n",
        [(2, 1, "pack.chemistry",
          "expected a name of small letters, digits, _ and -, at most 60 characters, came no key `chemistry`;"
          " add `chemistry`"),
         (2, 1, "pack.series",
          "expected a whole number from 1 to 10000, came no key `series`; add `series`")],
    ),
    "newer format": (
        b"format: 2\nsomething: else\n",
        [(1, 9, "format", "expected version 1 of the format, came 2;"
          " the file was written for a newer bmslint: update bmslint")],
    ),
    "format that never was": (
        b"format: 0\n",
        [(1, 9, "format", "expected version 1 of the format, came 0; there has been no such version")],
    ),
    "format in quotes": (
        b"format: '1'\npack: {chemistry: lfp, series: 8}\n",
        [(1, 9, "format", 'expected the number 1, came the text "1"; write 1 without quotes')],
    ),
    "not UTF-8": (
        "format: 1\ntitle: Hütte\n".encode("latin-1"),
        [(2, 9, "", "expected UTF-8 text, came the byte 0xFC, which is not UTF-8; save the file as UTF-8")],
    ),
    "UTF-16": (
        codecs.BOM_UTF16_LE + START.encode("utf-16-le"),
        [(1, 1, "", "expected UTF-8 text, came UTF-16 text; save the file as UTF-8")],
    ),
    "binary": (
        b"\x7fELF\x02\x01\x01\0\0",
        [(1, 8, "", "expected UTF-8 text, came a zero byte: a binary file, or UTF-16;"
          " save the file as UTF-8")],
    ),
    "whole number as a fraction": (
        b"format: 1\npack: {chemistry: lfp, series: 8.0}\n",
        [(2, 32, "pack.series", "expected a whole number from 1 to 10000, came 8.0; write 8")],
    ),
    "true is no number": (
        b"format: true\npack: {chemistry: lfp, series: true}\n",
        [(1, 9, "format", "expected the number 1, came true"),
         (2, 32, "pack.series", "expected a whole number from 1 to 10000, came true")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WHOLE)
def test_whole_file_is_told(name: str) -> None:
    text, expected = WHOLE[name]
    assert told(read_text(text, "file.yaml")) == expected


GOOD = {"format": 1.0, "pack": {"chemistry": "lfp", "series": 8.0}}


@pytest.mark.parametrize(
    "text",
    [
        codecs.BOM_UTF8 + START.encode(),
        START.replace("\n", "\r\n").encode(),
        START.replace("\n", "\r").encode(),
        b'{"format": 1, "pack": {"chemistry": "lfp", "series": 8}}',
        b'{\n\t"format": 1,\n\t"pack": {\n\t\t"chemistry": "lfp",\n\t\t"series": 8\n\t}\n}\n',
        b"%YAML 1.2\n---\n" + START.encode() + b"...\n",
        b"format: 0x1\npack: &p {chemistry: lfp, series: 0o10}\n",
        b"format: 1\npack:\n  <<: {series: 4, chemistry: lfp}\n  series: 8\n",
    ],
    ids=["byte order mark", "CR LF", "CR", "JSON", "JSON with tabs", "markers", "other bases", "merge"],
)
def test_other_ways_to_write_the_same(text: bytes) -> None:
    document = read_text(text, "file.yaml")
    assert document.problems == ()
    assert document.data == GOOD


def test_all_faults_at_once_in_the_order_of_lines() -> None:
    text = "format: 1\npack: {chemistry: lfp}\nsite: {moon: 1}\nload: {surge_A: x, surge_A: 2}\n"
    assert [(p.line, p.column, p.path) for p in read_text(text, "f").problems] == [
        (2, 1, "pack.series"),
        (3, 8, "site.moon"),
        (4, 17, "load.surge_A"),
        (4, 20, "load.surge_A"),
    ]


def too_large(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(50 * 1024 * 1024)


def test_50_MB_are_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    too_large(path)
    assert told(read(path)) == [
        (1, 1, "", "expected a file of at most 2 MiB, came a larger one; is it the right file?")
    ]


def test_endless_file_is_refused() -> None:
    assert told(read("/dev/zero")) == [
        (1, 1, "", "expected a file of at most 2 MiB, came a larger one; is it the right file?")
    ]


def test_missing_file_folder_and_impossible_name(tmp_path: Path) -> None:
    assert told(read(tmp_path / "no.yaml")) == [
        (1, 1, "", "expected a settings file, came no such file; check the path")
    ]
    assert told(read(tmp_path)) == [
        (1, 1, "", "expected a settings file, came a folder; name the file in it")
    ]
    assert told(read("a\0b")) == [
        (
            1,
            1,
            "",
            "expected a settings file, came an error of the system (embedded null byte); check the path",
        )
    ]


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "closed.yaml"
    path.write_text(START)

    def refuse(*_: object, **__: object) -> None:  # the owner of all files is never refused by the system
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert told(read(path)) == [
        (1, 1, "", "expected a settings file, came a file that may not be read; check its permissions")
    ]


@pytest.mark.parametrize(
    ("line", "advice"),
    [
        ("site: {coldest_degC: 14 \u00b0F}", "convert it to degC and write the number alone"),
        ("site: {coldest_degC: 14 \u00b0C}", "write 14; the unit is in the key"),
        ("site: {coldest_degC: 283 K}", "convert it to degC and write the number alone"),
        ("charger: {bulk_V: 14600 mV}", "convert it to V and write the number alone"),
        ("charger: {bulk_V: 14.6 V}", "write 14.6; the unit is in the key"),
        ("charger: {max_A: 0.5C}", "convert it to A and write the number alone"),
        ("storage: {board_draw_mA: 8 mA}", "write 8; the unit is in the key"),
    ],
)
def test_a_number_in_another_unit_is_never_handed_on(line: str, advice: str) -> None:
    """Written as it stands, 14 degF or 14600 mV would be dangerous settings that read well."""
    (problem,) = read_text(START + line + "\n", "f").problems
    assert problem.advice == advice
