"""Ring terminal under a nut: the joint of a starter's or an alternator's heavy cable.

A sound one has 0.2 mohm (0.1 V at 500 A would already be too much; common practice, no source).
It is undone with a spanner and not unplugged, so it stays when the part's plug comes apart.
"""

from __future__ import annotations

from sim.circuit import Part
from sim.parts.family import Element, Way, conductance

RING_RESISTANCE = 2e-4  # ohm, common practice, no source
LOOSE_RING = (0.02, 0.1)  # ohm, ours: 3 V and 10 V lost by a starter


def ring(part: Part, pin: str) -> Element:
    """Return the joint between the cable's ring ``PART.PIN`` and the part's own stud."""
    resistance = RING_RESISTANCE + (part.severity("high resistance", pin) or 0.0)
    siemens = 0.0 if part.has("open", pin) else conductance(resistance)
    name = f"{part.name}.{pin}"
    return Element(name, name, f"{name}b", siemens)


def ring_ways(pin: str, *, likelihood: float = 0.4) -> tuple[Way, ...]:
    """Return how a ring terminal fails: off its stud, or loose and corroded."""
    return (
        Way("open", pin, (), likelihood / 4, seen="a cable is off its stud"),
        Way("high resistance", pin, LOOSE_RING, likelihood),
    )
