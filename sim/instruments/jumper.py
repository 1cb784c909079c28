"""Fused jumper: two tips, a lead, a 15 A fuse between them, or a smaller one.

It proves a load side without the switch in the way. Its fuse opens above 1.35 times the rating, as
ISO 8820-3 fuses do. Caution: always fused; never feed a module's output, never an airbag circuit.
"""

from __future__ import annotations

from sim.parts.fuse import OPENING_FACTOR

RESISTANCE = 0.02  # ohm, lead and fuse; ours
RATING = 15.0  # A, unless another fuse is chosen
FUSE = RATING * 1.35  # A
#: Fuses that fit it, in A.
RATINGS = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0)


def limit(rating: float) -> float:
    """Return the steady current in A that opens a fuse of this rating in A."""
    return rating * OPENING_FACTOR
