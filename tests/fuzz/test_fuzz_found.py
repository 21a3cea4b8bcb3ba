"""What the fuzz found, each as small as it could be made, so that it does not come back."""

from datetime import date

import pytest

from bmslint.judge.judge import judge
from bmslint.judge.pack import load_pack
from bmslint.settings import read_text

HEAD = "format: 1\npack: {chemistry: lfp, series: 4}\n"


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("charger: {bulk_V: 28.8}\nprotection: {cell_overvoltage: none}\n", "charger-above-cells"),
        (
            "protection: {cell_overvoltage: none, second_overvoltage: {trip_above_V: 4.5}}\n",
            "second-overvoltage-far-above-cell",
        ),
    ],
)
def test_a_way_out_that_builds_on_what_the_file_declares_as_none_is_not_offered(text: str, rule: str) -> None:
    """The whole run ended there, as if the rule were at fault."""
    verdict = judge(read_text(HEAD + text, "f"), load_pack(), today=date(2026, 7, 1))
    (finding,) = [each for each in verdict.findings if each.rule == rule]
    assert finding.suggest == ()
