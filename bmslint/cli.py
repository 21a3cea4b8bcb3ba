"""The commands: arguments in, library calls, one output out."""

from __future__ import annotations

import argparse
import gc
import io
import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bmslint import __version__

if TYPE_CHECKING:
    from datetime import date

    from bmslint.judge.finding import Verdict
    from bmslint.judge.pack import Pack
    from bmslint.settings import Problem

OK, FAILED, UNUSABLE, NOT_JUDGED = 0, 1, 2, 3
"""Exit status; where several hold for the files of a run, UNUSABLE before FAILED before NOT_JUDGED."""

INTERRUPTED, PIPE_CLOSED = 130, 141
"""Exit status after Ctrl-C and after the reader of a pipe went away, as shells give them."""

UNUSABLE_PACK = "bmslint: the rules cannot be used, so nothing was judged"

SUFFIXES = frozenset({".yaml", ".yml", ".json"})


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command.

    Args:
        arguments: what stands after the program's name; those of the process if left out.

    Returns:
        The exit status.
    """
    _replace_closed_streams()
    options = _parser().parse_args(arguments)
    _start_lightly()
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        status: int = options.run(options)
        sys.stdout.flush()
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        _drop_output()
        return PIPE_CLOSED
    except OSError as error:
        _drop_output()
        _say(f"bmslint: cannot use {error.filename or 'standard output'}: {error.strerror}")
        return UNUSABLE
    finally:
        gc.enable()
    return status


def _replace_closed_streams() -> None:
    """Give a stream that was closed by whoever started the program somewhere to write to.

    What a closed standard error would have shown must not end up in the verdicts, where `print` puts it.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115


