"""Every shipped circuit x fault x condition obeys Kirchhoff and the laws of its elements.

The bounds are the project's: 1e-9 A at every node, and 1e-9 V + 1e-9 |V| at every element. The laws
are written out once more here, element by element.
"""

import itertools
import math
import zlib
from dataclasses import replace

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.instruments import lamp, multimeter
from sim.network import COLUMNS, Configuration, configured, stack_rows
from sim.parts.family import Element, Law
from sim.solver.steady import LEAD_RESISTANCE, LEAK, Lanes, Solution, Solver

AMPERES, VOLTS, RELATIVE = 1e-9, 1e-9, 1e-9
KINDS = ("volts", "ohms", "lamp", "amps")


def positions(circuit: Circuit) -> list[Configuration]:
    chosen = itertools.product(*(control.positions for control in circuit.controls.values()))
    return [Configuration(tuple(zip(circuit.controls, one, strict=True))) for one in chosen]


def miss(element: Element, rows: np.ndarray, volts: np.ndarray, amps: np.ndarray) -> np.ndarray:
    """Give by how many V an element with current through it misses its law, in every lane."""
    siemens, emf, first, second, third = rows.T
    if element.law is Law.LAMP:
        return volts - amps * (first + second * np.abs(volts) ** third)
    if element.law is Law.DIODE:
        volts = volts - emf
        index = np.minimum(volts / second, 200.0)
        lawful = first * np.expm1(index) + 1e-12 * volts
        return (lawful - amps) / (first / second * np.exp(index) + 1e-12)
    if element.law is Law.MOTOR:
        back = np.abs(volts - emf) - np.abs(amps) / siemens
        load = first + second * back + third * back**2
        lawful = np.where(back > 1e-9, load, np.abs(amps))
        return (lawful - np.abs(amps)) / (siemens + second + 2 * third * np.maximum(back, 0.0))
    if element.law is Law.LIMITER:
        inside = np.minimum(np.maximum(siemens * (volts - emf), -first), second)
        return (inside + third * (volts - emf) - amps) / (siemens + third)
    return volts - emf - amps / siemens


def are_live(solver: Solver, number: int, rows: np.ndarray, solution: Solution) -> np.ndarray:
    """Tell in which lanes a contact or fuse lets current through; everywhere for all else."""
    network, element = solver.network, solver.network.elements[number]
    if element.law is Law.FUSE:
        return solution.blown[:, network.fuses[number]] == 0
    if element.law is not Law.CONTACT:
        return np.full(len(rows), fill_value=True)
    pulled, rest, stuck = solution.closed[:, network.relays[number]] != 0, rows[:, 2], rows[:, 3]
    works = (stuck == 0.0) & (pulled != (rest == 1.0))
    return (stuck == 1.0) | works


def left_over(lanes: Lanes, solution: Solution, ends: np.ndarray) -> np.ndarray:
    """Give the sum of currents out of every node in A: of leaks, leads and elements, in turn."""
    volts = solution.volts
    out = np.concatenate([LEAK * volts[:, :-4], np.zeros((len(volts), 4))], axis=1)
    for which, lead in enumerate(range(-4, 0)):
        here = np.flatnonzero(lanes.attached[:, which] >= 0)
        point = lanes.attached[here, which]
        amps = (volts[here, lead] - volts[here, point]) / LEAD_RESISTANCE
        out[here, lead] += amps
        out[here, point] -= amps
    for number, (a, b) in enumerate(ends):
        out[:, a] += solution.current[:, number]
        out[:, b] -= solution.current[:, number]
    return out[:, 1:]


def recomputed(solver: Solver, rows: np.ndarray, lanes: Lanes, solution: Solution) -> tuple:
    """Give the worst (A at a node, V beyond the relative part at an element) of all lanes."""
    network, ends = solver.network, solver.network.ends.tolist()
    volts, on, worst = solution.volts, lanes.attached >= 0, 0.0
    for number, element in enumerate(network.elements):
        own = number - len(network.elements) + 4
        row = rows[lanes.variant, number, :COLUMNS] if own < 0 else lanes.instruments[:, own]
        drop, amps = solution.drop[:, number], solution.current[:, number]
        live = are_live(solver, number, row, solution)
        if own >= 0:
            live &= on[:, :2].all(axis=1) if own < 3 else on[:, 2:].all(axis=1)
        a, b = ends[number]
        off = np.where(live, np.abs(volts[:, a] - volts[:, b] - drop), 0.0)
        carries = live & (row[:, 0] != 0.0)
        off[~carries & (amps != 0.0)] = math.inf
        lawless = np.abs(miss(element, row[carries], drop[carries], amps[carries]))
        off[carries] = np.maximum(off[carries], lawless)
        worst = np.maximum(worst, (off - RELATIVE * np.abs(drop)).max())
    return np.abs(left_over(lanes, solution, network.ends)).max(), worst


def test_every_fault_in_every_condition(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: np.ndarray
) -> None:
    solver = shipped_solver
    for condition in positions(shipped):
        here = configured(shipped, solver.network, shipped_rows, condition)
        lanes = solver.lanes(np.arange(len(here)))
        solution = solver.solve(here, lanes)
        assert not solution.status.any()
        kirchhoff, law = solver.residuals(here, lanes, solution)
        assert kirchhoff.max() < AMPERES
        assert law.max() < VOLTS
        amps, volts = recomputed(solver, here, lanes, solution)
        assert amps < AMPERES
        assert volts < VOLTS


