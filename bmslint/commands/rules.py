"""`bmslint rules`: the list of rules, or one of them."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bmslint.commands.shared import OK, UNUSABLE, load_rules, say, say_pack, take_rules

if TYPE_CHECKING:
    import argparse


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments."""
    parser.add_argument("rule", nargs="?", metavar="RULE", help="id of the rule to show")
    take_rules(parser)


def run(options: argparse.Namespace) -> int:
    """List the rules, or show one, retired ones too."""
    from bmslint.judge.faults import PackError
    from bmslint.judge.retired import load_retired
    from bmslint.output.rules import retired_text, rule_list, rule_text

    try:
        pack = load_rules(options)
        retired = load_retired({rule.id for rule in pack.rules})
    except PackError as error:
        return say_pack(error)
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
        say(f"bmslint: there is no rule {options.rule!r}; `bmslint rules` lists them")
        return UNUSABLE
    return OK
