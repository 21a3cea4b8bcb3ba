"""Charge over time, short-circuit current and what a fuse makes of it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

H_PER_DAY = 24.0
DAYS_PER_MONTH = 365.25 / 12.0


def prospective_A(volts: float, inside_ohm: float, outside_ohm: float) -> float:
    """Give the prospective current of a short circuit across a pack.

    Args:
        volts: Voltage of the pack at rest, V.
        inside_ohm: Resistance of its cells together, ohm, not negative.
        outside_ohm: Resistance of joints, cables and switches in the loop, ohm, above 0.

    Returns:
        Current, A, once the inductance of the loop has let it rise.

    Validity: milliseconds, before diffusion and heat raise the resistance. Within the first tenths of a
        millisecond the inductance of the loop, commonly 1 uH a metre, holds a real current below this.
    Source: Ohm's law; the term as in IEC 60269-1.
    """
    return volts / (inside_ohm + outside_ohm)


def let_through_A2s(current_A: float, seconds: float) -> float:
    """Give the current squared times time of a constant current.

    Args:
        current_A: Current, A.
        seconds: How long it flows, s.

    Returns:
        Joule integral, A2 s.

    Validity: constant current; for one that rises from nothing it is too high, which is the safe side.
    Source: definition of the Joule integral (I2t), as in IEC 60127-1 and IEC 60269-1.
    """
    return current_A * current_A * seconds


def melting_s(current_A: float, melting_A2s: float) -> float:
    """Give the time after which a fuse begins to melt.

    Args:
        current_A: Constant current, A, above 0.
        melting_A2s: Joule integral at which it begins to melt, A2 s.

    Returns:
        Pre-arcing time, s.

    Validity: about 10 ms and less, where no heat leaves the element; longer at lower currents.
    Source: definition of the pre-arcing Joule integral, as in IEC 60269-1.
    """
    return melting_A2s / (current_A * current_A)


def lasts_days(charge_Ah: float, draw_A: float, lost_Ah_per_day: float) -> float:
    """Give how long a charge lasts against a constant draw and self-discharge.

    Args:
        charge_Ah: Charge that may be drawn, A h, not negative.
        draw_A: Current that is drawn all the time, A, not negative.
        lost_Ah_per_day: Charge that the cells lose by themselves, A h a day, above 0.

    Returns:
        Time, days.

    Validity: constant draw; self-discharge in fact slows as a cell empties and cools.
    Source: charge is current times time.
    """
    return charge_Ah / (draw_A * H_PER_DAY + lost_Ah_per_day)


def charge_at(rest_V: float, charges: Sequence[float], volts: Sequence[float]) -> float:
    """Give the state of charge of a cell that rests at a voltage.

    Args:
        rest_V: Voltage at rest, V.
        charges: States of charge of the curve's points, 0 to 1, rising, shape (points,).
        volts: Voltage at rest at each of them, V, rising, shape (points,).

    Returns:
        State of charge, 0 to 1; straight between two points, the end's beyond.

    Validity: near empty and near full; on the flat part of a curve a voltage says little about charge.
    Source: definition; the inverse of `voltage.at_rest_V`.
    """
    above = bisect_right(volts, rest_V)
    if above == 0:
        return charges[0]
    if above == len(volts):
        return charges[-1]
    below = above - 1
    share = (rest_V - volts[below]) / (volts[above] - volts[below])
    return charges[below] + share * (charges[above] - charges[below])


def bleed_h(imbalance_Ah: float, bleed_A: float) -> float:
    """Give how long a bleed takes to take a surplus out of a cell.

    Args:
        imbalance_Ah: Charge that the cell holds above the others, A h.
        bleed_A: Current that is bled, A, above 0.

    Returns:
        Time of bleeding, h.

    Validity: constant current; a bleed by resistor falls with the voltage, which is a few per cent.
    Source: charge is current times time.
    """
    return imbalance_Ah / bleed_A
