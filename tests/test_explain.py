"""`bmslint explain` as a person meets it: what it says, what it cannot explain, and how fast it is."""

import io
import os
import re
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.judge import retired
from bmslint.output.words import CAUTION

PROFILES = rules_dir().parent / "profiles"
HEAD = "format: 1\npack: {chemistry: lfp, series: 8, fuse: none}\n"
SMALL = f"{HEAD}protection: {{charge_cold: none}}\n"


@pytest.fixture(autouse=True)
def eighty_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("LC_ALL", raising=False)
    monkeypatch.delenv("FORCE_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")


def file(folder: Path, text: str, name: str = "p.yaml") -> str:
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


def explained(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What is written; everything that can be explained ends with status 0."""
    assert main(["explain", *arguments]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def unwrapped(text: str) -> str:
    return " ".join(text.split())


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["explain", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    return err


def test_what_a_page_about_a_file_holds_and_in_which_order(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    file(tmp_path, f"title: A bench\n{SMALL}")
    out = explained(capsys, "p.yaml")
    assert [re.sub(r"\d+", "N", row) for row in out.splitlines()[:5]] == [
        "p.yaml",
        "A bench",
        "REJECTED: do not flash (N reject, N review, N not judged)",
        "",
        "REJECT (do not flash these settings): Nothing stops charging in the cold",
    ]
    order = [
        "\n  p.yaml:4:27  protection.charge_cold\n  Charging is never inhibited in the cold",
        "\n\n  What the settings say\n    - protection.charge_cold: none   (line 4)\n",
        "\n\n  What it does\n",
        "\n\n  How sure this is\n",
        "\n\n  What to do\n",
        "\n\n  Rule: cold-inhibit-missing\n",
        "\n\nAlso found\n\n  Review (a person must look before flashing): No fuse stands behind the board\n",
        "    p.yaml:3:41  pack.fuse\n",
        "\n\nNot judged, which is not passed: ",
        " settings more.\n\nWhat the words mean\n",
        "\n\nOf one rule alone, also why it did not speak:\n  bmslint explain p.yaml RULE\n",
        "\n\nCaution: ",
    ]
    places = [out.replace("settings\nmore", "settings more").find(text) for text in order]
    assert places == sorted(places)
    assert -1 not in places
    assert unwrapped(out).endswith(CAUTION)


def test_a_file_without_findings_tells_how_the_pack_comes_to_charge(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = explained(capsys, str(PROFILES / "orchard-robot.yaml"))
    assert "\nACCEPTED: every rule that applies holds\n" in out
    assert "\nHow this pack comes to charge in the cold\n" in out
    assert "coldest point inside any cell" in out
    assert unwrapped(out).endswith(CAUTION)


@pytest.mark.parametrize(
    ("rule", "begins"),
    [
        ("undervoltage-trip-below-cell",
         "HOLDS: the rule was judged and holds (undervoltage-trip-below-cell)."),
        ("cold-release-before-core",
         "DOES NOT APPLY: the rule does not concern this file (cold-release-before-core)."),
        ("balancing-too-slow",
         "NOT JUDGED: what the rule needs is not in the file, and that is not passed (balancing-too-slow)."),
        ("overvoltage-trip-above-cell",
         "REJECT (do not flash these settings): Over-voltage trips above what a cell bears"),
        ("load-stops-in-cold",
         "NOTE (worth knowing; it changes no verdict): The load is cut off when the pack has cooled to the "
         "coldest"),
    ],
)  # fmt: skip
def test_a_rule_on_a_file_whatever_became_of_it(
    capsys: pytest.CaptureFixture[str], rule: str, begins: str
) -> None:
    out = explained(capsys, str(PROFILES / "failing/another-chemistry.yaml"), rule)
    assert begins in unwrapped(out)
    assert f"Rule: {rule}" in out
    assert unwrapped(out).endswith(CAUTION)
    # What became of other rules is not told.
    assert "Also found" not in out
    assert "Not judged, which" not in out


def test_the_worst_finding_is_told_in_full_and_the_others_in_short(
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = explained(capsys, str(PROFILES / "failing/skin-decides.yaml"))
    full, short = out.split("\nAlso found\n")
    assert full.count("How sure this is") == 1
    assert full.count("heater  █") == 1
    assert "How sure this is" not in short
    assert re.findall(r"^    Rule: (.*)$", short, re.MULTILINE) == [
        "heated-current-above-cell", "spread-while-heating", "heater-switches-too-often",
        "one-sensor-heats-and-releases",
    ]  # fmt: skip


def test_a_page_is_bounded_however_much_was_found(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    steps = ", ".join(f"{{from_degC: {300 + n}, max_A: {90000 + n}}}" for n in range(200))
    path = file(
        tmp_path, f"{HEAD.replace('8,', '8, capacity_Ah: 10,')}charge_current: {{steps: [{steps}]}}\n"
    )
    out = explained(capsys, path)
    assert len(out.splitlines()) < 250
    assert re.search(r"And \d\d+ more: ", out)
    one = explained(capsys, path, "looks-like-milliamperes")
    assert one.count("How sure this is") == 3
    assert len(one.splitlines()) < 250
    assert re.search(r"And 189 more: looks-like-milliamperes", one)


def test_a_finding_that_a_person_took_on_is_told_with_its_entry(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    entry = "{rule: fuse-missing, reason: it is in the vehicle, by: a fitter, until: 2026-12-31}"
    path = file(tmp_path, f"{HEAD}accepted: [{entry}]\n")
    one = unwrapped(explained(capsys, path, "fuse-missing", "--today", "2026-07-01"))
    assert (
        "A person took this on: it is in the vehicle (by a fitter, until 2026-12-31). It does not count for "
        "the verdict." in one
    )
    whole = unwrapped(explained(capsys, path, "--today", "2026-07-01"))
    assert (
        "Taken on by a person, so it does not count: No fuse stands behind the board (fuse-missing; it is "
        "in the "
        "vehicle, by a fitter, until 2026-12-31)." in whole
    )
    past = unwrapped(explained(capsys, path, "fuse-missing", "--today", "2027-01-01"))
    assert "A person took this on" not in past


def test_a_rule_that_the_file_says_does_not_concern_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = file(tmp_path, f"{HEAD}not_applicable: [{{rule: load-above-board, reason: there is no load}}]\n")
    assert (
        "The file says that the rule does not concern this pack: there is no load; not judged, and not "
        "asked for." in unwrapped(explained(capsys, path, "load-above-board"))
    )


def test_a_rule_without_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    out = explained(capsys, "fuse-missing")
    assert out == (
        "fuse-missing\n"
        "No fuse stands behind the board\n"
        "\n"
        "Severity: review: a person must look before flashing\n"
        "Family: current\n"
        'Requires: pack.fuse != "none"\n'
        "Speaks of: pack.fuse\n"
        "Says: The pack has no fuse: where the board's switches fail closed, nothing else\n"
        "opens.\n"
        "Why: The switches of a board usually fail closed, often by the very short\n"
        "circuit that they should open.\n"
        "To do: Fit a fuse that can interrupt the pack's voltage and short circuit, close\n"
        "to the cells.\n"
        "Does not apply to: none known\n"
        "Known false alarms: small packs whose tabs are made to melt; parts of a larger\n"
        "pack that has a fuse\n"
        "Source (common practice): a second, independent means of opening the main\n"
        "circuit\n"
        "\n"
        "What the words mean\n"
        "  board: The electronics that watch the cells and switch charging and\n"
        "  discharging on and off; also called battery management system.\n"
        "  fuse: A part that melts and opens for good when far too much current flows.\n"
        "  short circuit: Plus and minus connected with almost nothing between them: a\n"
        "  current of thousands of amperes.\n"
        "\n"
        "What it says of a file: bmslint explain FILE fuse-missing\n"
    )


def test_a_rule_that_is_no_longer_run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "retired").mkdir()
    text = (
        "id: heater-without-fuse\ntitle: The heater has no fuse of its own\nseverity: review\nwhy: It "
        "shorts.\n"
        'retired_in: "0.3.0"\nretired_because: The format has no such fuse.\n'
        "instead: [heater-cutout-missing]\n"
    )
    file(tmp_path / "retired", text, "heater-without-fuse.yaml")
    monkeypatch.setattr(retired, "rules_dir", lambda: tmp_path)
    assert explained(capsys, "heater-without-fuse") == (
        "heater-without-fuse\nThe heater has no fuse of its own\n\nSeverity: review\nWhy: It shorts.\n"
        "No longer run since: 0.3.0\nBecause: The format has no such fuse.\nInstead: heater-cutout-missing\n"
    )


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["cold-release-befor-core"],
         "'cold-release-befor-core' is neither a settings file nor a rule; did you mean "
         "cold-release-before-core?"),
        (["nothing"], "'nothing' is neither a settings file nor a rule; `bmslint rules` lists them"),
        (["{good}", "fuse-mising"], "'fuse-mising' is no rule; did you mean fuse-missing?"),
        (["fuse-missing", "{good}"], "the file comes first: bmslint explain {good} fuse-missing"),
        (["{folder}"], "{folder} is a folder; name one settings file"),
        (["a\x1b[31m\u202e"],
         "'a\\x1b[31m\\u202e' is neither a settings file nor a rule; `bmslint rules` lists them"),
    ],
)  # fmt: skip
def test_what_cannot_be_explained_is_told_and_ends_with_two(
    capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    names = {"good": PROFILES / "ridge-hut.yaml", "folder": PROFILES}
    expected = f"bmslint: {told.format(**names)}\n"
    assert refused(capsys, *(each.format(**names) for each in arguments)) == expected


@pytest.mark.parametrize("text", ["format: 1\n", "- a\n", "format: 1\npack: {chemistry: lpf, series: 8}\n"])
def test_an_unusable_file_gives_the_problems_that_a_check_gives(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str
) -> None:
    path = file(tmp_path, text)
    told = refused(capsys, path)
    assert main(["check", path]) == 2
    checked = unwrapped(capsys.readouterr().out)
    for line in told.splitlines():
        place, message = re.fullmatch(r"(.*:\d+:\d+): (.*)", line).groups()  # type: ignore[union-attr]
        assert place in checked
        assert message in checked or message.partition(": ")[2] in checked
    assert refused(capsys, str(tmp_path / "absent.yaml")) == (
        f"{tmp_path}/absent.yaml:1:1: expected a settings file, came no such file; check the path\n"
    )


def test_a_rule_that_is_switched_off_says_by_whom_and_why(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "company").mkdir()
    change = "rules:\n  fuse-missing: {switched_off: true, reason: it is in the vehicle}\n"
    file(tmp_path / "company", change, "changes.yaml")
    told = refused(capsys, "fuse-missing", "--rules", str(tmp_path / "company"))
    assert (
        told
        == f"bmslint: the rule fuse-missing is switched off by {tmp_path}/company: it is in the vehicle\n"
    )


def test_a_rule_of_ones_own_is_explained(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "company").mkdir()
    rule = (
        "id: company-load\ntitle: The load is large\nseverity: note\nrequire: load.continuous_A <= 50.0\n"
        "value: load.continuous_A\nlimit: '50.0'\nunit: A\nat: load.continuous_A\n"
        "says: It draws {value} A.\nwhy: We <b>say</b> so.\nremedy: Draw less.\n"
    )
    file(tmp_path / "company", rule, "company-load.yaml")
    out = explained(
        capsys, str(PROFILES / "ridge-hut.yaml"), "company-load", "--rules", str(tmp_path / "company")
    )
    first, second = out.split("\n\n")[:2]
    assert unwrapped(first) == f"Rules of one's own: {tmp_path}/company (1 rule added)"
    assert second.startswith(f"{PROFILES}/ridge-hut.yaml\n")
    assert "NOTE (worth knowing; it changes no verdict): The load is large" in out
    assert "    - load.continuous_A: 120 A   (line " in out
    assert "    - beyond the limit by: 70 A\n" in out
    assert "    We <b>say</b> so.\n" in out


HOSTILE = "\\e[2Jx\\u202Ey\\u2028<b>[bold red]z[/]"
SHOWN = "<U+001B>[2Jx<U+202E>y<U+2028><b>[bold red]z[/]"


def test_hostile_texts_of_a_file_are_shown_as_text(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    entry = f'{{rule: fuse-missing, reason: "{HOSTILE}", by: "{HOSTILE}", until: 2026-12-31}}'
    path = file(
        tmp_path,
        f'title: "{HOSTILE}"\n{HEAD}accepted: [{entry}]\n'
        f'charge_paths: [{{name: "{HOSTILE}", max_A: 5, obeys: []}}]\n',
    )
    out = explained(capsys, path, "--today", "2026-07-01")
    out += explained(capsys, path, "fuse-missing", "--today", "2026-07-01")
    out += explained(capsys, path, "path-ignores-cold-inhibit", "--today", "2026-07-01")
    assert unwrapped(out).count(SHOWN) >= 4
    assert not set("\x1b\u202e\u2028") & set(out)


def test_a_terminal_gets_colour_that_only_repeats_what_the_letters_say(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    plain = explained(capsys, str(PROFILES / "ridge-hut.yaml"), "cold-release-before-core")
    monkeypatch.delenv("NO_COLOR", raising=False)
    screen = Terminal(io.BytesIO(), encoding="utf-8")
    monkeypatch.setattr(sys, "stdout", screen)
    assert main(["explain", str(PROFILES / "ridge-hut.yaml"), "cold-release-before-core"]) == 0
    screen.flush()
    coloured = screen.buffer.getvalue().decode()  # type: ignore[attr-defined]
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


@pytest.mark.parametrize(
    ("name", "value"), [("TERM", "dumb"), ("LC_ALL", "C"), ("LC_ALL", "POSIX"), ("PYTHONIOENCODING", "ascii")]
)
def test_a_plain_terminal_gets_plain_characters(name: str, value: str) -> None:
    command = [sys.executable, "-m", "bmslint.cli", "explain", str(PROFILES / "ridge-hut.yaml")]
    environment = {**os.environ, "COLUMNS": "60", name: value}
    done = subprocess.run(command, capture_output=True, timeout=300, check=False, env=environment)
    assert (done.returncode, done.stderr) == (0, b"")
    out = done.stdout.decode("ascii")
    assert "      heater  ####" in out
    assert [row for row in out.splitlines() if len(row) > 60 and ".yaml" not in row] == []


def test_explaining_takes_less_than_the_goal_and_imports_no_more_than_a_check() -> None:
    """The goal is 1.5 s of a whole process, held by the time that the processor spends on it."""
    code = (
        "import sys; from bmslint.cli import main; main(['explain', sys.argv[1]]); "
        "print(*sorted({'pydantic', 'rich', 'scipy', 'jsonschema'} & set(sys.modules)), file=sys.stderr)"
    )
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-c", code, str(PROFILES / "ridge-hut.yaml")]
    done = subprocess.run(command, capture_output=True, timeout=300, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.stderr == b"\n"
    assert (after.ru_utime + after.ru_stime) - (before.ru_utime + before.ru_stime) < 1.5
