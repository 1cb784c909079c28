"""A healthy circuit solved in every combination of its controls' positions, in one call.

Every combination is solved twice: as it is, and with fuses that never open, so that one too small
still shows the current it would have to carry. Relays start at rest, as at hand-over.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product
from math import prod

import numpy as np

from sim.bus import live
from sim.circuit import Circuit
from sim.modules.loop import solve_standing
from sim.modules.wiring import Modules
from sim.network import CONDUCTANCE, SHAPE, Configuration, Floats, configured, stack_rows
from sim.parts.family import Law
from sim.solver.steady import Solution, Solver

MOST = 512  # combinations solved; beyond it every control by itself, and every two
NEVER_OPENS = 1e9  # A
SMALLEST = 1e-3  # A, that is followed from a fuse to its loads
STUCK_CLOSED, STUCK_OPEN = 1.0, 2.0  # second constant of a contact's law

Positions = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Trials:
    """Solutions lane by lane: `combinations` as they are, then the same with fuses that hold.

    `complete` is False where there are more combinations than were solved.
    """

    circuit: Circuit
    solver: Solver
    combinations: tuple[Positions, ...]
    complete: bool
    rows: Floats
    solution: Solution

    @property
    def settled(self) -> list[int]:
        """Lanes of the circuit as it is that came to rest."""
        return [lane for lane in range(len(self.combinations)) if not self.solution.status[lane]]

    @property
    def held(self) -> list[tuple[int, int]]:
        """(combination, lane) of those at rest with fuses that hold."""
        count = len(self.combinations)
        return [(n, count + n) for n in range(count) if not self.solution.status[count + n]]

    def described(self, combination: int) -> str:
        """Return a combination in words: the controls that are not at rest."""
        resting = {name: c.positions[0] for name, c in self.circuit.controls.items()}
        moved = [f"{n} {p}" for n, p in self.combinations[combination] if resting[n] != p]
        return "with " + ", ".join(moved) if moved else "with all controls at rest"


def run_trials(circuit: Circuit) -> Trials:
    """Solve a circuit in every combination of positions, or in `MOST` of them."""
    chosen, complete = positions_to_try(circuit)
    solver = Solver.of(circuit)
    base = stack_rows([circuit])
    plain = [configured(circuit, solver.network, base, Configuration(one)) for one in chosen]
    rows = np.concatenate([*plain, *plain])
    fuses = [n for n, e in enumerate(solver.network.elements) if e.law is Law.FUSE]
    rows[len(chosen) :, fuses, SHAPE] = NEVER_OPENS
    lanes = solver.lanes(np.arange(len(rows), dtype=np.int64))
    modules = Modules.of(solver.network, circuit)
    solution = solve_standing(solver, modules, rows, lanes)
    bits = live.on_bus(solver, rows, lanes, solution)
    return Trials(circuit, solver, chosen, complete, rows, bits)


def positions_to_try(circuit: Circuit) -> tuple[tuple[Positions, ...], bool]:
    """Return combinations of positions, and whether these are all there are."""
    controls = list(circuit.controls.values())
    if prod(len(control.positions) for control in controls) <= MOST:
        names = [control.name for control in controls]
        every = product(*(control.positions for control in controls))
        return tuple(tuple(zip(names, one, strict=True)) for one in every), True
    resting = {control.name: control.positions[0] for control in controls}
    moves = [(c.name, position) for c in controls for position in c.positions[1:]]
    found = [tuple(resting.items())]
    found += [tuple({**resting, name: position}.items()) for name, position in moves]
    for one, other in combinations(moves, 2):
        if one[0] != other[0] and len(found) < MOST:
            found.append(tuple({**resting, **dict((one, other))}.items()))
    return tuple(found[:MOST]), False


def restless_relays(trials: Trials, lane: int) -> list[str]:
    """Return the relays that keep a lane from rest: held either way, they let it come to rest."""
    solver, names = trials.solver, trials.solver.network.relay_names
    rows = np.repeat(trials.rows[lane][None], 2 * len(names), axis=0)
    for number, name in enumerate(names):
        for element, e in enumerate(solver.network.elements):
            if e.law is Law.CONTACT and e.relay == name:
                rows[2 * number, element, SHAPE + 1] = STUCK_OPEN
                rows[2 * number + 1, element, SHAPE + 1] = STUCK_CLOSED
    status = solver.solve(rows, solver.lanes(np.arange(len(rows), dtype=np.int64))).status
    return [name for n, name in enumerate(names) if not status[2 * n] and not status[2 * n + 1]]


def relay_states(trials: Trials, lanes: list[int], relay: str) -> set[bool]:
    """Return how a relay's coil stands in these lanes: pulled in or not."""
    number = trials.solver.network.relay_names.index(relay)
    return {bool(trials.solution.closed[lane, number]) for lane in lanes}


def loads_behind(trials: Trials, lane: int, fuse: int) -> list[str]:
    """Return the parts that a fuse's current goes on to, the hungriest first.

    The current is followed from node to node down to the body.
    """
    network = trials.solver.network
    current = trials.solution.current[lane]
    onward: dict[int, list[int]] = {}
    for number in range(len(network.elements)):
        a, b = (int(node) for node in network.ends[number])
        if abs(current[number]) > SMALLEST and trials.rows[lane, number, CONDUCTANCE] != 0.0:
            onward.setdefault(a if current[number] > 0 else b, []).append(number)
    found, queue, seen = {fuse: None}, [fuse], {0}
    while queue:
        number = queue.pop()
        a, b = (int(node) for node in network.ends[number])
        there = b if current[number] > 0 else a
        if there not in seen:
            seen.add(there)
            fresh = onward.get(there, [])
            found.update(dict.fromkeys(fresh))
            queue += fresh
    drop = np.abs(trials.solution.drop[lane] * current)
    order = sorted(found, key=lambda number: -drop[number])
    return [network.elements[number].name for number in order if drop[number] > 0.0]
