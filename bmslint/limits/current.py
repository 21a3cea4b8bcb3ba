"""The charge current a cell bears at a temperature."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, overload

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@overload
def allowed_current_A(charge_current: Sequence[Mapping[str, float]], temperature_degC: float) -> float: ...
@overload
def allowed_current_A(
    charge_current: Sequence[Mapping[str, float]], temperature_degC: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def allowed_current_A(
    charge_current: Sequence[Mapping[str, float]],
    temperature_degC: float | NDArray[np.float64],
) -> float | NDArray[np.float64]:
    """Give the charge current allowed at a temperature, a step function of it.

    A row holds from its own temperature up to, but not including, the next row's; below the first
    row nothing is allowed; the last row holds upwards without end, so a table that ends charging
    closes with a row of 0 A.

    Args:
        charge_current: rows of `from_degC` and `max_A`, rising in `from_degC`; `max_A` in A.
        temperature_degC: in degC, a number or an array of any shape.

    Returns:
        The allowed current in A, of the same shape as the temperature.
    """
    starts = [row["from_degC"] for row in charge_current]
    allowed = [0.0, *(row["max_A"] for row in charge_current)]
    if isinstance(temperature_degC, (int, float)):
        return float(allowed[bisect_right(starts, temperature_degC)])
    import numpy as np  # an array was handed in, so numpy is loaded already

    steps: NDArray[np.float64] = np.asarray(allowed, dtype=np.float64)[
        np.searchsorted(starts, temperature_degC, side="right")
    ]
    return steps
