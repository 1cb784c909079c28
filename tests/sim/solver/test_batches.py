"""Lanes never mix, and the compiled and the plain program give the same."""

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.faults import possible_faults, with_faults
from sim.network import Configuration, configured, stack_rows
from sim.parts.family import CURVED
from sim.solver.steady import Lanes, Solution, Solver
from tests.sim.conftest import SHIPPED
from tests.turns import by_turns

ON = Configuration((("key", "run"), ("heater switch", "on"), ("horn button", "pressed")))
ROOT = Path(__file__).parents[3]
FIELDS = ("volts", "drop", "current", "closed", "blown", "status")


SOME_PAIRS = 60


def voltmeters(circuit: Circuit, solver: Solver, rows: np.ndarray) -> tuple[np.ndarray, Lanes]:
    """Put rows in one condition, with a voltmeter on one of some pairs.

    A pair of its own costs a program of its own, some hundred times what a lane costs.
    """
    rows = configured(circuit, solver.network, rows, ON)
    lanes = solver.lanes(np.arange(len(rows)))
    lanes.instruments[:, 0, 0] = 1e-7
    points = len(solver.network.nodes) - 4
    pairs = np.random.default_rng(3).integers(0, points, (SOME_PAIRS, 2))
    lanes.attached[:, :2] = pairs[np.arange(len(rows)) % SOME_PAIRS]
    return rows, lanes


def fleet(circuit: Circuit) -> tuple[Solver, np.ndarray, Lanes]:
    """Give every fault of a circuit in one condition, with voltmeters, and a solver of its own."""
    solver = Solver.of(circuit)
    faulty = [with_faults(circuit, faults) for faults, _ in possible_faults(circuit)]
    return solver, *voltmeters(circuit, solver, stack_rows([circuit, *faulty]))


@pytest.fixture
def all_faults(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: np.ndarray
) -> tuple[Solver, np.ndarray, Lanes]:
    """Give the same of a shipped circuit, whose programs are made once."""
    return shipped_solver, *voltmeters(shipped, shipped_solver, shipped_rows)


def lanes_of(lanes: Lanes, which: np.ndarray) -> Lanes:
    fields = (lanes.variant, lanes.instruments, lanes.attached, lanes.closed, lanes.blown)
    return Lanes(*(field[which] for field in fields))


def same(one: Solution, many: Solution, which: np.ndarray) -> bool:
    pairs = (
        (one.volts, many.volts),
        (one.drop, many.drop),
        (one.current, many.current),
        (one.closed, many.closed),
        (one.blown, many.blown),
        (one.status, many.status),
        (one.worst, many.worst),
    )
    return all(few.tobytes() == all_[which].tobytes() for few, all_ in pairs)


def test_a_batch_of_one_gives_the_same_bits_as_a_batch_of_many(all_faults: tuple) -> None:
    solver, rows, lanes = all_faults
    together = solver.solve(rows, lanes)
    for lane in range(len(rows)):
        which = np.array([lane])
        assert same(solver.solve(rows, lanes_of(lanes, which)), together, which)


def test_the_order_of_a_batch_does_not_matter(all_faults: tuple) -> None:
    solver, rows, lanes = all_faults
    together = solver.solve(rows, lanes)
    shuffled = np.random.default_rng(8).permutation(len(rows))
    assert same(solver.solve(rows, lanes_of(lanes, shuffled)), together, shuffled)


def test_solving_leaves_its_input_alone(all_faults: tuple) -> None:
    solver, rows, lanes = all_faults
    before = [rows.copy(), lanes.closed.copy(), lanes.blown.copy(), lanes.instruments.copy()]
    solver.solve(rows, lanes)
    after = [rows, lanes.closed, lanes.blown, lanes.instruments]
    assert all((x == y).all() for x, y in zip(before, after, strict=True))


def test_thousands_of_random_vehicles_converge_to_the_same_bits_alone(heater: Circuit) -> None:
    """10 000 of 10 000, every resistance up to 10 % off; a hundred of them once more."""
    solver, rows, _lanes = fleet(heater)
    rows = strewn(solver, rows, 10_000, 0.1)
    lanes = solver.lanes(np.arange(len(rows)))
    together = solver.solve(rows, lanes)
    assert not together.status.any()
    kirchhoff, law = solver.residuals(rows, lanes, together)
    assert kirchhoff.max() < 1e-9
    assert law.max() < 1e-9
    for lane in range(0, 10_000, 100):
        which = np.array([lane])
        assert same(solver.solve(rows, lanes_of(lanes, which)), together, which)


