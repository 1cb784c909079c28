"""A vehicle with modules on the bench, and circuits of a few lines, for tests of rules."""

from functools import cache
from pathlib import Path

import numpy as np

from sim.action import action_from_json
from sim.bench import Bench
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.modules.told import ModuleTold, told
from sim.observe import Fleet
from sim.situation import Memory, Situation
from sim.solver.steady import Solver
from sim.view import View

HERE = Path(__file__).parent


@cache
def circuit(name: str) -> Circuit:
    return read_circuit(HERE / f"{name}.circuit.yaml")


@cache
def solver(name: str) -> Solver:
    return Solver.of(circuit(name))


def with_(whole: Circuit, faults: str) -> Circuit:
    return with_faults(whole, parse_faults(whole, faults)) if faults else whole


class Stand:
    """One vehicle, with any fault."""

    def __init__(self, name: str, faults: str = "", module: str = "A3") -> None:
        self.bench = Bench(with_(circuit(name), faults), solver(name))
        self.module = module

    @classmethod
    def of(cls, whole: Circuit, shared: Solver, faults: str = "", module: str = "A3") -> "Stand":
        """Give a vehicle with a circuit that is no file of this folder."""
        stand = cls.__new__(cls)
        stand.bench, stand.module = Bench(with_(whole, faults), shared), module
        return stand

    def do(self, **action: object) -> object:
        return self.bench.do(action_from_json(action)).reading

    def set(self, **positions: str) -> None:
        self.do(set=positions)

    def wait(self, time: str) -> None:
        self.do(wait=time)

    def sees(self, effect: str) -> bool:
        return self.do(watch=effect).words == "yes"

    def volts(self, red: str, black: str = "body") -> float:
        reading = self.do(measure="volts", red=red, black=black)
        return float(reading.value) * (1e-3 if reading.unit == "mV" else 1.0)

    @property
    def told(self) -> ModuleTold:
        """What the module tells as the bench stands."""
        return told_by(self.bench.fleet, self.bench.situation, self.bench.memory)[self.module]

    def on(self, decision: str) -> bool:
        return bool(self.told.decisions[decision][0])


def told_by(fleet: Fleet, situation: Situation, memory: Memory) -> dict[str, ModuleTold]:
    """Give what every module of a fleet tells."""
    look = action_from_json({"look": next(iter(fleet.circuits[0].places))})
    view = View(fleet, situation, situation, memory, look, leads=False)
    return told(fleet.modules, view.rows, view.solution, view.clock)


def same_bits(one: np.ndarray, other: np.ndarray) -> bool:
    return one.tobytes() == other.tobytes()
