"""`extends`: values from a base file, with the places that they came from."""

from pathlib import Path

import pytest

from bmslint.settings import Document, Position, read, read_text

BASE = """\
format: 1
pack: {chemistry: lfp, series: 8, parallel: 2}
heater: {power_W: 160, faces: [ends, sides], cutout_degC: 70}
charge_paths: [{name: mains}, {name: wind}]
site: {coldest_degC: -25}
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "base").mkdir()
    (tmp_path / "base/hut.yaml").write_text(BASE)
    return tmp_path


RELATIVE = "expected a path relative to this file, with forward slashes,"


def told(document: Document) -> list[tuple[str, int, int, str, str]]:
    assert document.data == {}
    return [(p.file, p.line, p.column, p.path, p.message) for p in document.problems]


def test_mappings_merge_lists_are_replaced_and_empty_removes(folder: Path) -> None:
    (folder / "over.yaml").write_text(
        "format: 1\nextends: base/hut.yaml\npack: {series: 16}\n"
        "heater:\n  cutout_degC:\n  faces: [top]\ncharge_paths: [{name: solar}]\nsite: null\n"
    )
    document = read("over.yaml")
    assert document.problems == ()
    assert document.data == {
        "format": 1.0,
        "extends": "base/hut.yaml",
        "pack": {"chemistry": "lfp", "series": 16.0, "parallel": 2.0},
        "heater": {"power_W": 160.0, "faces": ["top"]},
        "charge_paths": [{"name": "solar"}],
    }


def test_places_are_those_of_the_file_that_a_value_came_from(folder: Path) -> None:
    (folder / "over.yaml").write_text(
        "format: 1\nextends: base/hut.yaml\npack: {series: 16}\ncharge_paths: [{name: solar}]\n"
    )
    document = read("over.yaml")
    assert document.positions["pack.series"] == Position("over.yaml", 3, 16)
    assert document.positions["pack.parallel"] == Position("base/hut.yaml", 2, 45)
    assert document.key_positions["heater.power_W"] == Position("base/hut.yaml", 3, 10)
    assert document.positions["charge_paths[0].name"] == Position("over.yaml", 4, 23)
    assert "charge_paths[1].name" not in document.positions
    assert "charge_paths[1].name" not in document.key_positions


def test_over_several_levels(folder: Path) -> None:
    (folder / "base/middle.yaml").write_text(
        "format: 1\nextends: hut.yaml\npack: {series: 4}\nload: {surge_A: 1}\n"
    )
    (folder / "over.yaml").write_text("extends: base/middle.yaml\nload: {surge_A: 2}\nheater: none\n")
    document = read("over.yaml")
    assert document.data == {
        "format": 1.0,
        "extends": "base/middle.yaml",
        "pack": {"chemistry": "lfp", "series": 4.0, "parallel": 2.0},
        "heater": "none",
        "charge_paths": [{"name": "mains"}, {"name": "wind"}],
        "site": {"coldest_degC": -25.0},
        "load": {"surge_A": 2.0},
    }
    assert document.positions["heater"] == Position("over.yaml", 3, 9)
    assert "heater.power_W" not in document.positions
    assert document.positions["site.coldest_degC"] == Position("base/hut.yaml", 5, 22)


def test_text_extends_relative_to_the_folder_of_its_name(folder: Path) -> None:
    document = read_text("extends: hut.yaml\n", "base/typed.yaml")
    assert document.data["pack"] == {"chemistry": "lfp", "series": 8.0, "parallel": 2.0}


def test_problem_in_a_base_names_the_base(folder: Path) -> None:
    (folder / "base/bad.yaml").write_text(BASE + "load: {surge_A: lots}\n")
    (folder / "over.yaml").write_text("extends: base/bad.yaml\nsite: {coldest_degC: -300}\n")
    assert told(read("over.yaml")) == [
        (
            "base/bad.yaml", 6, 17, "load.surge_A",
            'expected a number from 0 to 1000000 A, came the text "lots"',
        ),
        (
            "over.yaml", 2, 22, "site.coldest_degC",
            "expected a number from -273.15 to 2000 degC, came -300",
        ),
    ]  # fmt: skip


def test_fault_in_the_yaml_of_a_base_names_the_base(folder: Path) -> None:
    (folder / "base/bad.yaml").write_text("a: [\n")
    (folder / "over.yaml").write_text("extends: base/bad.yaml\nsite: {coldest_degC: .nan}\n")
    assert [entry[:4] for entry in told(read("over.yaml"))] == [
        ("over.yaml", 2, 22, "site.coldest_degC"),
        ("base/bad.yaml", 2, 1, ""),
    ]


def test_empty_value_without_a_base_to_remove_from(folder: Path) -> None:
    (folder / "over.yaml").write_text("extends: base/hut.yaml\nload: {surge_A: }\n")
    assert told(read("over.yaml")) == [
        (
            "over.yaml", 2, 17, "load.surge_A",
            "expected a number from 0 to 1000000 A, came nothing; give a value or leave the key out",
        )
    ]  # fmt: skip


def test_base_of_a_newer_format(folder: Path) -> None:
    (folder / "base/new.yaml").write_text("format: 2\n")
    (folder / "over.yaml").write_text("format: 1\nextends: base/new.yaml\n")
    assert told(read("over.yaml")) == [
        (
            "base/new.yaml", 1, 9, "format",
            "expected version 1 of the format, came 2;"
            " the file was written for a newer bmslint: update bmslint",
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("named", "message"),
    [
        ("/etc/hostname", RELATIVE + " came an absolute path;"
         ' came from "/etc/hostname"'),
        ("C:/hut.yaml", RELATIVE + " came an absolute path;"
         ' came from "C:/hut.yaml"'),
        ("base\\hut.yaml", RELATIVE + ' came "base\\hut.yaml"; write / in place of \\'),
        ('"a\\0b"', RELATIVE + ' came the text "a\\x00b"; remove what cannot be printed'),
        ("base/no.yaml", 'expected a settings file that can be read, came "base/no.yaml": no such file;'
         " check the path"),
        ("base", 'expected a settings file that can be read, came "base": a folder; name the file in it'),
        ("over.yaml", 'expected files that do not extend each other, came "over.yaml",'
         " which leads back to a file above it; remove one"),
    ],
)  # fmt: skip
def test_refused(folder: Path, named: str, message: str) -> None:
    (folder / "over.yaml").write_text(f"extends: {named}\n")
    assert told(read("over.yaml")) == [("over.yaml", 1, 10, "extends", message)]


def test_circle_over_two_files(folder: Path) -> None:
    (folder / "one.yaml").write_text("extends: base/two.yaml\n")
    (folder / "base/two.yaml").write_text("format: 1\nextends: ../base/../one.yaml\n")
    assert told(read("one.yaml")) == [
        (
            "base/two.yaml", 2, 10, "extends",
            'expected files that do not extend each other, came "../base/../one.yaml",'
            " which leads back to a file above it; remove one",
        )
    ]  # fmt: skip


def test_too_many_levels(folder: Path) -> None:
    for number in range(30):
        (folder / f"{number}.yaml").write_text(f"extends: {number + 1}.yaml\n")
    assert told(read("0.yaml")) == [
        ("20.yaml", 1, 10, "extends", "expected at most 20 levels, came one more; merge some of them")
    ]


OUT_OF_FOLDER = (
    "expected a file inside the folder that bmslint was started in, came {}, which leads out of it;"
    " start bmslint in a folder that holds both files, or put both into one repository"
)
OUT_OF_REPOSITORY = (
    "expected a file inside the repository, came {}, which leads out of it; move that file into it"
)


def hut_with(folder: Path, named: str) -> list[str]:
    (folder / "over.yaml").write_text(f"extends: {named}\n")
    return [problem.message for problem in read(folder / "over.yaml").problems]


def test_no_base_lies_outside_of_the_working_folder_where_there_is_no_repository(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "start").mkdir()
    monkeypatch.chdir(folder / "start")
    assert hut_with(Path(), "../base/hut.yaml") == [OUT_OF_FOLDER.format('"../base/hut.yaml"')]
    assert hut_with(Path(), "../no.yaml") == [OUT_OF_FOLDER.format('"../no.yaml"')]
    # A file that does not lie in the working folder may reach what lies in its own.
    assert hut_with(folder, "base/hut.yaml") == []
    (message,) = hut_with(folder / "base", "../start/over.yaml")
    assert message.startswith("expected a file inside the folder of this file, came ")
    monkeypatch.chdir(folder)
    assert hut_with(folder / "start", "../base/hut.yaml") == []


@pytest.mark.parametrize("kind", ["folder", "file"])  # a file marks a further work tree
def test_no_base_lies_outside_of_the_repository(folder: Path, kind: str) -> None:
    inner = folder / "inner"
    (inner / "profiles").mkdir(parents=True)
    (inner / "own.yaml").write_text(BASE)
    (inner / "leads-out.yaml").symlink_to("../base/hut.yaml")
    (inner / "leads-in.yaml").symlink_to("own.yaml")
    (inner / ".git").mkdir() if kind == "folder" else (inner / ".git").write_text("gitdir: elsewhere\n")
    assert hut_with(inner / "profiles", "../own.yaml") == []
    assert hut_with(inner / "profiles", "../leads-in.yaml") == []
    for named in ("../../base/hut.yaml", "../leads-out.yaml", "../../inner/../base/hut.yaml"):
        assert hut_with(inner / "profiles", named) == [OUT_OF_REPOSITORY.format(f'"{named}"')]


def test_a_base_of_a_base_stays_inside_too(folder: Path) -> None:
    (folder / "inner" / ".git").mkdir(parents=True)
    (folder / "inner" / "middle.yaml").write_text("extends: ../base/hut.yaml\n")
    (folder / "inner" / "over.yaml").write_text("format: 1\nextends: middle.yaml\n")
    assert told(read("inner/over.yaml")) == [
        ("inner/middle.yaml", 1, 10, "extends", OUT_OF_REPOSITORY.format('"../base/hut.yaml"'))
    ]


def test_extends_that_is_no_path() -> None:
    problems = read_text("format: 1\npack: {chemistry: lfp, series: 8}\nextends: [a, b]\n", "f").problems
    assert [(p.line, p.column, p.path, p.message) for p in problems] == [
        (3, 10, "extends", "expected a text, at most 1000 characters, came a list")
    ]
