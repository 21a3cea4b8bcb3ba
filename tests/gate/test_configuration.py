"""What a folder or repository says once: where it is found, what it may say, what goes before it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bmslint.cli import main
from bmslint.gate.configuration import FAIL_ON, KEYS, OUTPUT_FORMATS, find_configuration
from bmslint.output.writers import WRITERS

REVIEW = "format: 1\npack: {chemistry: lfp, series: 8, parallel: 1, capacity_Ah: 9, cell: {capacity_Ah: 5}}\n"
UNKNOWN = "format: 1\npack: {chemistry: lfp, series: 8}\n"


@pytest.fixture(autouse=True)
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository with a folder of profiles, and the working folder in it."""
    root = tmp_path / "repository"
    (root / ".git").mkdir(parents=True)
    (root / "profiles" / "drafts").mkdir(parents=True)
    (root / "profiles" / "a.yaml").write_text(UNKNOWN)
    (root / "profiles" / "drafts" / "b.yaml").write_text(UNKNOWN)
    monkeypatch.chdir(root)
    return root


def judged(capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    main(["check", "--format", "json", *options])
    out, err = capsys.readouterr()
    assert err == ""
    return [each["file"] for each in json.loads(out)["files"]]


def shown(capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    assert main(["check", "--show-configuration", *options]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return [" ".join(line.split()) for line in out.splitlines()]


def refused(capsys: pytest.CaptureFixture[str]) -> list[str]:
    assert main(["check", "profiles"]) == 2
    out, err = capsys.readouterr()
    first, *problems = err.splitlines()
    assert (out, first) == ("", "bmslint: the configuration cannot be used, so nothing was judged")
    return problems


WHOLE_YAML = """\
paths: [profiles]
exclude: [profiles/drafts]
rules: [company]
installed_rules: false
fail_on: review
write: {sarif: out/run.sarif, junit: out/run.xml}
baseline: known.json
"""
WHOLE_TOML = """\
[project]
name = "firmware"

[tool.bmslint]
paths = ["profiles"]
exclude = ["profiles/drafts"]
rules = ["company"]
installed_rules = false
fail_on = "review"
baseline = "known.json"

[tool.bmslint.write]
sarif = "out/run.sarif"
junit = "out/run.xml"
"""


@pytest.mark.parametrize(("name", "text"), [(".bmslint.yaml", WHOLE_YAML), ("pyproject.toml", WHOLE_TOML)])
@pytest.mark.parametrize("below", [".", "profiles/drafts"])
def test_everything_that_is_in_force_is_shown_with_its_origin(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, name: str, text: str, below: str
) -> None:
    Path(name).write_text(text)
    monkeypatch.chdir(below)
    up = "" if below == "." else "../../"
    profiles = "profiles" if below == "." else ".."

    def at(key: str, line: int) -> str:
        return f"{up}{name}:{line}:1" if name.endswith("yaml") else f"{up}{name}: [tool.bmslint] {key}"

    assert shown(capsys) == [
        f"configuration {up}{name}",
        f"paths {profiles} {at('paths', 1)}",
        f"exclude profiles/drafts {at('exclude', 2)}",
        f"rules {up}company {at('rules', 3)}",
        f"installed_rules no {at('installed_rules', 4)}",
        f"fail_on review {at('fail_on', 5)}",
        f"write sarif={up}out/run.sarif {at('write', 6)}",
        f"junit={up}out/run.xml",
        f"baseline {up}known.json {at('baseline', 7)}",
    ]


NOTHING = [
    "configuration none",
    "paths none default",
    "exclude none default",
    "rules none default",
    "installed_rules no default",
    "fail_on reject default",
    "write none default",
    "baseline none default",
]


def test_without_a_configuration_the_defaults_are_in_force(capsys: pytest.CaptureFixture[str]) -> None:
    assert shown(capsys) == NOTHING


def test_the_command_line_goes_before_the_configuration(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".bmslint.yaml").write_text(WHOLE_YAML)
    options = ["--fail-on", "note", "--write", "json=x.json", "--exclude", "y", "--installed-rules"]
    assert shown(capsys, "profiles/a.yaml", "--rules", "other", *options) == [
        "configuration .bmslint.yaml",
        "paths profiles/a.yaml command line",
        "exclude y command line",
        "rules other command line",
        "installed_rules yes command line",
        "fail_on note command line",
        "write json=x.json command line",
        "baseline known.json .bmslint.yaml:7:1",
    ]
    assert shown(capsys, "--ignore-configuration") == NOTHING


def test_the_configured_paths_are_judged_and_others_if_they_are_named(
    capsys: pytest.CaptureFixture[str],
) -> None:
    Path(".bmslint.yaml").write_text("paths: [profiles]\nexclude: [profiles/drafts]\n")
    assert judged(capsys) == ["profiles/a.yaml"]
    assert judged(capsys, "profiles/drafts/b.yaml") == ["profiles/drafts/b.yaml"]
    assert judged(capsys, "--ignore-configuration", "profiles") == [
        "profiles/a.yaml",
        "profiles/drafts/b.yaml",
    ]


def test_the_configuration_decides_status_and_outputs(capsys: pytest.CaptureFixture[str]) -> None:
    Path("profiles/a.yaml").write_text(REVIEW)
    Path(".bmslint.yaml").write_text("fail_on: review\nwrite: {json: run.json}\n")
    assert main(["check", "profiles/a.yaml"]) == 1
    assert main(["check", "profiles/a.yaml", "--fail-on", "reject"]) == 3
    assert json.loads(Path("run.json").read_bytes())["files"][0]["file"] == "profiles/a.yaml"


def test_nothing_named_and_nothing_configured_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 2
    assert capsys.readouterr() == (
        "",
        "bmslint: nothing to judge: name a file or folder, or set `paths` in .bmslint.yaml\n",
    )


def test_the_nearest_goes_before_others_and_the_root_is_the_end(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, repository: Path
) -> None:
    (repository.parent / ".bmslint.yaml").write_text("fail_on: note\n")
    assert find_configuration().file == ""
    Path("pyproject.toml").write_text('[tool.bmslint]\nfail_on = "review"\n')
    monkeypatch.chdir("profiles/drafts")
    Path("../pyproject.toml").write_text('[project]\nname = "x"\n')
    assert find_configuration().file == "../../pyproject.toml"
    Path("../.bmslint.yaml").write_text("fail_on: note\n")
    assert find_configuration().file == "../.bmslint.yaml"


def test_outside_of_a_repository_only_the_working_folder_is_looked_at(
    monkeypatch: pytest.MonkeyPatch, repository: Path
) -> None:
    (repository / ".git").rmdir()
    Path(".bmslint.yaml").write_text("fail_on: note\n")
    assert find_configuration().file == ".bmslint.yaml"
    monkeypatch.chdir("profiles")
    assert find_configuration().file == ""


def test_two_configurations_beside_each_other_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".bmslint.yaml").write_text("fail_on: note\n")
    Path("pyproject.toml").write_text('[tool.bmslint]\nfail_on = "review"\n')
    assert refused(capsys) == [
        ".bmslint.yaml: pyproject.toml beside it has a table [tool.bmslint], too; keep one of the two"
    ]


def test_everything_wrong_is_told_at_once_with_its_place(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".bmslint.yaml").write_text(
        "path: [a]\npaths: a\nexclude: [1, '']\nfail_on: never\ninstalled_rules: 1\n"
        "write:\n  jsn: a\n  json:\n"
        "baseline: [a]\nzzz: 1\n"
    )
    assert refused(capsys) == [
        ".bmslint.yaml:1:1: there is no key `path`; did you mean paths?",
        '.bmslint.yaml:2:1: expected a list of texts, came the text "a"',
        ".bmslint.yaml:3:11: expected a text, came 1",
        '.bmslint.yaml:3:14: expected a text, came the text ""',
        '.bmslint.yaml:4:1: expected one of reject, review, note, came the text "never"',
        ".bmslint.yaml:5:1: expected true or false, came 1",
        ".bmslint.yaml:7:3: there is no form `jsn`; did you mean json?",
        ".bmslint.yaml:8:3: expected a text, came nothing",
        ".bmslint.yaml:9:1: expected a text, came a list",
        ".bmslint.yaml:10:1: there is no key `zzz`; known are paths, exclude, rules, installed_rules,"
        " fail_on, write, baseline",
    ]


def test_everything_wrong_in_a_table_is_told_by_its_key(capsys: pytest.CaptureFixture[str]) -> None:
    Path("pyproject.toml").write_text(
        '[tool.bmslint]\nfail-on = "reject"\npaths = [2026-01-01]\nwrite = "json"\n'
    )
    assert refused(capsys) == [
        "pyproject.toml: [tool.bmslint] fail-on: there is no key `fail-on`; did you mean fail_on?",
        "pyproject.toml: [tool.bmslint] paths[0]: expected a text, came a mapping",
        "pyproject.toml: [tool.bmslint] write: expected a file for each form, such as `sarif: bmslint.sarif`,"
        ' came the text "json"',
    ]


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        (
            ".bmslint.yaml",
            "- a\n",
            ".bmslint.yaml:1:1: expected keys such as paths, exclude, rules, came a list",
        ),
        (
            ".bmslint.yaml",
            "",
            ".bmslint.yaml:1:1: expected a document, came an empty file; is it the right file?",
        ),
        (".bmslint.yaml", "a: 1\n---\nb: 1\n", ".bmslint.yaml:3:1: expected one document, came a second one"),
        (".bmslint.yaml", "paths: [a\n", ".bmslint.yaml:2:1: expected "),
        (".bmslint.yaml", "paths: [a]\npaths: [b]\n", ".bmslint.yaml:2:1: expected "),
        ("pyproject.toml", "[tool.bmslint]\npaths = [\n", "pyproject.toml: expected TOML; "),
        ("pyproject.toml", "[tool.bmslint]\nx = 1\nx = 2\n", "pyproject.toml: expected TOML; "),
        ("pyproject.toml", "[tool]\nbmslint = 1\n", "pyproject.toml: [tool.bmslint]: expected keys such as "),
    ],
)
def test_a_damaged_configuration_is_told(
    capsys: pytest.CaptureFixture[str], name: str, text: str, told: str
) -> None:
    Path(name).write_text(text)
    (problem,) = refused(capsys)
    assert problem.startswith(told)


