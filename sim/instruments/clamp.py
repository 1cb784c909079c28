"""Current clamp for DC: around one wire, without opening the circuit.

Range 600 A, resolution 0.1 A, +-(2 % + 2 counts), zeroed before use (ours; common practice, no
source).
"""

from __future__ import annotations

from sim.action import Reading
from sim.instruments.multimeter import Accuracy

SCALE = 600.0  # A
ACCURACY = Accuracy(0.02, 2)


def show_clamp(amps: float) -> Reading:
    """Return a current in A as displayed."""
    text = f"{amps:.1f}"
    return Reading(text.removeprefix("-") if float(text) == 0 else text, "A", "600")
