"""Numbers are shown with the digits that their range deserves."""

import pytest

from bmslint.output.digits import decimals, rounded

# Particle Data Group, Review of Particle Physics, Phys. Rev. D 98 (2018) 030001, Introduction 5.3, as quoted
# in guidance for tables of measurements; the first three pairs are worked examples of such guidance.
PUBLISHED = [
    (0.279008, 0.0123261, "0.279"),
    (12.2135, 0.03215, "12.214"),
    (12.2135, 0.06515, "12.21"),
    # Its three ranges, by the words of the rule: two digits, one digit, up to 1000 and two digits.
    (8.27, 1.00, "8.3"),
    (8.27, 3.54, "8.3"),
    (8.27, 3.55, "8"),
    (8.27, 9.49, "8"),
    (82.7, 9.50, "83"),
    (8.271, 0.354, "8.27"),
    (8.271, 0.355, "8.3"),
    (8.271, 0.96, "8.3"),
]


@pytest.mark.parametrize(("value", "error", "shown"), PUBLISHED)
def test_the_rule_of_the_particle_data_group(value: float, error: float, shown: str) -> None:
    assert rounded(value, value - error, value + error) == shown
    assert rounded(-value, -value - error, error - value) == f"-{shown}"


def test_the_farther_end_counts() -> None:
    """Our own: the group's own rule for two unlike errors takes the narrower; a wide doubt must show here."""
    assert rounded(-13.9459, -14.6, -8.4) == "-14"
    assert rounded(-13.9459, -13.95, -13.9459) == "-13.946"


@pytest.mark.parametrize(
    ("value", "low", "high", "shown"),
    [
        (4.0, 0.0, 70.0, "4"),  # three digits before the point are always told
        (0.004, 0.0, 90.0, "0"),
        (0.0, 0.0, 0.0, "0"),
        (0.0, -3.0, 0.0, "0.0"),
        (-0.0001, -0.5, 0.5, "0.0"),
        (153.91, 120.0, 220.0, "154"),
        (2153.91, 1120.0, 3220.0, "2150"),
        (48.5, 44.0, 56.0, "49"),
        (1234.5678, 1234.5678, 1234.5678, "1235"),
        (3.65, 3.65, 3.65, "3.65"),
        (5.0, 5.0, 5.0, "5"),
        (12.34567, 12.345669, 12.345671, "12.346"),  # never more than three decimals
        (80000.0, 80000.0, 80000.0, "80000"),
    ],
)
def test_bounds_of_our_own(value: float, low: float, high: float, shown: str) -> None:
    assert rounded(value, low, high) == shown


@pytest.mark.parametrize(
    ("value", "limit", "shown"),
    [
        (-0.3, 0.0, "-0.3"),
        (-0.02, 0.0, "-0.02"),
        (3.651, 3.65, "3.651"),
        (0.0, 0.0, "0"),
        (-14.2, 0.0, "-14"),
    ],
)
def test_what_differs_from_its_limit_is_shown_to_differ(value: float, limit: float, shown: str) -> None:
    assert rounded(value, value - 5.0, value + 5.0, apart_from=limit) == shown


def test_decimals_below_nought_are_places_before_the_point() -> None:
    assert decimals(2153.91, 1120.0, 3220.0) == -1
    assert decimals(153.91, 153.0, 155.0) == 1


def test_the_most_decimals_give_way_to_a_limit_only() -> None:
    assert rounded(5.000150, 5.000149, 5.000151, bounds=(-99, 1)) == "5.0"
    assert rounded(-0.004, -0.004, -0.004, apart_from=0.0, bounds=(-99, 1)) == "-0.004"


def test_the_fewest_decimals_stand_against_any_range() -> None:
    assert rounded(3.6489, 3.6, 6.3, bounds=(2, 3)) == "3.65"
