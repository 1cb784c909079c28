"""Helpers for tests of the simulator: solve a handful of elements, and the shipped circuits."""

from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sim.circuit import Circuit, Fault, Part
from sim.circuitfile import read_circuit
from sim.faults import possible_faults, with_faults
from sim.network import BLACK, INSTRUMENTS, RED, element_row, network_of, stack_rows
from sim.parts import FAMILIES
from sim.parts.family import Element
from sim.solver.program import build_program
from sim.solver.steady import LEAK, Lanes, Solution, Solver
from tests.sim.benchfile import Write

CIRCUITS = Path(__file__).parents[2] / "lessons/circuits"
SHIPPED = sorted(CIRCUITS.glob("*.circuit.yaml"))


@dataclass(frozen=True)
class Answer:
    """One solved lane by name: volts against the body, drop and current of each element."""

    solver: Solver
    rows: np.ndarray
    lanes: Lanes
    solution: Solution

    @property
    def volts(self) -> dict[str, float]:
        return dict(zip(self.solver.network.nodes, self.solution.volts[0].tolist(), strict=True))

    @property
    def drop(self) -> dict[str, float]:
        return self._by_element(self.solution.drop)

    @property
    def current(self) -> dict[str, float]:
        return self._by_element(self.solution.current)

    @property
    def closed(self) -> dict[str, bool]:
        names = self.solver.network.relay_names
        return dict(zip(names, (self.solution.closed[0] == 1).tolist(), strict=True))

    @property
    def blown(self) -> dict[str, bool]:
        names = self.solver.network.fuse_names
        return dict(zip(names, (self.solution.blown[0] == 1).tolist(), strict=True))

    @property
    def status(self) -> int:
        return int(self.solution.status[0])

    def residuals(self) -> tuple[float, float]:
        kirchhoff, law = self.solver.residuals(self.rows, self.lanes, self.solution)
        return float(kirchhoff[0]), float(law[0])

    def _by_element(self, values: np.ndarray) -> dict[str, float]:
        names = [element.name for element in self.solver.network.elements]
        return dict(zip(names, values[0].tolist(), strict=True))


def solve_elements(
    *elements: Element,
    red: str = "",
    black: str = "",
    meter: tuple[float, float] = (0.0, 0.0),
    closed: tuple[int, ...] = (),
    leak: float = LEAK,
) -> Answer:
    """Solve elements, with a meter (ohms, volts) between two points if red and black are given."""
    network = network_of((*elements, *INSTRUMENTS))
    solver = Solver(network, build_program(network), leak)
    rows = element_row(network.elements)[None]
    lanes = solver.lanes(np.zeros(1, dtype=np.int64))
    if closed:
        lanes = replace(lanes, closed=np.array([closed]))
    if red and black:
        lanes.instruments[0, 0, :2] = (1 / meter[0], meter[1])
        for lead, point in ((RED, red), (BLACK, black)):
            lanes.attached[0, (RED, BLACK).index(lead)] = network.node(point)
    return Answer(solver, rows, lanes, solver.solve(rows, lanes))


def resistor(name: str, a: str, b: str, ohms: float) -> Element:
    return Element(name, a, b, 1 / ohms)


def source(name: str, plus: str, minus: str, volts: float, ohms: float = 1e-6) -> Element:
    """Give an EMF behind a resistance; by default one that does not count."""
    return Element(name, plus, minus, 1 / ohms, volts)


def make_part(
    kind: str, *, name: str = "P1", faults: tuple = (), **values: float | str | bool
) -> Part:
    """Give a part with its family's defaults where no value is given (spaces in keys as _).

    A fault is (way, terminal or None, severity or None).
    """
    defaults = {key: p.default for key, p in FAMILIES[kind].parameters.items()}
    given = {key.replace("_", " "): value for key, value in values.items()}
    broken = tuple(Fault(name, way, pin, severity) for way, pin, severity in faults)
    return Part(name, kind, "bench", {**defaults, **given}, broken)


def part_elements(kind: str, *, temperature: float = 20.0, **values: object) -> tuple[Element, ...]:
    """Give the elements of a part made as by `make_part`."""
    return FAMILIES[kind].elements(make_part(kind, **values), temperature)


@pytest.fixture(scope="session")
def lab() -> SimpleNamespace:
    """Give what a test of a small circuit takes: resistors, sources, parts, the solver."""
    return SimpleNamespace(
        solve=solve_elements,
        resistor=resistor,
        source=source,
        part=make_part,
        elements=part_elements,
    )


@pytest.fixture(scope="session")
def heater() -> Circuit:
    return read_circuit(CIRCUITS / "rear-window-heater.circuit.yaml")


@pytest.fixture(scope="session", params=SHIPPED, ids=lambda path: path.name.partition(".")[0])
def shipped(request: pytest.FixtureRequest) -> Circuit:
    return read_circuit(request.param)


@pytest.fixture(scope="session")
def shipped_solver(shipped: Circuit) -> Solver:
    """Give one solver for all that is solved of a shipped circuit: its programs are made once."""
    return Solver.of(shipped)


@pytest.fixture(scope="session")
def shipped_rows(shipped: Circuit) -> np.ndarray:
    """Give the rows of a shipped circuit, sound and with every fault; to be read only."""
    faulty = (with_faults(shipped, faults) for faults, _ in possible_faults(shipped))
    rows = stack_rows([shipped, *faulty])
    rows.flags.writeable = False
    return rows


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str) -> Path:
        path = tmp_path / "bench.circuit.yaml"
        path.write_text(text, "utf-8")
        return path

    return put
