"""`bmslint schema`: the JSON Schema of a settings file."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bmslint.commands.shared import OK

if TYPE_CHECKING:
    import argparse


def describe(parser: argparse.ArgumentParser) -> None:
    """Take no arguments."""


def run(options: argparse.Namespace) -> int:
    """Print the schema."""
    from bmslint.output.json import written
    from bmslint.settings.schema import json_schema

    sys.stdout.write(written(json_schema()))
    return OK