@pytest.mark.parametrize("name", [".bmslint.yaml", "pyproject.toml"])
def test_an_unreadable_configuration_is_not_none(capsys: pytest.CaptureFixture[str], name: str) -> None:
    Path(name).symlink_to(name)
    (problem,) = refused(capsys)
    assert problem.startswith(f"{name}:")
    assert "Too many levels of symbolic links" in problem


@pytest.mark.parametrize(
    "text",
    [
        '[tool.bmslint]\nfail_on = "note"\n',
        '[tool]\nbmslint.fail_on = "note"\n',
        'tool.bmslint.fail_on = "note"\n',
        'tool = {bmslint = {fail_on = "note"}}\n',
        '[ "tool" . \'bmslint\' ]\nfail_on = "note"\n',
        '["tool"."bms\\u006cint"]\nfail_on = "note" # bmslint\n',
        '[ tool ]\nbmslint = {fail_on = "note"}\n',
    ],
)
def test_a_table_is_seen_however_it_is_written(text: str) -> None:
    Path("pyproject.toml").write_text(text)
    assert dict(find_configuration().values) == {"fail_on": "note"}


OF_OTHERS = (
    '[project]\nname = "bmslint"\n[tool.ruff]\nline-length = 110\n[tool.hatch]\npackages = ["bmslint"]\n'
)


