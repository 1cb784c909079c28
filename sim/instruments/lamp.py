"""Test lamp: a real filament of 12 V 5 W between two points; a load, unlike a meter.

Shows `dark`, `dim` or `bright`; taken as dark under 5 % and bright from 60 % of its nominal power
(ours: what an eye tells apart in a workshop).

Caution: never on airbag or belt-tensioner circuits, and not on the outputs of control modules.
"""

from __future__ import annotations

from sim.parts.lamp import filament_shape

VOLTAGE, POWER = 12.0, 5.0
DARK, BRIGHT = 0.05, 0.6
SHAPE = filament_shape(VOLTAGE, POWER)


def glow(power_share: float) -> str:
    """Return what the eye says of a lamp at this share of its nominal power."""
    if power_share < DARK:
        return "dark"
    return "bright" if power_share >= BRIGHT else "dim"
