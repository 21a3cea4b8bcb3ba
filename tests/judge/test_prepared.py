"""Rules kept as they were read before are those of the rule files, and so is what was compiled."""

import json
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from bmslint.data import rules_dir
from bmslint.judge import engine
from bmslint.judge.pack import load_pack, rule_files
from bmslint.judge.prepared import PREPARED, key_of, prepare, prepared, prepared_rule
from bmslint.judge.read import read_rule
from bmslint.judge.rule import Faults, build_rule

FILES = rule_files(rules_dir())


def test_what_is_prepared_is_current() -> None:
    """If this fails: `python -m bmslint.judge.prepared`."""
    assert PREPARED.read_text(encoding="utf-8") == prepare()


def test_a_prepared_rule_is_what_its_file_gives() -> None:
    for path in FILES:
        content, family, faults = path.read_bytes(), path.parent.name, Faults()
        document = read_rule(content, path.name)
        anew = build_rule(document.data, family, path.name, document.positions, faults)
        quick = prepared_rule(content, family, path.name)
        assert quick is not None
        assert quick[:-1] == anew[:-1]
        assert (dict(quick.positions), faults.found) == (dict(anew.positions), [])
        assert quick.place("says") == anew.place("says")


def test_a_changed_rule_is_read_again(tmp_path: Path) -> None:
    (tmp_path / "family").mkdir()
    alone = [path for path in FILES if b"\ncovers:" not in path.read_bytes()][:3]
    for path in alone:
        (tmp_path / "family" / path.name).write_bytes(path.read_bytes())
    known = load_pack(tmp_path)
    changed = tmp_path / "family" / alone[0].name
    content = changed.read_bytes().replace(b"title: ", b"title: Now ", 1)
    changed.write_bytes(content)
    again = load_pack(tmp_path)
    assert key_of(content) not in prepared().rules
    assert [rule.title for rule in again.rules] == [
        "Now " * (rule.id == alone[0].stem) + rule.title for rule in known.rules
    ]
    assert again.digest != known.digest


def test_expressions_are_kept_for_the_engine_that_is_installed() -> None:
    """Its version as the standard library tells it, which takes too long for a run."""
    assert engine.version() == f"cel_expr_python-{version('cel-expr-python')}"
    assert prepared().engine == engine.version()
    assert set(prepared().expressions) == {
        each.text for rule in load_pack().rules for each in rule.expressions().values()
    }


def test_what_was_compiled_is_what_the_text_gives() -> None:
    assert [
        text
        for text, form in prepared().expressions.items()
        if not engine.same_form(form, engine.kept_form(text))
    ] == []
    one, other = (engine.kept_form(f"facts.a {sign} 1.0") for sign in "<>")
    assert not engine.same_form(one, other)


@pytest.mark.parametrize("kept", ["of another engine", "refused", "no text of ours"])
def test_without_what_was_compiled_a_run_comes_to_the_same(kept: str, tmp_path: Path) -> None:
    left = prepared()._asdict()
    if kept == "of another engine":
        left["engine"] = "cel_expr_python-0.0.0"
    elif kept == "refused":
        left["expressions"] = dict.fromkeys(left["expressions"], "AAAA")
    else:
        left["expressions"] = dict.fromkeys(left["expressions"], "not base64 \N{EN DASH}")
    file = tmp_path / "prepared.json"
    file.write_text(json.dumps(left), encoding="utf-8")
    profile = rules_dir().parent / "profiles" / "failing" / "skin-decides.yaml"
    code = (
        "import sys; from pathlib import Path; import bmslint.judge.prepared as prepared\n"
        "prepared.PREPARED = Path(sys.argv[2] or prepared.PREPARED)\n"
        "from bmslint.cli import main; main(['check', '--format', 'json', sys.argv[1]])"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", code, str(profile), at], capture_output=True, text=True, check=True
        ).stdout
        for at in (str(file), "")
    ]
    assert told[0] == told[1]
    assert json.loads(told[0])["files"][0]["verdict"] == "rejected"


def test_a_check_parses_no_rule_file_and_compiles_nothing() -> None:
    profile = rules_dir().parent / "profiles" / "ridge-hut.yaml"
    code = (
        "import bmslint.judge.pack as pack, bmslint.judge.engine as engine\n"
        "def refuse(*_): raise SystemExit('a rule file was parsed, or an expression compiled')\n"
        "pack.read_rule = refuse\n"
        "class Engine:\n"
        "    def __init__(self, of): self.of = of\n"
        "    def __getattr__(self, name): return refuse if name == 'compile' else getattr(self.of, name)\n"
        "made = engine._environment()\n"
        "engine._environment = lambda: Engine(made)\n"
        f"from bmslint.cli import main; main(['check', {str(profile)!r}])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (told.returncode, told.stderr) == (0, "")
    assert " rules: " in told.stdout
