"""The directions that a comparison tells agree with the moves that add no finding."""

import json

import pytest
from test_conservative import FILES, MOVES, file

from bmslint.gate.changes import changed_settings
from bmslint.settings import read_text
from bmslint.settings.paths import copied

DEPENDS = {
    "a further sensor between the middle cells": {
        "charge_current.sensors": "depends",  # a lower reading allows more in the heat, as a table may say
        "sensors.added": "depends",
        "protection.charge_cold.sensors": "safer",
    }
}


@pytest.mark.parametrize("move", MOVES)
def test_a_careful_move_is_told_as_safer(move: str) -> None:
    told: dict[str, dict[str, str]] = {}
    for name in FILES:
        data = copied(file(name).tree.data)
        try:
            MOVES[move].change(data, 0.5)
        except KeyError:
            continue  # the file has not what would be moved
        changed = changed_settings(file(name), read_text(json.dumps(data), name))
        told[name] = {each.path: each.direction for each in changed}
    assert len(told) > 3
    for name, directions in told.items():
        expected = DEPENDS.get(move) or dict.fromkeys(directions, "safer")
        assert directions, name
        assert directions == expected, name
