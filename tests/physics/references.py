"""Exact solutions of heat conduction, written out from the literature and independent of bmslint.

Dimensionless throughout: Fo = a t / L^2, Bi = h L / k, position from 0 to 1.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Array = NDArray[np.float64]


def plane_wall_roots(biot: float, count: int) -> Array:
    """The first roots of z tan z = Bi, one in each interval ((n pi, n pi + pi / 2))."""

    def missing(z: float) -> float:
        return float(z * np.sin(z) - biot * np.cos(z))

    return np.array([brentq(missing, n * np.pi, n * np.pi + np.pi / 2, xtol=1e-14) for n in range(count)])


def plane_wall(biot: float, fourier: float, place: float, count: int = 200) -> float:
    """Excess over the surroundings, of a wall that started at 1; place 0 is its middle, 1 its surface.

    Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., section 3.11; Incropera and others,
    equation 5.42. Both by number from memory; the series follows from separation of variables.
    """
    z = plane_wall_roots(biot, count)
    weight = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
    return float(np.sum(weight * np.exp(-(z**2) * fourier) * np.cos(z * place)))


def plane_wall_mean(biot: float, fourier: float, count: int = 200) -> float:
    """Mean excess of the same wall over its thickness."""
    z = plane_wall_roots(biot, count)
    weight = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
    return float(np.sum(weight * np.exp(-(z**2) * fourier) * np.sin(z) / z))


def surface_step(fourier: float, place: float, count: int = 200) -> float:
    """Excess of a wall that started at 1 and whose surfaces are held at 0 (Carslaw and Jaeger 3.3)."""
    n = np.arange(count)
    z = (n + 0.5) * np.pi
    return float(np.sum(2 * (-1.0) ** n / z * np.exp(-(z**2) * fourier) * np.cos(z * place)))


def surface_step_mean(fourier: float, count: int = 200) -> float:
    """Mean excess of the same wall (Carslaw and Jaeger 3.4)."""
    z = (np.arange(count) + 0.5) * np.pi
    return float(np.sum(2 / z**2 * np.exp(-(z**2) * fourier)))


def constant_flux(fourier: float, place: float, count: int = 400) -> float:
    """Rise, in units of q L / k, of a wall heated on one side (place 1) and insulated on the other.

    Carslaw and Jaeger, section 3.8. Here L is the whole thickness of the wall. The sum over
    exp(-n^2 pi^2 Fo) converges at any Fo > 0.
    """
    n = np.arange(1, count)
    waves = (-1.0) ** n / n**2 * np.exp(-((n * np.pi) ** 2) * fourier) * np.cos(n * np.pi * place)
    return float(fourier + (3 * place**2 - 1) / 6 - 2 / np.pi**2 * np.sum(waves))


def cooling_block(seconds: float) -> tuple[float, float, float]:
    """Excess at the middle, the middle of a big face and a corner of the block that the tests share.

    72 x 174 x 204 mm, 0.9 / 19 / 19 W/(m K), 2130 kg/m3, 1020 J/(kg K), 10 W/(m2 K) on all six faces,
    1 K above the surroundings at the start; the product of three plane walls.
    """
    middle, surface = [], []
    for half, conductivity in ((0.036, 0.9), (0.087, 19.0), (0.102, 19.0)):
        biot = 10 * half / conductivity
        fourier = conductivity / (2130 * 1020) * seconds / half**2
        middle.append(plane_wall(biot, fourier, 0.0))
        surface.append(plane_wall(biot, fourier, 1.0))
    big_face = surface[0] * middle[1] * middle[2]
    return float(np.prod(middle)), big_face, float(np.prod(surface))
