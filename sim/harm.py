"""What lasts: limits exceeded by an instrument -> damage that stays until the part is replaced.

Fuses have a state of their own in the solver. Everything else that can be killed is listed here by
the kind of part: an electronic switch that carries more than it stands while a jumper, a lamp, a
meter or a load feeds it is dead afterwards, an exact open. What the driver's controls bring about
is the fault's own deed and no harm.

A part with ``restraint: yes`` (air bag, belt tensioner) is harmed by any source of current on its
wires, however small: an ohmmeter's is above what some makers allow (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit
from sim.network import Floats, Network, owner_of
from sim.parts.family import Element
from sim.solver.steady import Solution

#: Kinds of part that switch electronically; their switch is the element ``PART switch...``.
ELECTRONIC = ("low side driver", "high side driver")
STANDS = "stands"  # parameter that says what the switch stands, in A; without it, what drops
MOST_DROP = 0.5  # V across its resistance: 10 A for 50 mohm; ours

Damage = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Limit:
    """What an element of a part stands: most amperes either way."""

    part: str
    element: int
    amps: float


def limits(circuit: Circuit, network: Network) -> tuple[Limit, ...]:
    """Return the limits of every output in a circuit; none where no part has one."""
    found = []
    for number, element in enumerate(network.elements):
        part = circuit.parts.get(owner_of(element))
        if part is None or part.kind not in ELECTRONIC or not _is_switch(element):
            continue
        amps = part.number(STANDS) if STANDS in part.values else MOST_DROP * element.conductance
        if amps > 0.0:
            found.append(Limit(part.name, number, amps))
    return tuple(found)


def _is_switch(element: Element) -> bool:
    return element.name.partition(" ")[2].startswith("switch")


def exceeded(stands: Sequence[Limit], solution: Solution) -> Damage:
    """Return for every lane the parts whose limit a solution exceeds."""
    over = [
        (limit.part, np.abs(solution.current[:, limit.element]) > limit.amps) for limit in stands
    ]
    lanes = range(len(solution.current))
    return tuple(tuple(part for part, lost in over if lost[lane]) for lane in lanes)


def joined(before: Damage, new: Damage) -> Damage:
    """Return old and new damage together, lane by lane, each once and in order."""
    if not any(new):
        return before
    old = before or ((),) * len(new)
    return tuple(
        tuple(dict.fromkeys((*first, *second))) for first, second in zip(old, new, strict=True)
    )


def lasting(damage: Damage, whole: Collection[str]) -> Damage:
    """Return damage without what a whole part stands in place of."""
    return tuple(tuple(name for name in lost if name not in whole) for lost in damage)


def damaged_rows(network: Network, rows: Floats, damage: Damage) -> Floats:
    """Return rows (V, E, ...) with the outputs of damaged parts open for good."""
    if not any(damage):
        return rows
    rows = rows.copy()
    for lane, parts in enumerate(damage):
        for number, element in enumerate(network.elements):
            if owner_of(element) in parts and _is_switch(element):
                rows[lane, number, 0] = 0.0
    return rows


def words(name: str) -> str:
    """Return what the student is told of a piece of lasting damage."""
    return name if " " in name else f"{name}: the output is dead"