def _drop_output() -> None:
    """Let what is still to be written go nowhere, so that it is not tried again on the way out."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _start_lightly() -> None:
    """Leave out what start-up pays for and a command does not need.

    Measured over 30 alternating runs of one check on two shared cores: without the collector's looks
    at what imports leave behind 11 % less time, without the threads that numpy's linear algebra
    starts (the matrices here are small) 13 % less, together 14 %.
    """
    gc.disable()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bmslint",
        description="Judge the protection settings of a lithium battery pack before they are flashed.",
    )
    parser.add_argument("--version", action="version", version=f"bmslint {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    check = _command(
        commands,
        "check",
        "judge settings files, or every settings file of a folder",
        "bmslint check profiles/ --format json --output verdicts.json",
    )
    check.add_argument("files", nargs="+", metavar="FILE", help="settings file, or folder to search")
    check.add_argument("--format", choices=("text", "json"), default="text", help="form of the verdicts")
    check.add_argument("--output", metavar="FILE", type=Path, help="write there and not to standard output")
    check.add_argument(
        "--fail-on",
        choices=("reject", "review", "note"),
        default="reject",
        help="least severity that gives exit status 1 (default: reject)",
    )
    check.add_argument(
        "--today",
        metavar="YEAR-MONTH-DAY",
        type=_day,
        help="day that dates under `accepted` are held against (default: this computer's, in UTC)",
    )
    check.add_argument(
        "--allow-accepted-rejects",
        action="store_true",
        help="do not count findings `reject` that a person took on under `accepted`; the verdict says so",
    )
    _take_rules(check)
    check.set_defaults(run=_check)

    facts = _command(
        commands,
        "facts",
        "show every quantity derived from a settings file",
        "bmslint facts pack.yaml --format json",
    )
    facts.add_argument("file", metavar="FILE", help="settings file")
    facts.add_argument("--format", choices=("text", "json"), default="text", help="form of the facts")
    facts.set_defaults(run=_facts)

    schema = _command(
        commands,
        "schema",
        "print the JSON Schema of a settings file",
        "bmslint schema > settings.schema.json",
    )
    schema.set_defaults(run=_schema)

    rules = _command(commands, "rules", "list the rules, or show one", "bmslint rules cold-inhibit-missing")
    rules.add_argument("rule", nargs="?", metavar="RULE", help="id of the rule to show")
    _take_rules(rules)
    rules.set_defaults(run=_rules)
    return parser


def _take_rules(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--rules",
        metavar="DIR",
        type=Path,
        action="append",
        default=[],
        help="folder with rules of your own and changes of others; may be given again",
    )
    command.add_argument(
        "--installed-rules", action="store_true", help="use the rules that installed packages offer, too"
    )


def _day(text: str) -> date:
    import re
    from datetime import date

    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(f"{text!r} is no day; write it as in 2027-03-31")


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, does: str, example: str
) -> argparse.ArgumentParser:
    return commands.add_parser(
        name, help=does, description=f"{does[0].upper()}{does[1:]}.", epilog=f"example: {example}"
    )


def _say(*lines: str) -> None:
    for line in lines:
        print(line, file=sys.stderr)


def _check(options: argparse.Namespace) -> int:
    from bmslint.settings import read

    paths = settings_files(options.files)
    if not paths:
        _say("bmslint: no settings file found; a settings file has a line that begins with `format:`")
        return NOT_JUDGED
    if options.output is not None and _is_among(options.output, paths):
        _say(f"bmslint: {options.output} is judged and would be written over; name another file for --output")
        return UNUSABLE
    pack = _pack(options)
    if pack is None:
        return UNUSABLE
    from bmslint.judge.entries import utc_today
    from bmslint.judge.faults import PackError
    from bmslint.judge.judge import judge
    from bmslint.limits import UnusableTable

    if len(paths) > 1:
        gc.enable()
    try:
        today = options.today or utc_today()
        allowed = options.allow_accepted_rejects
        verdicts = [judge(read(path), pack, today=today, allow_accepted_rejects=allowed) for path in paths]
    except (PackError, UnusableTable) as error:
        _say_pack(error)
        return UNUSABLE
    try:
        _write(verdicts, pack, options.format, options.output)
    except OSError as error:
        if options.output is None:
            raise
        _say(f"bmslint: cannot write {options.output}: {error.strerror}")
        return UNUSABLE
    return max((_status(each, options.fail_on) for each in verdicts), key=_weight)


def _is_among(file: Path, paths: Sequence[Path]) -> bool:
    return file.exists() and any(path.exists() and path.samefile(file) for path in paths)


def _weight(status: int) -> int:
    return (OK, NOT_JUDGED, FAILED, UNUSABLE).index(status)


def _status(verdict: Verdict, fail_on: str) -> int:
    from bmslint.judge.finding import SEVERITIES

    counted = SEVERITIES[: SEVERITIES.index(fail_on) + 1]
    if verdict.word == "unusable":
        return UNUSABLE
    if any(finding.severity in counted for finding in verdict.findings):
        return FAILED
    return NOT_JUDGED if any(each.severity == "reject" for each in verdict.not_judged) else OK


def _pack(options: argparse.Namespace) -> Pack | None:
    from bmslint.judge.faults import PackError
    from bmslint.judge.pack import load_pack

    try:
        return load_pack(own=options.rules, installed=options.installed_rules)
    except PackError as error:
        _say_pack(error)
        return None


def _say_pack(error: Exception) -> None:
    from bmslint.judge.template import visible

    _say(UNUSABLE_PACK, *map(visible, str(error).split("\n")))


def settings_files(names: Sequence[str]) -> list[Path]:
    """Find the settings files among files and folders.

    Args:
        names: files, taken as they are, and folders, searched with everything below them for YAML and
            JSON files that say the settings format.

    Returns:
        Each file once, sorted.
    """
    found: set[Path] = set()
    for name in names:
        path = Path(name)
        if path.is_dir():
            found |= {each for each in path.rglob("*") if each.suffix in SUFFIXES and _is_settings(each)}
        else:
            found.add(path)
    return sorted(found)


def _is_settings(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(65536)
    except OSError:
        return False
    return any(
        line.lstrip(b"\xef\xbb\xbf{ \t").startswith((b"format:", b'"format"')) for line in head.splitlines()
    )


def _write(verdicts: Sequence[Verdict], pack: Pack, form: str, output: Path | None) -> None:
    if form == "json":
        from bmslint.output.json import check_json

        text = check_json(verdicts, pack)
    else:
        from bmslint.output.text import write_check

        if output is None:
            write_check(verdicts, sys.stdout, own=pack.own)
            return
        page = io.StringIO()
        write_check(verdicts, page, own=pack.own)
        text = page.getvalue()
    if output is None:
        sys.stdout.write(text)
    else:
        from bmslint.output.files import replace_file

        replace_file(output, text)


def _facts(options: argparse.Namespace) -> int:
    from bmslint.settings import read

    document = read(options.file)
    if document.problems:
        return _say_problems(document.problems)
    from bmslint.judge.judgement import derive_facts
    from bmslint.judge.unusable import unknown_chemistry
    from bmslint.limits import UnknownChemistry, UnusableTable
    from bmslint.output.facts import facts_json, facts_text

    try:
        facts = derive_facts(document)
    except UnknownChemistry as error:
        return _say_problems([unknown_chemistry(document, error)])
    except UnusableTable as error:
        _say(UNUSABLE_PACK, str(error))
        return UNUSABLE
    if options.format == "json":
        sys.stdout.write(facts_json(facts, document.file))
    else:
        sys.stdout.write(facts_text(facts, document.file, shutil.get_terminal_size().columns))
    return OK


def _say_problems(problems: Sequence[Problem]) -> int:
    from bmslint.judge.template import visible

    for each in problems:
        _say(visible(f"{each.file}:{each.line}:{each.column}: {each.message}"))
    return UNUSABLE


def _schema(options: argparse.Namespace) -> int:
    from bmslint.output.json import written
    from bmslint.settings.schema import json_schema

    sys.stdout.write(written(json_schema()))
    return OK


def _rules(options: argparse.Namespace) -> int:
    from bmslint.judge.faults import PackError
    from bmslint.judge.retired import load_retired
    from bmslint.output.rules import retired_text, rule_list, rule_text

    pack = _pack(options)
    if pack is None:
        return UNUSABLE
    try:
        retired = load_retired({rule.id for rule in pack.rules})
    except PackError as error:
        _say_pack(error)
        return UNUSABLE
    if options.rule is None:
        sys.stdout.write(rule_list(pack, retired))
        return OK
    rule = pack.rule(options.rule)
    gone = next((each for each in retired if each.id == options.rule), None)
    if rule is not None:
        sys.stdout.write(rule_text(rule))
    elif gone is not None:
        sys.stdout.write(retired_text(gone))
    else:
        _say(f"bmslint: there is no rule {options.rule!r}; `bmslint rules` lists them")
        return UNUSABLE
    return OK


if __name__ == "__main__":
    sys.exit(main())
