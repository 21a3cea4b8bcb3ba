"""Rules kept as they were read before are those of the rule files."""

import subprocess
import sys

from bmslint.data import rules_dir
from bmslint.judge import expression, template
from bmslint.judge.engine import compiled
from bmslint.judge.pack import load_pack, rule_files
from bmslint.judge.prepared import PREPARED, key_of, prepare, prepared
from bmslint.judge.read import read_anew, read_rule


def test_prepared_rules_are_current() -> None:
    """If this fails: `python -m bmslint.judge.prepared`."""
    assert PREPARED.read_text(encoding="utf-8") == prepare()


def test_a_prepared_rule_is_what_its_file_gives() -> None:
    for path in rule_files(rules_dir()):
        content = path.read_bytes()
        quick, anew = read_rule(content, path.name), read_anew(content, path.name)
        assert (quick.data, quick.prepared, anew.prepared) == (anew.data, True, False)
        assert dict(quick.positions) == dict(anew.positions)
        assert quick.place("says") == anew.place("says")


def test_prepared_expressions_and_templates_are_what_their_texts_give() -> None:
    for text in prepared().expressions:
        assert expression.read_expression(text) == expression.read_anew(text)
    for text in prepared().templates:
        assert template.read_template(text) == template.read_anew(text)


def test_a_changed_rule_is_read_again() -> None:
    path = rule_files(rules_dir())[0]
    content = path.read_bytes().replace(b"title: ", b"title: Now ", 1)
    assert key_of(content) not in prepared().rules
    document = read_rule(content, path.name)
    assert (document.prepared, document.data["title"][:4]) == (False, "Now ")


def test_every_expression_of_a_prepared_rule_compiles() -> None:
    """A run leaves this out for them."""
    for rule in load_pack().rules:
        for part in (rule.applies, rule.require, rule.value, rule.limit, *(s.to for s in rule.suggest)):
            assert part is None or compiled(part.text) is not None


def test_a_check_parses_no_rule_file() -> None:
    code = (
        "import bmslint.judge.read as read\n"
        "def refuse(*_): raise SystemExit('a rule file was parsed')\n"
        "read.read_anew = refuse\n"
        "from bmslint.judge.pack import load_pack\n"
        "print(len(load_pack().rules) > 70)"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (told.returncode, told.stdout) == (0, "True\n")
