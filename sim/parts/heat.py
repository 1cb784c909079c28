"""How hot a bad joint gets, and what hand, nose and eyes make of it.

Steady state: the watts lost in the joint leave it by natural convection, ``P = G dT^(5/4)``
(laminar natural convection, McAdams, Heat Transmission; exponent from memory), so ``dT = (P /
G)^(4/5)``. G is ours: chosen so that 2.5 W make 40 K, a terminal in its housing with its wire.
The joint gets there exponentially, with a time constant of one minute (ours).

What is noticed at which temperature is common practice, no source, except that polyamide 66, of
which connector housings are made, melts at about 260 degC (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.circuit import AMBIENT

RISE, AT_WATTS = 40.0, 2.5  # K for W, ours
EXPONENT = 1.25
LOSS = AT_WATTS / RISE**EXPONENT  # W/K^1.25
TIME_CONSTANT = 60.0  # s, ours
WARM, HOT, SMELLS, BROWNS, MELTS = 35.0, 55.0, 110.0, 140.0, 260.0  # degC


@dataclass(frozen=True, slots=True)
class Heat:
    """What is noticed of a joint: by the hand, the nose and the eyes; empty for nothing."""

    temperature: float
    hand: str
    nose: str
    eyes: str


def joint_rise(watts: float) -> float:
    """Return the steady temperature rise in K of a joint that turns watts (0 or more) into heat."""
    return math.pow(watts / LOSS, 1.0 / EXPONENT)


def rise_after(watts: float, seconds: float) -> float:
    """Return the temperature rise in K of a joint that has been loaded for so long."""
    return joint_rise(watts) * -math.expm1(-seconds / TIME_CONSTANT)


def joint_heat(watts: float, seconds: float = math.inf, ambient: float = AMBIENT) -> Heat:
    """Return what is noticed of a joint that has turned watts into heat for so long.

    Browning stays for good; the temperature is in degC, as is the ambient one.
    """
    return heat_at(ambient + rise_after(watts, seconds))


def heat_at(temperature: float) -> Heat:
    """Return what is noticed of a joint at a temperature in degC."""
    hand = "hot" if temperature >= HOT else "warm" if temperature >= WARM else ""
    nose = "smells of hot plastic" if temperature >= SMELLS else ""
    eyes = "browned" if temperature >= BROWNS else ""
    if temperature >= MELTS:
        eyes = "melted"
    return Heat(temperature, hand, nose, eyes)
