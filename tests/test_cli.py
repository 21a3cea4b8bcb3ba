"""The commands as a person or a program meets them: what is written where, and the exit status."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

import bmslint
from bmslint.cli import main
from bmslint.data import rules_dir
from bmslint.gate.find import find_settings

SCHEMA = json.loads((Path(bmslint.__file__).parent / "output" / "check.schema.json").read_bytes())
GOOD = rules_dir().parent / "profiles" / "ridge-hut.yaml"
REJECTED = "format: 1\npack: {chemistry: lfp, series: 8}\nprotection: {charge_cold: none}\n"
UNKNOWN = "format: 1\npack: {chemistry: lfp, series: 8}\n"


def file(folder: Path, name: str, text: str) -> str:
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


def run(*arguments: str, **options: object) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "bmslint.cli", *arguments]
    return subprocess.run(command, capture_output=True, timeout=120, check=False, **options)  # type: ignore[call-overload, no-any-return]


def verdicts(text: str) -> dict[str, str]:
    written = json.loads(text)
    jsonschema.validate(written, SCHEMA)
    return {Path(each["file"]).name: each["verdict"] for each in written["files"]}


def test_a_text_verdict_goes_to_standard_output(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["check", file(tmp_path, "p.yaml", REJECTED)]) == 1
    out, err = capsys.readouterr()
    first, second = out.splitlines()[:2]
    assert (first, second[:23]) == (str(tmp_path / "p.yaml"), "REJECTED: do not flash ")
    assert f"  {tmp_path}/p.yaml:3:27  protection.charge_cold\n" in out
    assert err == ""


@pytest.mark.parametrize(
    ("texts", "fail_on", "status"),
    [
        ([REJECTED], "reject", 1),
        ([UNKNOWN], "reject", 3),
        ([UNKNOWN, REJECTED], "reject", 1),
        (["format: 1\n", REJECTED], "reject", 2),
        (["format: 1\n", UNKNOWN], "note", 2),
    ],
)
def test_the_exit_status_is_the_worst_of_the_files(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, texts: list[str], fail_on: str, status: int
) -> None:
    names = [file(tmp_path, f"{i}.yaml", text) for i, text in enumerate(texts)]
    assert main(["check", *names, "--format", "json", "--fail-on", fail_on]) == status
    assert len(verdicts(capsys.readouterr().out)) == len(texts)


def test_fail_on_counts_what_is_as_severe_or_more(tmp_path: Path) -> None:
    from bmslint.commands.judging import status_of
    from bmslint.judge.finding import Finding, NotJudged, Verdict

    def status(severity: str, fail_on: str) -> int:
        finding = Finding("r", "t", severity, "declared", "p", "f", 1, 1, None, None, "", "m", "w", "d")  # type: ignore[arg-type]
        return status_of(Verdict("f", "review", (finding,)), fail_on)

    table = {(s, f): status(s, f) for s in ("reject", "review", "note") for f in ("reject", "review", "note")}
    assert table == {
        ("reject", "reject"): 1,
        ("reject", "review"): 1,
        ("reject", "note"): 1,
        ("review", "reject"): 0,
        ("review", "review"): 1,
        ("review", "note"): 1,
        ("note", "reject"): 0,
        ("note", "review"): 0,
        ("note", "note"): 1,
    }
    lacking = NotJudged("r", "t", "review", ("site",))
    assert status_of(Verdict("f", "accepted", (), (lacking,)), "note") == 0
    assert status_of(Verdict("f", "not judged", (), (lacking._replace(severity="reject"),)), "reject") == 3


TAKEN_ON = "accepted: [{{rule: {}, reason: a trial, by: site engineer, until: 2027-03-31}}]\n"


@pytest.mark.parametrize(
    ("day", "verdict", "left", "status"),
    [("2026-07-01", "accepted", 273, 0), ("2027-03-31", "accepted", 0, 0), ("2027-04-01", "review", -1, 1)],
)
def test_what_a_person_took_on_counts_after_the_day_that_it_holds_until(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, day: str, verdict: str, left: int, status: int
) -> None:
    text = GOOD.read_text(encoding="utf-8").replace("\n  capacity_Ah: 230\n", "\n  capacity_Ah: 300\n")
    name = file(tmp_path, "p.yaml", text + TAKEN_ON.format("capacity-does-not-multiply"))
    assert main(["check", name, "--format", "json", "--fail-on", "review", "--today", day]) == status
    (told,) = json.loads(capsys.readouterr().out)["files"]
    assert (told["verdict"], [each["days_left"] for each in told["accepted"]]) == (verdict, [left])


def test_a_reject_is_taken_on_only_where_the_run_allows_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    name = file(tmp_path, "p.yaml", REJECTED + TAKEN_ON.format("cold-inhibit-missing"))
    reached = []
    for options in ([], ["--allow-accepted-rejects"]):
        command = ["check", name, "--today", "2026-07-01", *options]
        status = main([*command, "--format", "json"])
        written = capsys.readouterr().out
        (told,) = json.loads(written)["files"]
        main(command)
        says_so = (
            "A finding `reject` does not count, as a person took on such findings and this run allows that."
        )
        assert (says_so in " ".join(capsys.readouterr().out.split())) == bool(options)
        reached.append((verdicts(written), status, told["accepted_rejects"], told["accepted"][0]["state"]))
    assert reached == [
        ({"p.yaml": "rejected"}, 1, 0, "reject counts"),
        ({"p.yaml": "not judged"}, 3, 1, "holds"),
    ]


def test_an_unknown_chemistry_is_told_at_its_place(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    name = file(tmp_path, "p.yaml", UNKNOWN.replace("lfp", "lfpp"))
    assert main(["check", name, "--format", "json"]) == 2
    (error,) = json.loads(capsys.readouterr().out)["files"][0]["errors"]
    assert (error["line"], error["column"], error["path"], error["came"], error["advice"]) == (
        2, 19, "pack.chemistry", "lfpp", "did you mean lfp?",
    )  # fmt: skip


def test_folders_are_searched_for_settings_files(tmp_path: Path) -> None:
    (tmp_path / "b" / "c").mkdir(parents=True)
    wanted = [
        file(tmp_path, "z.yml", UNKNOWN),
        file(tmp_path / "b", "a.yaml", "# a comment\n" + UNKNOWN),
        file(tmp_path / "b" / "c", "j.json", '{"format": 1}'),
    ]
    file(tmp_path, "notes.txt", UNKNOWN)
    file(tmp_path, "other.yaml", "kind: of another program\nnested:\n  x: 1\n")
    assert [str(path) for path in find_settings([str(tmp_path), wanted[0]]).files] == sorted(wanted)
    other = str(tmp_path / "other.yaml")
    assert [str(path) for path in find_settings([other]).files] == [other]


def test_a_folder_without_settings_files_is_not_a_pass(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["check", str(tmp_path), "--format", "json"]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "bmslint: no settings file found; a settings file has a line that begins with `format:`\n"


def test_a_missing_file_is_unusable(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["check", str(tmp_path / "gone.yaml"), "--format", "json"]) == 2
    assert verdicts(capsys.readouterr().out) == {"gone.yaml": "unusable"}


@pytest.mark.parametrize("form", ["text", "json"])
def test_an_output_goes_to_a_file_while_the_text_is_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, form: str
) -> None:
    name, target = file(tmp_path, "p.yaml", REJECTED), tmp_path / "verdict"
    main(["check", name])
    text = capsys.readouterr().out
    main(["check", name, "--format", form])
    expected = capsys.readouterr().out
    target.write_text("before", encoding="utf-8")
    target.chmod(0o640)
    assert main(["check", name, "--write", f"{form}={target}"]) == 1
    assert capsys.readouterr() == (text, "")
    assert target.read_text(encoding="utf-8") == expected
    assert target.stat().st_mode & 0o777 == 0o640
    assert sorted(path.name for path in tmp_path.iterdir()) == ["p.yaml", "verdict"]


def test_an_output_that_cannot_be_written_is_told_and_the_others_are_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    name, lost, kept = file(tmp_path, "p.yaml", REJECTED), tmp_path / "no" / "a.json", tmp_path / "b.json"
    main(["check", name])
    text = capsys.readouterr().out
    assert main(["check", name, "--write", f"json={lost}", "--write", f"json={kept}"]) == 2
    assert capsys.readouterr() == (text, f"bmslint: cannot write {lost}: No such file or directory\n")
    assert verdicts(kept.read_text(encoding="utf-8")) == {"p.yaml": "rejected"}


def test_a_failure_while_writing_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bmslint.output import files

    target = tmp_path / "verdict.json"
    target.write_text("before", encoding="utf-8")
    monkeypatch.setattr(files.os, "fsync", lambda _: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        files.replace_file(target, "after")
    assert [path.read_text(encoding="utf-8") for path in tmp_path.iterdir()] == ["before"]


def test_facts_of_an_unusable_file_are_not_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    name = file(tmp_path, "p.yaml", "format: 1\npack: {chemistry: lfp, series: eight}\n")
    assert main(["facts", name]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"{name}:2:")
    unknown = file(tmp_path, "q.yaml", UNKNOWN.replace("lfp", "lfpp"))
    assert main(["facts", unknown]) == 2
    out, err = capsys.readouterr()
    assert (out, err.split(" expected")[0]) == ("", f"{unknown}:2:19:")


def test_facts_name_every_group(capsys: pytest.CaptureFixture[str]) -> None:
    from bmslint.facts import FACT_NAMES

    assert main(["facts", str(GOOD), "--format", "json"]) == 0
    written = json.loads(capsys.readouterr().out)
    assert {group: set(names) for group, names in written["facts"].items()} == {
        group: set(names) for group, names in FACT_NAMES.items()
    }


def test_rules_are_listed_and_shown(capsys: pytest.CaptureFixture[str]) -> None:
    from bmslint.judge.pack import load_pack

    assert main(["rules"]) == 0
    listed = capsys.readouterr().out
    pack = load_pack()
    for rule in pack.rules:
        assert f"{rule.severity:<6}  {rule.title}\n" in listed
    assert main(["rules", "cold-inhibit-missing"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("cold-inhibit-missing: Nothing stops charging in the cold\n\nSeverity: reject\n")
    assert main(["rules", "gone"]) == 2
    assert capsys.readouterr() == ("", "bmslint: there is no rule 'gone'; `bmslint rules` lists them\n")


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert "protection" in schema["properties"]


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["judge"],
        ["check", "a", "--format", "xml"],
        ["check", "a", "--write", "xml=a"],
        ["check", "a", "--write", "json="],
        ["facts"],
        ["check", "--fail", "a"],
        ["check", "a", "--today", "2027-02-31"],
        ["check", "a", "--today", "20270331"],
        ["check", "a", "--today", "tomorrow"],
    ],
)
def test_bad_arguments_are_told_with_status_2(
    capsys: pytest.CaptureFixture[str], arguments: list[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    out, err = capsys.readouterr()
    assert (caught.value.code, out) == (2, "")
    assert err.startswith("usage: bmslint")


@pytest.mark.parametrize("command", ["check", "facts", "schema", "rules"])
def test_every_command_helps_with_an_example(capsys: pytest.CaptureFixture[str], command: str) -> None:
    with pytest.raises(SystemExit) as caught:
        main([command, "--help"])
    assert caught.value.code == 0
    assert f"example: bmslint {command}" in capsys.readouterr().out


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    """Hash seeds differ between processes, so an order that leaned on a set would show."""
    one, two = file(tmp_path, "1.yaml", REJECTED), file(tmp_path, "2.yaml", UNKNOWN)
    first = run("check", one, two, "--format", "json", env={**os.environ, "PYTHONHASHSEED": "1"})
    second = run("check", two, one, "--format", "json", env={**os.environ, "PYTHONHASHSEED": "2"})
    assert first.stdout == second.stdout
    assert (first.stderr, second.stderr) == (b"", b"")


def test_a_closed_pipe_and_an_interrupt_end_quietly(tmp_path: Path) -> None:
    name = file(tmp_path, "p.yaml", REJECTED)
    command = [sys.executable, "-m", "bmslint.cli", "check", name]
    reader, writer = os.pipe()
    os.close(reader)
    closed = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, timeout=60, check=False)
    os.close(writer)
    assert (closed.returncode, closed.stderr) == (141, b"")
    code = (
        "import os, signal, bmslint.cli as cli, bmslint.gate.find as find\n"
        # A run in the background inherits an ignored interrupt.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "find.find_settings = lambda *_: os.kill(os.getpid(), signal.SIGINT)\n"
        "raise SystemExit(cli.main(['check', 'x']))"
    )
    stopped = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60, check=False)
    assert (stopped.returncode, stopped.stdout, stopped.stderr) == (128 + signal.SIGINT, b"", b"")


def test_a_terminal_that_knows_only_ascii_gets_the_verdict(tmp_path: Path) -> None:
    text = REJECTED + 'title: "H\u00fctte \u2265 0 \u00b0C"\n'
    name = file(tmp_path, "h\u00fctte.yaml", text)
    told = run("check", name, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (told.returncode, told.stderr) == (1, b"")
    assert b"h\\xfctte.yaml" in told.stdout


def test_a_pack_that_cannot_be_used_stops_the_run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bmslint.judge import pack

    (tmp_path / "voltage").mkdir()
    (tmp_path / "voltage" / "broken.yaml").write_text("id: broken\n", encoding="utf-8")
    monkeypatch.setattr(pack, "rules_dir", lambda: tmp_path)
    assert main(["check", str(GOOD), "--format", "json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(
        "bmslint: the rules cannot be used, so nothing was judged\nvoltage/broken.yaml:1:1: "
    )


@pytest.mark.parametrize("command", ["check", "facts"])
def test_a_shipped_table_that_somebody_damaged_stops_the_run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    from bmslint import limits

    def damaged(_: object) -> None:
        raise limits.UnusableTable("lfp.yaml:3:1: expected a number, came text")

    monkeypatch.setattr(limits, "load_limits", damaged)
    assert main([command, str(GOOD)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "bmslint: the rules cannot be used, so nothing was judged\n"
        "lfp.yaml:3:1: expected a number, came text\n"
    )