def test_a_project_without_a_table_costs_no_parser() -> None:
    """The parser of the standard library takes about as long to import as a small file to be judged."""
    Path("pyproject.toml").write_text(OF_OTHERS)
    code = (
        "import sys; from bmslint.gate.configuration import find_configuration\n"
        "print(find_configuration().file, 'tomllib' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert run.stdout == " False\n"


PARTS = st.sampled_from(
    [
        *("paths", "exclude", "write", "fail_on", "[tool.bmslint]", "[tool]", "bmslint", "json", "a", "1"),
        *(": ", " = ", "[", "]", "{", "}", "\n", "\n  ", "- ", '"', "'", "null", "true", "#", "\\u0041"),
        *("\x00", "\u202e", "&a ", "*a", "\t"),
    ]
)


@settings(max_examples=200, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.sampled_from([".bmslint.yaml", "pyproject.toml"]), st.lists(PARTS, max_size=30).map("".join))
def test_whatever_a_configuration_holds_it_is_read_or_refused_in_words(
    capsys: pytest.CaptureFixture[str], name: str, text: str
) -> None:
    for each in (".bmslint.yaml", "pyproject.toml"):
        Path(each).unlink(missing_ok=True)
    Path(name).write_text(text, encoding="utf-8")
    status = main(["check", "--show-configuration"])
    out, err = capsys.readouterr()
    first, *problems = err.splitlines() or [""]
    refusal = "bmslint: the configuration cannot be used, so nothing was judged"
    assert (status, bool(out), first) in [(0, True, ""), (2, False, refusal)]
    assert all(each.startswith(f"{name}:") for each in problems)
    assert bool(problems) == (status == 2)


def test_names_mean_the_same_everywhere() -> None:
    assert tuple(WRITERS) == OUTPUT_FORMATS
    from bmslint.commands.in_force import DEFAULTS, InForce
    from bmslint.judge.finding import SEVERITIES

    assert FAIL_ON == SEVERITIES
    assert list(DEFAULTS) == list(KEYS)
    assert set(DEFAULTS) == set(InForce._fields) - {"configuration", "sources"}
