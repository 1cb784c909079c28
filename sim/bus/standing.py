"""How a bus stands: who takes part, who hears whom, through gateways too.

What the circuit says (`sim.bus.levels`) goes into the error counters (`sim.bus.counters`), lane by
lane; lanes in which the circuit says the same are counted once. Where one does not read another's
dominant bit, both are solved dominant at once to see whether they drown each other.

A gateway passes on what it hears on one pair to the other. So whoever it hears is heard by all
that hear its other transceiver.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from sim.bus.counters import DOMINANT, RECESSIVE, Counted, Wires, count_errors
from sim.bus.levels import Bools, Levels, readings, spoken
from sim.bus.ports import Port
from sim.network import Floats
from sim.solver.lanes import Lanes
from sim.solver.steady import Solver


@dataclass(frozen=True, slots=True)
class Standing:
    """How the bus of every lane stands.

    Attributes
    ----------
    ports : tuple of Port
    counted : tuple of Counted, one a lane
    alive : bool array (L, P)
        Which transceivers have supply and are awake.
    known : dict
        Who hears a unit, by outcome and unit, as far as it has been asked.
    """

    ports: tuple[Port, ...]
    counted: tuple[Counted, ...]
    alive: Bools
    known: dict[tuple[int, str], frozenset[str]] = field(default_factory=dict, compare=False)

    def awake(self, lane: int, unit: str) -> bool:
        """Tell whether a unit has power and ground and does not sleep."""
        return any(
            bool(self.alive[lane, n]) for n, port in enumerate(self.ports) if port.unit == unit
        )

    def heard(self, lane: int, sender: str, receiver: str) -> bool:
        """Tell whether what a unit sends arrives at another, gateways passing it on."""
        return receiver in self.hearers(lane, sender)

    def hearers(self, lane: int, sender: str) -> frozenset[str]:
        """Return the units at which a unit's messages arrive."""
        counted = self.counted[lane]
        key = id(counted), sender  # `counted` lives as long as this does
        if key not in self.known:
            self.known[key] = self._hearers(counted.heard, sender)
        return self.known[key]

    def _hearers(self, table: tuple[tuple[bool, ...], ...], sender: str) -> frozenset[str]:
        reached: set[int] = set()
        waiting = [n for n, port in enumerate(self.ports) if port.unit == sender]
        spoken_from = set(waiting)
        while waiting:
            source = waiting.pop()
            for number in np.flatnonzero(table[source]).tolist():
                reached.add(number)
                for other in self._passes(number):
                    if other not in spoken_from:
                        spoken_from.add(other)
                        waiting.append(other)
        return frozenset(self.ports[number].unit for number in reached) - {sender}

    def reaches(self, lane: int, one: str, other: str) -> bool:
        """Tell whether two units hear each other: question and answer."""
        return self.heard(lane, one, other) and self.heard(lane, other, one)

    def _passes(self, number: int) -> list[int]:
        """Return the other transceivers of the unit that one belongs to."""
        unit = self.ports[number].unit
        same = [n for n, port in enumerate(self.ports) if port.unit == unit and n != number]
        return same if len(same) == 1 and not self.ports[number].tester else []


def stand(solver: Solver, rows: Floats, lanes: Lanes, levels: Levels) -> Standing:
    """Return how the bus of every lane stands."""
    idle = levels.read(levels.quiet)
    reads = np.stack([levels.read(bit) for bit in levels.bits], axis=1)
    jams = _jams(solver, rows, lanes, levels, idle, reads)
    known: dict[bytes, Counted] = {}
    counted = []
    for lane in range(len(idle)):
        key = b"".join(one[lane].tobytes() for one in (levels.alive, idle, reads, jams))
        if key not in known:
            known[key] = count_errors(
                Wires(
                    tuple(levels.alive[lane].tolist()),
                    tuple(idle[lane].tolist()),
                    tuple(map(tuple, reads[lane].tolist())),
                    tuple(map(tuple, jams[lane].tolist())),
                )
            )
        counted.append(known[key])
    return Standing(levels.ports, tuple(counted), levels.alive)


def _jams(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    levels: Levels,
    idle: np.ndarray,
    reads: np.ndarray,
) -> Bools:
    """Return (L, P, P): s does not read its own dominant bit while c is dominant as well.

    Solved only where c is there and does not read the bit of s, who is not so far away that
    nothing of c arrives.
    """
    count = len(levels.ports)
    found: Bools = np.zeros(reads.shape, dtype=bool)
    near = _near(levels)
    settled = replace(lanes, closed=levels.quiet.closed, blown=levels.quiet.blown)
    for one in range(count):
        for other in range(one + 1, count):
            both = levels.alive[:, one] & levels.alive[:, other] & near[:, one, other]
            both &= (idle[:, one] == RECESSIVE) & (idle[:, other] == RECESSIVE)
            deaf = (reads[:, one, other] == RECESSIVE) | (reads[:, other, one] == RECESSIVE)
            wanted = both & deaf
            if not wanted.any():
                continue
            pair = (levels.ports[one], levels.ports[other])
            (solution,) = spoken(solver, rows, settled, levels.quiet, [pair], wanted[None])
            own = readings(levels.ports, solution) != DOMINANT
            found[:, one, other] = wanted & own[:, one]
            found[:, other, one] = wanted & own[:, other]
    return found


INFLUENCE = 0.1  # V by which another's bit has to move the lines to matter; ours


def _near(levels: Levels) -> Bools:
    """Return (L, P, P): what one sends moves the lines of the other."""
    nodes = [node for port in levels.ports for node in (port.high, port.low)]
    quiet = levels.quiet.volts[:, nodes]
    moved = np.stack([np.abs(bit.volts[:, nodes] - quiet) for bit in levels.bits], axis=1)
    count = len(levels.ports)
    one_way = moved.reshape(len(quiet), count, count, 2).max(axis=3) > INFLUENCE
    found: Bools = one_way | one_way.swapaxes(1, 2)
    return found
