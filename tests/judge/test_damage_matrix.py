"""Every good profile with every named damage: exactly the stated rules speak, no more and no fewer."""

from collections.abc import Callable

import pytest
from damage_matrix import PROFILES, came, explained, profile, stated, undamaged
from damages import DAMAGES

MATRIX = stated()


@pytest.mark.parametrize("damage", DAMAGES)
def test_damage(damage: str, record_property: Callable[[str, object], None]) -> None:
    """A change of the rules changes cells: print the matrix anew, and review what differs."""
    cells = {stem: explained(came(damage, stem), MATRIX[damage].get(stem)) for stem in PROFILES}
    silent = [cell for cell in cells.values() if isinstance(cell, str)]
    record_property("count", ("damage matrix, cells", len(cells)))
    record_property("count", ("damage matrix, silent cells, each with its reason", len(silent)))
    assert cells == MATRIX[damage]


def test_every_cell_is_stated_and_no_silence_is_unexplained() -> None:
    assert {damage: sorted(cells) for damage, cells in MATRIX.items()} == dict.fromkeys(DAMAGES, PROFILES)
    reasons = {cell for cells in MATRIX.values() for cell in cells.values() if isinstance(cell, str)}
    assert {reason for reason in reasons if len(reason.split()) < 3} == set()
    assert sum(map(len, MATRIX.values())) >= 150


def test_every_damage_is_noticed_on_some_profile() -> None:
    """A rule speaks, or one can no longer judge, which is no pass either."""
    silent = {
        damage
        for damage, cells in MATRIX.items()
        if not any(
            line.startswith(("reject", "review", "refused", "unjudged"))
            for cell in cells.values()
            for line in cell
        )
    }
    assert silent == set()


def test_nothing_rejects_an_undamaged_profile(record_property: Callable[[str, object], None]) -> None:
    rejects = {
        (stem, each.rule.id)
        for stem in PROFILES
        for each in undamaged(stem).spoken
        if each.finding.severity == "reject"
    }
    record_property("count", ("rejects on good profiles", len(rejects)))
    assert [profile(stem).problems for stem in PROFILES] == [()] * len(PROFILES)
    assert rejects == set()
