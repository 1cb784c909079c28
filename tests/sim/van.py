"""The shipped van on the bench, with any fault, as tests of the simulator work on it."""

from functools import cache
from pathlib import Path

from sim.action import Reading, action_from_json
from sim.bench import Bench, Step
from sim.circuit import Circuit
from sim.circuitfile import read_circuit
from sim.faults import parse_faults, with_faults
from sim.solver.steady import Solver

FILE = Path(__file__).parents[2] / "lessons/circuits/rear-window-heater.circuit.yaml"
ON = {"key": "run", "heater switch": "on"}
OFF = {"key": "off", "heater switch": "off"}
HORN = {"horn button": "pressed"}
CHAFED = "wire 8=short to ground:0.1 ohm"


@cache
def healthy() -> Circuit:
    return read_circuit(FILE)


@cache
def solver() -> Solver:
    return Solver.of(healthy())


def van(faults: str = "", circuit: Circuit | None = None) -> Circuit:
    """Give the van with faults by name."""
    whole = circuit or healthy()
    return with_faults(whole, parse_faults(whole, faults)) if faults else whole


class Hands:
    """Does things at a bench, written as in a record."""

    def __init__(self, faults: str = "", circuit: Circuit | None = None) -> None:
        self.bench = Bench(van(faults, circuit), solver())

    def step(self, **do: object) -> Step:
        return self.bench.do(action_from_json(do))

    def do(self, **do: object) -> Reading | None:
        return self.step(**do).reading

    def words(self, **do: object) -> str:
        reading = self.do(**do)
        assert reading is not None
        return reading.words

    def volts(self, red: str, black: str = "body") -> float:
        """Measure volts as displayed, in V."""
        return self._number("volts", red, black)

    def ohms(self, red: str, black: str = "body") -> float:
        """Measure ohms as displayed, in ohm; infinite for OL."""
        return self._number("ohms", red, black)

    def amps(self, red: str, black: str) -> float:
        return self._number("amps", red, black)

    def clamp(self, wire: str) -> float:
        reading = self.do(clamp=wire)
        assert reading is not None
        return float(reading.value)

    def _number(self, function: str, red: str, black: str) -> float:
        reading = self.do(measure=function, red=red, black=black)
        assert reading is not None
        if reading.value == "OL":
            return float("inf")
        prefix = {"m": 1e-3, "k": 1e3, "M": 1e6}
        return float(reading.value) * prefix.get(reading.unit[0], 1.0)