def test_every_fault_with_an_instrument_in_the_circuit(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: np.ndarray
) -> None:
    """One instrument a circuit, drawn by its name; all of them in the long line."""
    kind = KINDS[zlib.crc32(shipped.name.encode()) % len(KINDS)]
    obeys_with(kind, shipped, shipped_solver, shipped_rows)


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_every_fault_with_every_instrument_in_the_circuit(
    shipped: Circuit, shipped_solver: Solver, shipped_rows: np.ndarray, kind: str
) -> None:
    obeys_with(kind, shipped, shipped_solver, shipped_rows)


def obeys_with(kind: str, shipped: Circuit, solver: Solver, shipped_rows: np.ndarray) -> None:
    """Have leads on random pairs of points, a different pair for every fault."""
    rng = np.random.default_rng(5)
    rows = configured(shipped, solver.network, shipped_rows, positions(shipped)[-1])
    lanes = solver.lanes(np.arange(len(rows)))
    number, row = {
        "volts": (0, (1 / multimeter.INPUT_RESISTANCE, 0.0, 0.0, 0.0, 0.0)),
        "ohms": (0, (1 / multimeter.SERIES[0], multimeter.TEST_VOLTAGE, 0.0, 0.0, 0.0)),
        "lamp": (1, (1.0, 0.0, *lamp.SHAPE)),
        "amps": (2, (1 / multimeter.SHUNT, 0.0, multimeter.SHUNT_FUSE, 0.0, 0.0)),
    }[kind]
    lanes.instruments[:, number] = row
    lanes.attached[:, :2] = rng.integers(0, len(solver.network.nodes) - 4, (len(rows), 2))
    solution = solver.solve(rows, lanes)
    solved = np.flatnonzero(solution.status == 0)
    assert len(solved) > 0.9 * len(rows)
    kirchhoff, law = solver.residuals(rows, lanes, solution)
    assert kirchhoff[solved].max() < AMPERES
    assert law[solved].max() < VOLTS
    kept = Solution(
        solution.volts[solved],
        solution.drop[solved],
        solution.current[solved],
        solution.closed[solved],
        solution.blown[solved],
        solution.status[solved],
        solution.solutions,
        solution.worst[solved],
    )
    few = Lanes(
        lanes.variant[solved],
        lanes.instruments[solved],
        lanes.attached[solved],
        lanes.closed[solved],
        lanes.blown[solved],
    )
    amps, volts = recomputed(solver, rows, few, kept)
    assert amps < AMPERES
    assert volts < VOLTS


@pytest.fixture
def solved(heater: Circuit) -> tuple[Solver, np.ndarray, Lanes, Solution]:
    solver = Solver.of(heater)
    on = Configuration((("key", "run"), ("heater switch", "on")))
    rows = configured(heater, solver.network, stack_rows([heater]), on)
    lanes = solver.lanes(np.array([0]))
    lanes.instruments[:, 0, :2] = (1e-3, 0.0)
    lanes.attached[:, :2] = (solver.network.node("E9.1"), 0)
    return solver, rows, lanes, solver.solve(rows, lanes)


def planted(values: np.ndarray, number: int, error: float) -> np.ndarray:
    wrong = values.copy()
    wrong[0, number] += error
    return wrong


def test_an_error_planted_anywhere_in_the_currents_is_seen(solved: tuple) -> None:
    solver, rows, lanes, solution = solved
    for number in range(len(solver.network.elements)):
        wrong = replace(solution, current=planted(solution.current, number, 1e-6))
        kirchhoff, _law = solver.residuals(rows, lanes, wrong)
        assert kirchhoff[0] == pytest.approx(1e-6, rel=1e-3)


def test_an_error_planted_in_a_drop_or_a_node_is_seen(solved: tuple) -> None:
    solver, rows, lanes, solution = solved
    loose = {"jumper"}
    for number, element in enumerate(solver.network.elements):
        wrong = replace(solution, drop=planted(solution.drop, number, 1e-6))
        _kirchhoff, law = solver.residuals(rows, lanes, wrong)
        assert law[0] > 5e-7 or element.name in loose
    for node in range(1, len(solver.network.nodes) - 2):
        wrong = replace(solution, volts=planted(solution.volts, node, 1e-6))
        _kirchhoff, law = solver.residuals(rows, lanes, wrong)
        assert law[0] > 5e-7


def test_a_state_that_is_not_so_is_seen(solved: tuple) -> None:
    """A contact said to be open that carries current; a blown fuse that does."""
    solver, rows, lanes, solution = solved
    for wrong in (
        replace(solution, closed=1 - solution.closed),
        replace(solution, blown=1 - solution.blown),
    ):
        assert math.isinf(solver.residuals(rows, lanes, wrong)[1][0])


def test_with_one_lead_in_the_air_nothing_flows(solved: tuple) -> None:
    solver, rows, lanes, solution = solved
    lanes.instruments[:, 0, :2] = (1e-3, 3.0)
    lanes.attached[:, 1] = -1
    alone = solver.solve(rows, lanes)
    assert alone.current[0, solver.network.element("meter")] == 0.0
    kirchhoff, law = solver.residuals(rows, lanes, alone)
    assert kirchhoff[0] < AMPERES
    assert law[0] < VOLTS
    assert solution.current[0, solver.network.element("meter")] > 1e-3
