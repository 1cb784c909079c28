"""Copper wire: cross-section, length and temperature give ohms.

``R20 = l / (58 m/(ohm mm2) A)``, the standard annealed copper of IEC 60028, and ``R(T) = R20 (1 +
0.00393 (T - 20))`` (same standard). American wire gauge n: diameter ``0.127 mm x 92^((36 - n) /
39)`` (ASTM B258, from memory).
"""

from __future__ import annotations

import math

from sim.circuit import AMBIENT

CONDUCTIVITY = 58e6  # S/m, IEC 60028
COEFFICIENT = 0.00393  # 1/K at 20 degC, IEC 60028


def wire_resistance(area: float, length: float, temperature: float = AMBIENT) -> float:
    """Return the resistance in ohm of a copper wire; area in m2, length in m, degC."""
    return length / (CONDUCTIVITY * area) * (1 + COEFFICIENT * (temperature - AMBIENT))


def gauge_area(gauge: int) -> float:
    """Return the cross-section in m2 of American wire gauge `gauge`: 0 for 1/0, -1 for 2/0."""
    diameter = 0.127e-3 * 92 ** ((36 - gauge) / 39)
    return float(math.pi / 4 * diameter**2)
