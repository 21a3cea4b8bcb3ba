"""The heat of the charge current after release, held against a network that makes it place by place.

Source: the sparse network of `eighth_pack.py` with Joule's heat by each volume's own resistance, stepped by
scipy's BDF. The facts take one heat for all cells, at their mean temperature: the coldest places make more
than that and so warm a little sooner, which leaves the facts on the safe side.
"""

from dataclasses import replace

import pytest
from eighth_pack import Eighth, Told, charge_on

EARLY = Told(release_degC=8.0, steps=((0, 10), (5, 20), (10, 30)))
WEAK = Told(release_degC=5.0, steps=((0, 30),), power_W=30)
IN_AIR = Told(power_W=None, air_degC=25.0, release_degC=4, steps=((0, 20), (10, 45)))
FAST = Told(power_W=None, air_degC=10.0, inhibit_degC=-15, release_degC=-6, steps=((-15, 100),))


@pytest.mark.parametrize(
    ("told", "milliohm"),
    [(EARLY, 2.0), (WEAK, 2.0), (IN_AIR, 2.0), (FAST, 2.0), (FAST, 0.2)],
    ids=["end face, early", "weak film", "in warm air", "one hour's current", "one hour's current, 0.2 mohm"],
)
def test_charge_below_the_limit_is_never_told_too_small(told: Told, milliohm: float) -> None:
    """Without the heat facts and network agree within 1 %; a heat alike everywhere adds up to 10 % here."""
    told = replace(told, resistance_ohm=milliohm / 1e3)
    network = Eighth(told)
    passed = charge_on(network, network.released()[0])
    group = told.facts().groups["ambient_warmup" if told.power_W is None else "heated_warmup"]
    below, above, excess = (
        group[name].value  # type: ignore[union-attr]
        for name in ("below_limit_Ah", "above_allowed_Ah", "excess_current_A")
    )
    assert 0.99 <= below / passed.below_limit_Ah <= 1.12
    assert 0.99 <= above / passed.above_allowed_Ah <= 1.12
    assert excess >= passed.excess_A
