"""What in a circuit merely conducts: wires, plugs, fuses, studs, contacts that can close.

Loads, coils, lamps, diodes and sources are no conductors, nor is anything else above 50 mohm (ours)
but a wire, which is one however long it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from sim.circuit import Circuit
from sim.network import circuit_elements, owner_of
from sim.parts import FAMILIES
from sim.parts.family import Element, Law, Trigger, Wave

LEAST = 20.0  # S
STIFF = 1.0  # S, from which an EMF counts as a supply and not as a signal; ours


@dataclass(frozen=True, slots=True)
class Branch:
    """An element with the part it belongs to."""

    part: str
    element: Element

    def other(self, point: str) -> str:
        """Return the point at the other end."""
        return self.element.b if point == self.element.a else self.element.a


def branches(circuit: Circuit) -> list[Branch]:
    """Return the elements of a healthy circuit that are in circuit, if only in some position.

    What is behind a diagnostic socket counts as if a scan tool were plugged in.
    """
    found = [Branch(owner_of(e), e) for e in circuit_elements(circuit)]
    return [b for b in found if b.part in circuit.parts and _is_there(b.element)]


def _is_there(element: Element) -> bool:
    return element.conductance > 0.0 or element.trigger is Trigger.TESTER


def conducts(circuit: Circuit, branch: Branch) -> bool:
    """Tell whether a branch merely conducts."""
    element, part = branch.element, circuit.parts[branch.part]
    if element.law not in {Law.LINEAR, Law.CONTACT, Law.FUSE} or element.emf != 0.0:
        return False
    load = FAMILIES[part.kind].load
    if load and element.name.endswith(load):
        return False
    return part.kind == "wire" or element.conductance >= LEAST


def stays(branch: Branch) -> bool:
    """Tell whether a branch is in circuit whatever the controls and relays do."""
    return not branch.element.positions and branch.element.law is not Law.CONTACT


def is_source(branch: Branch) -> bool:
    """Tell whether a branch brings an EMF about."""
    element = branch.element
    if element.motion.wave is Wave.SINE:
        return True
    return element.emf != 0.0 and element.law in {Law.LINEAR, Law.LIMITER}


def is_supply(branch: Branch) -> bool:
    """Tell whether a branch is a source that can feed loads."""
    return (
        is_source(branch)
        and branch.element.law is Law.LINEAR
        and (branch.element.conductance >= STIFF)
    )


def groups(ends: Iterable[tuple[str, str]]) -> Callable[[str], str]:
    """Return a function that names the group a point is in, for points tied by these pairs."""
    leader: dict[str, str] = {}

    def find(point: str) -> str:
        while leader.get(point, point) != point:
            point = leader[point]
        return point

    for a, b in ends:
        leader[find(a)] = find(b)
    return find


def way_between(tied: list[Branch], start: str, end: str) -> list[str]:
    """Return the parts on a shortest way from one point to another, in order; none if none."""
    came: dict[str, tuple[str, str]] = {start: ("", "")}
    queue = [start]
    while queue and end not in came:
        here = queue.pop(0)
        for branch in tied:
            if here in (branch.element.a, branch.element.b):
                there = branch.other(here)
                if there not in came:
                    came[there] = here, branch.part
                    queue.append(there)
    parts: list[str] = []
    while end in came and came[end][1]:
        end, part = came[end]
        parts.append(part)
    return list(dict.fromkeys(reversed(parts)))
