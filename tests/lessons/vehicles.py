"""The shipped circuits as vehicles, solved in any position."""

import itertools
from dataclasses import dataclass
from functools import cache

import numpy as np

from lessons.catalogue import circuit_path
from sim.bus import live
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.effects import effect_holds
from sim.modules.loop import solve_standing
from sim.modules.wiring import Modules
from sim.network import (
    Configuration,
    Floats,
    configured,
    stack_rows,
)
from sim.solver.steady import Solution, Solver

FOLDER = circuit_path("rear-window-heater").parent
NAMES = sorted(path.name.removesuffix(".circuit.yaml") for path in FOLDER.glob("*.circuit.yaml"))
SLEEPING = {"sleeping unit", "bus unit"}


@dataclass(frozen=True)
class Vehicle:
    """A circuit and what solves it."""

    circuit: Circuit
    solver: Solver

    def solve(self, rows: Floats, standing: Configuration) -> Solution:
        here = configured(self.circuit, self.solver.network, rows, standing)
        lanes = self.solver.lanes(np.arange(len(here)))
        modules = Modules.of(self.solver.network, self.circuit)
        solution = solve_standing(self.solver, modules, here, lanes)
        return live.on_bus(self.solver, here, lanes, solution)

    def standing(self, *positions: str, stressed: tuple = ()) -> Configuration:
        """Give controls in positions, units asleep with the key off or without a key."""
        asleep = tuple(n for n, p in self.circuit.parts.items() if p.kind in SLEEPING)
        controls = tuple(zip(self.circuit.controls, positions, strict=True))
        awake = dict(controls).get("key", "off") != "off"
        return Configuration(controls, stressed=stressed, asleep=() if awake else asleep)

    def positions(self) -> list[tuple[str, ...]]:
        return [*itertools.product(*(c.positions for c in self.circuit.controls.values()))]

    def noticed(self, solution: Solution) -> np.ndarray:
        """Give for every lane (L, effects) which hold, a relay pulled in counting as one."""
        network, found = self.solver.network, []
        for effect in self.circuit.effects.values():
            if effect.quantity == "state":
                found.append(solution.closed[:, network.relay_names.index(effect.part)] == 1)
            else:
                found.append(effect_holds(self.circuit, network, solution, effect))
        return np.stack(found, axis=1)


@cache
def vehicle(name: str) -> Vehicle:
    """Give a shipped vehicle."""
    circuit = read_circuit(circuit_path(name))
    return Vehicle(circuit, Solver.of(circuit))


def whole(car: Vehicle) -> list[tuple[tuple[str, ...], Solution]]:
    """Give the sound vehicle in every position."""
    rows = stack_rows([car.circuit])
    return [(p, car.solve(rows, car.standing(*p))) for p in car.positions()]
