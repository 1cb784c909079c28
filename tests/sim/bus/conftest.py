"""The shipped vehicle with two CAN pairs on a bench, with a fault or without."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from sim.action import action_from_json
from sim.bench import Bench
from sim.bus.levels import Levels, solve_levels
from sim.bus.standing import Standing, stand
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.network import Configuration, configured, stack_rows
from sim.reading import Reading
from sim.solver.steady import Solver

FILE = Path(__file__).parents[3] / "lessons/circuits/two-wires.circuit.yaml"


@cache
def two_wires() -> Circuit:
    return read_circuit(FILE)


@cache
def solver() -> Solver:
    return Solver.of(two_wires())


def broken(fault: str = "") -> Circuit:
    """Give the vehicle with a fault."""
    return with_faults(two_wires(), parse_faults(two_wires(), fault)) if fault else two_wires()


class Car:
    """The vehicle on a bench, key on."""

    def __init__(self, fault: str = "", key: str = "run") -> None:
        self.bench = Bench(broken(fault), solver())
        self.do({"set": {"key": key}})

    def do(self, action: dict) -> Reading | None:
        return self.bench.do(action_from_json(action)).reading

    def measure(self, function: str, red: str, black: str) -> float:
        reading = self.do({"measure": function, "red": red, "black": black})
        assert reading is not None
        factor = {"mV": 1e-3, "kohm": 1e3, "Mohm": 1e6}.get(reading.unit, 1.0)
        return float("inf") if reading.value == "OL" else float(reading.value) * factor

    def words(self, action: dict) -> str:
        reading = self.do(action)
        assert reading is not None
        return reading.words

    def asleep(self) -> "Car":
        """Let everything fall asleep, key off."""
        self.do({"set": {"key": "off"}})
        self.do({"wait": "10 min"})
        return self


@pytest.fixture
def car() -> Callable[..., Car]:
    return Car


def stood(*faults: str, apart: tuple[str, ...] = (), **controls: str) -> tuple[Levels, Standing]:
    """Give levels and standing of the vehicle with each of these faults, awake, key on."""
    circuits = [broken(fault) for fault in faults]
    standing = Configuration(tuple({"key": "run", **controls}.items()), apart)
    rows = configured(circuits[0], solver().network, stack_rows(circuits), standing)
    lanes = solver().lanes(np.arange(len(circuits)))
    levels = solve_levels(solver(), rows, lanes)
    return levels, stand(solver(), rows, lanes, levels)


@pytest.fixture
def stands() -> Callable[..., tuple[Levels, Standing]]:
    return stood
