"""Round cells standing side by side: what they conduct together, and how much hotter each is inside."""

from __future__ import annotations

import math

SQUARE_FILL = math.pi / 4
"""Share of its square box that a round cell fills."""


def square_array_W_per_mK(cell_W_per_mK: float, filling_W_per_mK: float, fill: float = SQUARE_FILL) -> float:
    """Give the conductivity across a square array of round cells.

    Args:
        cell_W_per_mK: radial conductivity of a cell, W/(m K), above 0.
        filling_W_per_mK: conductivity of what fills the room between them, W/(m K), above 0.
        fill: share of the area that the cells take, dimensionless, 0 to pi/4, where they touch.

    Returns:
        Conductivity of the array at right angles to the cells, W/(m K).

    Raises:
        ValueError: A conductivity is not above 0, or the fill is outside 0 to pi/4.

    Validity: perfect contact between a cell and the filling. Where cells touch it gives too little, by
        2 % for cells that conduct 7 times as well as the filling, 4 % for 10 times, half for 100 times;
        sleeves and holders, which keep real cells apart, take away most of that.
    Source: W. T. Perrins, D. R. McKenzie and R. C. McPhedran, Transport properties of regular arrays
        of cylinders, Proc. R. Soc. Lond. A 369 (1979) 207-225, the closed formula for the square array
        (from memory; held against a solution of the unit cell in the tests), after Lord Rayleigh, Phil.
        Mag. 34 (1892) 481-502.
    """
    if not (cell_W_per_mK > 0 and filling_W_per_mK > 0 and 0 <= fill <= SQUARE_FILL * (1 + 1e-12)):
        raise ValueError(f"no array from {cell_W_per_mK} and {filling_W_per_mK} W/(m K) at a fill of {fill}")
    # As the inverse of the paper's quantity, which is a pole where both conduct alike.
    contrast = (filling_W_per_mK - cell_W_per_mK) / (filling_W_per_mK + cell_W_per_mK)
    fourth, eighth = fill**4, fill**8
    higher = 0.305827 * fourth * contrast / (1.0 - 1.402958 * eighth * contrast**2)
    share = 1.0 + contrast * (fill - higher - 0.013362 * eighth * contrast)
    return filling_W_per_mK * (1.0 - 2.0 * fill * contrast / share)


def radial_rise_K(heat_W_per_m3: float, radius_m: float, radial_W_per_mK: float) -> float:
    """Give how much hotter the axis of a round cell is than its skin, heat flowing out evenly around it.

    Args:
        heat_W_per_m3: heat made in the cell, W/m3.
        radius_m: its radius, m, 0 or more.
        radial_W_per_mK: its radial conductivity, W/(m K), above 0.

    Returns:
        Temperature of the axis less that of the skin, K.

    Raises:
        ValueError: A negative radius or a conductivity not above 0.

    Validity: steady, long cell, even heat; a run-up reaches it after about radius^2 / (5.8 diffusivity).
    Source: Carslaw and Jaeger, Conduction of Heat in Solids, section 7.2 (number from memory; it
        follows from one integration).
    """
    if not (radius_m >= 0 and radial_W_per_mK > 0):
        raise ValueError(f"no rise for a radius of {radius_m} m and {radial_W_per_mK} W/(m K)")
    return heat_W_per_m3 * radius_m**2 / (4.0 * radial_W_per_mK)
