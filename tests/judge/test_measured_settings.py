"""A measured warm-up as a settings file: rejected for the core at release, and not with its sensor moved.

Common practice, no source: when the sensor beside the film reads 5 degC and charging resumes, the probe
between the middle cells reads -4.3 degC. tests/physics/test_measured_case.py holds the model against it.
"""

from pathlib import Path

import pytest

from bmslint.judge.examples import patched
from bmslint.judge.finding import Finding
from bmslint.judge.judgement import judge_rules
from bmslint.judge.pack import load_pack
from bmslint.settings import read

CASE = read(Path(__file__).with_name("measured_case.yaml"))
RULE = "cold-release-before-core"
BETWEEN = {"protection.charge_cold.sensors": ["between"], "heater.sensors": ["between"]}


def of_the_core(changes: dict[str, object]) -> tuple[str, list[Finding]]:
    """What became of the rule, and its findings."""
    judgement = judge_rules(patched(CASE, changes, ()), load_pack())
    return judgement.outcomes[RULE].state, [each.finding for each in judgement.spoken if each.rule.id == RULE]


def test_the_settings_as_they_were_are_rejected_for_the_core() -> None:
    """The power is the one that meets the measured probe to 0.05 K; the coldest point lies inside a cell,
    up to 0.1 K deeper than the probe between two."""
    state, (finding,) = of_the_core({})
    assert state == "spoke"
    assert (finding.severity, finding.unfavourable_only, finding.limit) == ("reject", False, 0.0)
    assert finding.path == "protection.charge_cold.release_above_degC"
    assert finding.value == pytest.approx(-4.3, abs=0.15)


@pytest.mark.parametrize("power_W", [30, 60, 100])
def test_every_usual_film_is_rejected_with_the_sensor_beside_it(power_W: int) -> None:
    """The power was not recorded; films for a pack of this size have 30 to 100 W (common practice)."""
    state, findings = of_the_core({"heater.power_W": power_W})
    assert (state, [each.severity for each in findings]) == ("spoke", ["reject"])


@pytest.mark.parametrize("power_W", [30, 42, 60, 100])
def test_with_its_sensor_moved_between_the_cells_it_is_not(power_W: int) -> None:
    """Neither rejected nor up for review: it passes at the unfavourable end of the properties too."""
    assert of_the_core({**BETWEEN, "heater.power_W": power_W}) == ("passed", [])
