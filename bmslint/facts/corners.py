"""Which corners of the properties' ranges a warm-up is run at, and how the runs become ranges.

Which end of a property is unfavourable differs from fact to fact and from pack to pack: a sensor under the
film and one between the cells want the opposite. So several corners are run, and the end of a range that
is unfavourable is the worst of them; tests/facts/test_ranges.py holds that of four packs, for at least 99 %
of property sets drawn from the whole ranges.

Validity: where a fact's extreme lies at a corner that is run: tried on drawn property sets, not proved.
Source: our own.
"""

from collections.abc import Sequence
from typing import Literal

from bmslint.facts.inputs import Inputs, LackingError, Side
from bmslint.facts.names import unit_of
from bmslint.facts.pack import NOMINAL, Corner
from bmslint.facts.quantity import Group, Missing, Quantity, Ranged, Value

Result = dict[str, Value | LackingError]

_OTHER: dict[Side, Side] = {"low": "high", "high": "low", "value": "value"}


def _corner(name: str, conduction: Side, power: Side, reading: Side, heat: Side, loss: Side) -> Corner:
    """Give a corner by what goes together.

    Poor conduction inside goes with poor contacts; a sensor that reads high with one that is quick and
    close to the film.
    """
    return Corner(
        name, through=conduction, along=conduction, contact=_OTHER[conduction], specific_heat=heat,
        film_contact=_OTHER[conduction], power=power, loss=loss, coupling=reading, lag=_OTHER[reading],
        reading=reading,
    )  # fmt: skip


AHEAD = _corner("outside ahead, read high", "low", "high", "high", "low", "high")
SLOW = _corner("poor conduction, weak film, read low", "low", "low", "low", "high", "high")
HOT = _corner("poor conduction, strong film, well insulated, read low", "low", "high", "low", "high", "low")
LATE = _corner("good conduction, weak film, read low", "high", "low", "low", "high", "low")
EVEN = _corner("good conduction, weak film, read high", "high", "low", "high", "high", "low")

HEATED, AMBIENT = (NOMINAL, AHEAD, SLOW, HOT, LATE, EVEN), (NOMINAL, AHEAD, HOT, EVEN)
"""Corners that a judgement rests on, the nominal run first."""
FOLLOWED = (NOMINAL, AHEAD, SLOW, HOT)
"""Those of them in which the current is followed after release."""
FAVOURABLE = (
    _corner("outside ahead, well insulated", "low", "high", "high", "low", "low"),
    _corner("poor conduction, strong film, badly insulated, read low", "low", "high", "low", "low", "high"),
    _corner("all quick", "high", "high", "high", "low", "low"),
    _corner("even, read high", "high", "low", "high", "low", "high"),
)
"""Corners that only the favourable end of a range needs."""

Worse = Literal["low", "high"] | None
# Which end of each range is unfavourable.
WORSE: dict[str, Worse] = {
    "heater_starts": "low", "releases": "low", "time_to_release_min": "high",
    "reading_at_release_degC": None, "coldest_at_release_degC": "low", "hottest_at_release_degC": "high",
    "mean_at_release_degC": None, "spread_at_release_K": "high", "below_limit_Ah": "high",
    "coldest_cell_at_release_degC": "low", "hottest_cell_at_release_degC": "high",
    "current_at_release_A": "high",
    "above_allowed_Ah": "high", "excess_current_A": "high", "coldest_warm_after_min": "high",
    "safe_release_degC": "high", "safe_hold_s": "high", "energy_Wh": "high", "energy_share_pct": "high",
    "film_max_degC": "high", "surface_max_degC": "high", "heater_switches_per_h": None,
    "ceiling_reading_degC": "low",
}  # fmt: skip


def gather(group: str, results: Sequence[Result], favourable: Sequence[Result], inputs: Inputs) -> Group:
    """Join the runs at the corners into quantities with ranges.

    Args:
        group: the fact group.
        results: the runs that a judgement rests on, the nominal one first.
        favourable: further runs, which only widen the favourable end.
        inputs: what the runs were read from, for the basis.

    Returns:
        The facts of the group. The unfavourable end is the same with and without further runs.
    """
    facts: dict[str, Quantity | Missing] = {}
    assumed = tuple(sorted(inputs.assumed))
    for name, nominal in results[0].items():
        if isinstance(nominal, LackingError):
            facts[name] = Missing(nominal.paths, nominal.reason)
            continue
        low = high = nominal
        if not isinstance(nominal, str):
            worse = WORSE.get(name)
            low, high = _span(name, results)
            widest = _span(name, (*results, *favourable))
            low, high = low if worse == "low" else widest[0], high if worse == "high" else widest[1]
        facts[name] = Quantity(
            nominal, low, high, unit_of(group, name), inputs.basis, WORSE.get(name), assumed
        )
    runs = [
        {name: value for name, value in result.items() if not isinstance(value, LackingError)}
        for result in results
    ]
    return Ranged(facts, runs)


def _span(name: str, results: Sequence[Result]) -> tuple[Value, Value]:
    """Give the smallest and largest value over those runs in which the fact is defined."""
    values = [value for result in results if not isinstance(value := result[name], LackingError)]
    return min(values), max(values)