def test_wild_vehicles_are_solved_or_buzz(heater: Circuit) -> None:
    """Every resistance up to threefold or a third: a relay of some then chatters on low volts."""
    solver, rows, _lanes = fleet(heater)
    rows = strewn(solver, rows, 10_000, 2.0)
    status = solver.solve(rows, solver.lanes(np.arange(len(rows)))).status
    assert set(status.tolist()) <= {0, 2}
    assert (status == 0).sum() > 9900


def strewn(solver: Solver, rows: np.ndarray, count: int, share: float) -> np.ndarray:
    """Give rows at random with every straight conductance up to a factor 1 + share off."""
    rng = np.random.default_rng(12)
    rows = rows[rng.integers(0, len(rows), count)]
    straight = np.flatnonzero(~np.isin(solver.network.laws, CURVED))[:-3]
    off = rng.uniform(-1.0, 1.0, (count, len(straight)))
    rows[:, straight, 0] *= (1.0 + share) ** off
    return rows


@pytest.mark.parametrize("shipped", by_turns(SHIPPED, 3), indirect=True, scope="session")
def test_whole_arrays_and_compiled_code_give_the_same_bits(all_faults: tuple) -> None:
    """In many lanes, where arrays are worked on node by node, and in few, where by groups."""
    solver, rows, lanes = all_faults
    compiled, plain = solver.solve(rows, lanes), replace(solver, plain=True)
    everything = np.arange(len(rows))
    assert same(plain.solve(rows, lanes), compiled, everything)
    lanes.attached[:] = -1
    repeated = np.resize(everything, 400)
    many = solver.solve(rows, lanes_of(lanes, repeated))
    assert same(plain.solve(rows, lanes_of(lanes, repeated)), many, np.arange(400))
    assert same(plain.solve(rows, lanes_of(lanes, repeated[:3])), many, np.arange(3))


def test_an_emf_that_only_some_variants_have_is_foreseen(heater: Circuit) -> None:
    """A program leaves out what never carries an EMF; a row that does is solved all the same."""
    solver, rows, lanes = fleet(heater)
    before = solver.solve(rows, lanes)
    number = solver.network.element("F12")
    pushed = rows.copy()
    pushed[7, number, 1] = 0.5
    for one in (solver, replace(solver, plain=True)):
        after = one.solve(pushed, lanes)
        others = np.flatnonzero(np.arange(len(rows)) != 7)
        kept = Solution(*(getattr(after, name)[others] for name in FIELDS), 0, after.worst[others])
        assert same(kept, before, others)
        kirchhoff, law = one.residuals(pushed, lanes, after)
        assert kirchhoff[7] < 1e-9
        assert law[7] < 1e-9
        assert abs(after.volts[7] - before.volts[7]).max() > 0.1


CHILD = """
import json, sys
if sys.argv[1] == "absent":
    sys.modules["numba"] = None
from pathlib import Path
import numpy as np
from sim.circuitfile import read_circuit
from sim.compiled import njit
from sim.faults import parse_faults, with_faults
from sim.network import Configuration, configured, stack_rows
from sim.solver.kernel import solve_lanes
from sim.solver.steady import Solver
circuit = read_circuit(Path(sys.argv[2]))
names = json.loads(sys.argv[3])
variants = [with_faults(circuit, parse_faults(circuit, name)) for name in names]
solver = Solver.of(circuit)
on = Configuration((("key", "run"), ("heater switch", "on"), ("horn button", "pressed")))
rows = configured(circuit, solver.network, stack_rows([circuit, *variants]), on)
lanes = solver.lanes(np.arange(len(rows)))
solution = solver.solve(rows, lanes)
print(json.dumps({
    "compiled": hasattr(solve_lanes, "py_func"),
    "volts": solution.volts.tolist(),
    "current": solution.current.tolist(),
    "states": [solution.closed.tolist(), solution.blown.tolist(), solution.status.tolist()],
}))
"""
FAULTS = [
    "C41.1=high resistance:0.8 ohm",
    "wire 8=short to ground:0.1 ohm",
    "K3=wrong part",
    "K5=diode shorted",
    "X1=open",
]


def in_child(numba: str) -> dict:
    path = ROOT / "lessons/circuits/rear-window-heater.circuit.yaml"
    done = subprocess.run(
        [sys.executable, "-c", CHILD, numba, str(path), json.dumps(FAULTS)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={"NUMBA_DISABLE_JIT": "1" if numba == "off" else "0", "PYTHONPATH": str(ROOT)},
    )
    return json.loads(done.stdout)


@pytest.mark.parametrize("numba", ["off", "absent"])
def test_without_numba_the_same_program_runs(numba: str) -> None:
    compiled, plain = in_child("on"), in_child(numba)
    assert compiled["compiled"]
    assert not plain["compiled"]
    assert compiled["states"] == plain["states"]
    for key in ("volts", "current"):
        assert plain[key] == compiled[key]
