"""Left against right: the same reading on the side that works.

Two parts are a pair where the circuit has effects of the same name but for left and right, such as
``left dipped beam glows`` of one lamp and ``right dipped beam glows`` of the other.
"""

from __future__ import annotations

from dataclasses import replace

from sim.action import Action
from sim.circuit import Circuit

SIDES = {"left": "right", "right": "left"}


def opposite(circuit: Circuit, action: Action) -> Action | None:
    """Return the same reading on the other side; None where a vehicle has no other side of it."""
    pairs = _pairs(circuit)
    other = replace(action, red=_crossed(pairs, action.red), black=_crossed(pairs, action.black))
    return None if other == action else other


def _pairs(circuit: Circuit) -> dict[str, str]:
    """Return part -> the part of the same kind on the other side."""
    found = {}
    for name, effect in circuit.effects.items():
        other = " ".join(SIDES.get(word, word) for word in name.split())
        if other != name and other in circuit.effects:
            found[effect.part] = circuit.effects[other].part
    return found


def _crossed(pairs: dict[str, str], point: str) -> str:
    part, dot, terminal = point.partition(".")
    return f"{pairs.get(part, part)}{dot}{terminal}"
