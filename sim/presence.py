"""The control units of every variant as a tester meets them: what they measure, which would answer.

A tester comes in at a diagnostic socket, as a transceiver of its own that is solved with the
circuit, or through the gateway among the units (ISO 13400-2), or, where a vehicle has neither, on a
wire of its own to each unit. A unit answers if it is awake and both hear each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sim.bus.ports import plugged_in
from sim.circuit import Circuit
from sim.diagnosis.carried import filled, samples
from sim.diagnosis.unit import UnitState
from sim.diagnosis.vehicle import carrier_of, parts_with_unit
from sim.solver.lanes import Hearing
from sim.view import View

SOCKET, GATEWAY = "diagnostic socket", "gateway"

Units = tuple[UnitState, ...]


def sockets(circuit: Circuit) -> tuple[str, ...]:
    """Return the names of the diagnostic sockets of a circuit."""
    return tuple(part.name for part in circuit.parts.values() if part.kind == SOCKET)


def gateways(circuit: Circuit) -> tuple[str, ...]:
    """Return the names of the gateways among the units of a circuit."""
    return tuple(p.name for p in circuit.parts.values() if p.values.get("type") == GATEWAY)


@dataclass(frozen=True, slots=True)
class Entry:
    """Where a tester comes in: at parts of these names, plugged in at sockets or not."""

    parts: tuple[str, ...]
    plugged: bool

    def answers(self, standing: Hearing | None, lane: int, unit: str) -> bool:
        """Tell whether a tester that comes in here and a unit hear each other.

        `unit` is the one on the bus that carries its frames; empty for a wire of its own.
        """
        if standing is None or not self.parts or not unit:
            return True
        return any(unit == one or standing.reaches(lane, one, unit) for one in self.parts)


def at_socket(circuit: Circuit) -> Entry:
    """Return the way in of a scan tool."""
    return Entry(sockets(circuit), plugged=True)


def at_gateway(circuit: Circuit) -> Entry:
    """Return the way in of a tester on a network: the gateway, or a socket where there is none."""
    through = gateways(circuit)
    return Entry(through, plugged=False) if through else at_socket(circuit)


def present(view: View, entry: Entry) -> tuple[Units, ...]:
    """Return the units of each variant with what they measure now; `reachable` says who answers."""
    network, circuits = view.network, view.fleet.circuits
    stood = view.rows
    if entry.plugged:
        view.rows = plugged_in(network, stood)
    solution = view.solve(view.memory)
    solved = view.solved(solution)
    view.rows, standing = stood, solution.bus
    found = []
    for lane, (carried, circuit) in enumerate(zip(view.memory.units, circuits, strict=True)):
        taken = samples(solved, lane)
        parts = parts_with_unit(circuit)
        there = [
            one.awake and entry.answers(standing, lane, carrier_of(circuit, part))
            for one, part in zip(taken, parts, strict=True)
        ]
        units = (
            filled(unit, one) if one.awake else unit
            for unit, one in zip(carried, taken, strict=True)
        )
        found.append(with_reach(tuple(units), there))
    return tuple(found)


def with_reach(units: Units, there: Sequence[bool]) -> Units:
    """Return units that answer or do not."""
    pairs = zip(units, there, strict=True)
    return tuple(u if u.reachable == here else replace(u, reachable=here) for u, here in pairs)
