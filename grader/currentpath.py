"""The way of the current through a solved circuit, and where along it the voltage is lost.

A way is followed in a reference solution, usually that of the sound vehicle: from a point, always
along the element that carries most, against the current up to a source and with it back to one.
On another solution of the same network the same way is then measured: Kirchhoff's voltage law says
that the losses along it add up to the source, so that a break, a burnt contact or a blown fuse is
where more is lost than on the sound vehicle. Nothing here knows what is being tested or why.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sim.circuit import BODY
from sim.network import INSTRUMENTS, Floats, Network, owner_of
from sim.solver.steady import Solution

#: A; less than any meter draws (1.2 uA), far more than what leaks in the solver (12 pA).
CARRIES = 1e-8
#: A; below it nothing flows that lights, turns or pulls in (ours).
FLOWS = 0.010
#: V more than on the sound vehicle, from which a loss explains a reading (ours).
EXCESS = 0.3


@dataclass(frozen=True, slots=True)
class Lane:
    """One variant's solution: its volts (N,) in V, currents (E,) in A and what has blown."""

    network: Network
    volts: Floats
    current: Floats
    blown: frozenset[str]

    @classmethod
    def of(cls, network: Network, solution: Solution, number: int) -> Lane:
        """Take one lane out of a batch."""
        names = np.array(network.fuse_names, dtype=object)
        blown = frozenset(names[solution.blown[number] == 1].tolist())
        return cls(network, solution.volts[number], solution.current[number], blown)


@dataclass(frozen=True, slots=True)
class Leg:
    """One element on a way, and the nodes before and behind it as the current runs."""

    element: int
    before: int
    behind: int


@dataclass(frozen=True, slots=True)
class Way:
    """A way of the current from a source back to it, or from lead to lead.

    `start` is the node it begins at; without legs nothing flows there.
    """

    network: Network
    start: int
    legs: tuple[Leg, ...]

    @property
    def nodes(self) -> tuple[int, ...]:
        """The nodes in the order in which the current passes them."""
        return (self.start, *(leg.behind for leg in self.legs))

    def position(self, point: str) -> int | None:
        """Return how many legs lie before a point; None if the way does not pass it."""
        nodes = [self.network.nodes[node] for node in self.nodes]
        return nodes.index(point) if point in nodes else None

    def owners(self, first: int = 0, last: int | None = None) -> tuple[str, ...]:
        """Return the parts that legs ``first:last`` belong to, each once, in order."""
        elements = (self.network.elements[leg.element] for leg in self.legs[first:last])
        return tuple(dict.fromkeys(owner_of(element) for element in elements))

    def losses(self, lane: Lane) -> Floats:
        """Return the volts lost in every leg on a lane, in V."""
        lost = [lane.volts[leg.before] - lane.volts[leg.behind] for leg in self.legs]
        return np.array(lost, dtype=np.float64)


def follow(
    lane: Lane, node: int, *, against: bool, until: Callable[[int], bool] | None = None
) -> tuple[Leg, ...]:
    """Follow the largest current from a node, with it or against it, up to a source.

    Parameters
    ----------
    lane : Lane
    node : int
    against : bool
        Against the current, towards where it comes from.
    until : function of a node, optional
        Where to stop before a source is reached.

    Returns
    -------
    tuple of Leg
        In the order in which the current passes them.
    """
    legs: list[Leg] = []
    seen = {node}
    while not (until and until(node)):
        leg = _strongest(lane, node, against=against)
        if leg is None:
            break
        node = leg.before if against else leg.behind
        if node in seen:
            break
        seen.add(node)
        legs.append(leg)
    return tuple(reversed(legs)) if against else tuple(legs)


def _strongest(lane: Lane, node: int, *, against: bool) -> Leg | None:
    """Return the leg with the largest current into a node (`against`), or out of it."""
    network, found, most = lane.network, None, CARRIES
    for number in np.flatnonzero((network.ends == node).any(axis=1)):
        element = network.elements[number]
        if element.emf != 0.0 or element in INSTRUMENTS:
            continue
        a, b = (int(end) for end in network.ends[number])
        amps = float(lane.current[number])
        leg = Leg(int(number), a, b) if amps > 0 else Leg(int(number), b, a)
        comes = leg.behind if against else leg.before
        if comes == node and abs(amps) > most:
            found, most = leg, abs(amps)
    return found


def way_through(lane: Lane, point: str) -> Way:
    """Return the way by which a point is fed, and on from it back to the source."""
    node = lane.network.node(point)
    before = follow(lane, node, against=True)
    behind = follow(lane, node, against=False)
    legs = (*before, *behind)
    return Way(lane.network, legs[0].before if before else node, legs)


def way_of(lane: Lane, element: int) -> Way:
    """Return the way of the current in one element, no legs if it carries none."""
    a, b = (int(end) for end in lane.network.ends[element])
    amps = float(lane.current[element])
    if abs(amps) <= CARRIES:
        return Way(lane.network, a, ())
    leg = Leg(element, a, b) if amps > 0 else Leg(element, b, a)
    before = follow(lane, leg.before, against=True)
    legs = (*before, leg, *follow(lane, leg.behind, against=False))
    return Way(lane.network, legs[0].before, legs)


def way_between(lane: Lane, one: str, two: str) -> Way:
    """Return the way of a meter's own current from one lead to the other."""
    nodes = [lane.network.node(point) for point in (one, two)]
    for first, last in (nodes, nodes[::-1]):
        legs = follow(lane, first, against=False, until=last.__eq__)
        if legs and legs[-1].behind == last:
            return Way(lane.network, first, legs)
    return Way(lane.network, nodes[0], ())


def culprit(way: Way, sound: Lane, lane: Lane) -> int | None:
    """Return the leg that loses most beyond what it loses on the sound vehicle; None if none does.

    A load that is itself broken loses no more than it does at work; it is known by its current.

    Parameters
    ----------
    way : Way
    sound, lane : Lane
        The sound vehicle and the one looked at, both under the same action.
    """
    if not way.legs:
        return None
    losses = way.losses(lane)
    excess = losses - way.losses(sound)
    worst, most = int(np.argmax(excess)), int(np.argmax(losses))
    if excess[worst] > EXCESS:
        return worst
    number = way.legs[most].element
    stopped = abs(lane.current[number]) <= FLOWS < abs(sound.current[number])
    return most if stopped and losses[most] > EXCESS else None


def body_position(way: Way, first: int) -> int:
    """Return where a way passes the body behind its leg `first`; its end if it does not."""
    names: Sequence[str] = [way.network.nodes[node] for node in way.nodes]
    later = [at for at, name in enumerate(names) if name == BODY and at >= first]
    return later[0] if later else len(way.legs)
