"""The step function of charge current by temperature."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bmslint.limits import allowed_current_A

ROWS = [
    {"from_degC": 0.0, "max_A": 23.0},
    {"from_degC": 10.0, "max_A": 69.0},
    {"from_degC": 45.0, "max_A": 46.0},
    {"from_degC": 55.0, "max_A": 0.0},
]


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        (-273.15, 0.0),
        (np.nextafter(0.0, -1.0), 0.0),
        (0.0, 23.0),
        (np.nextafter(10.0, 0.0), 23.0),
        (10.0, 69.0),
        (44.9, 69.0),
        (45.0, 46.0),
        (np.nextafter(55.0, 0.0), 46.0),
        (55.0, 0.0),
        (1e6, 0.0),
    ],
)
def test_at_just_below_and_on_each_step(at: float, expected: float) -> None:
    assert allowed_current_A(ROWS, float(at)) == expected


def test_a_table_that_does_not_end_goes_on() -> None:
    assert allowed_current_A(ROWS[:2], 300.0) == 69.0


def test_no_rows_allow_nothing() -> None:
    assert allowed_current_A([], 25.0) == 0.0
    assert allowed_current_A([], np.array([25.0])).tolist() == [0.0]


def test_an_array_keeps_its_shape() -> None:
    at = np.array([[-5.0, 0.0, 5.0], [10.0, 50.0, 60.0]])
    assert allowed_current_A(ROWS, at).tolist() == [[0.0, 23.0, 23.0], [69.0, 46.0, 0.0]]


@given(st.lists(st.floats(-300, 300), max_size=20))
def test_array_and_number_agree(at: list[float]) -> None:
    assert allowed_current_A(ROWS, np.array(at, dtype=float)).tolist() == [
        allowed_current_A(ROWS, t) for t in at
    ]
