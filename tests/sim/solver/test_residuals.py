"""Every shipped circuit x fault x condition obeys Kirchhoff and the laws of its elements.

The bounds are the project's: 1e-9 A at every node, and 1e-9 V + 1e-9 |V| at every element. The laws
are written out once more here, element by element.
"""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.faults import possible_faults, with_faults
from sim.instruments import lamp, multimeter
from sim.network import COLUMNS, Configuration, configured, stack_rows
from sim.parts.family import Element, Law
from sim.solver.steady import LEAD_RESISTANCE, LEAK, Lanes, Solution, Solver

AMPERES, VOLTS, RELATIVE = 1e-9, 1e-9, 1e-9


def positions(circuit: Circuit) -> list[Configuration]:
    chosen = itertools.product(*(control.positions for control in circuit.controls.values()))
    return [Configuration(tuple(zip(circuit.controls, one, strict=True))) for one in chosen]


def variants(circuit: Circuit) -> list[Circuit]:
    return [circuit, *(with_faults(circuit, faults) for faults, _ in possible_faults(circuit))]


def miss(element: Element, row: list[float], volts: float, amps: float, *, live: bool) -> float:
    """Give by how many V an element misses its law at a drop and a current."""
    siemens, emf, first, second, third = row
    if not live or siemens == 0.0:
        return 0.0 if amps == 0.0 else math.inf
    if element.law is Law.LAMP:
        return volts - amps * (first + second * abs(volts) ** third)
    if element.law is Law.DIODE:
        volts -= emf
        lawful = first * math.expm1(min(volts / second, 200.0)) + 1e-12 * volts
        return (lawful - amps) / (first / second * math.exp(min(volts / second, 200.0)) + 1e-12)
    if element.law is Law.MOTOR:
        back = abs(volts - emf) - abs(amps) / siemens
        lawful = first + second * back + third * back**2 if back > 1e-9 else abs(amps)
        return (lawful - abs(amps)) / (siemens + second + 2 * third * max(back, 0.0))
    if element.law is Law.LIMITER:
        inside = min(max(siemens * (volts - emf), -first), second)
        return (inside + third * (volts - emf) - amps) / (siemens + third)
    return volts - emf - amps / siemens


def is_live(solver: Solver, number: int, row: list[float], solution: Solution, lane: int) -> bool:
    """Tell whether a contact or fuse lets current through; True for everything else."""
    network, element = solver.network, solver.network.elements[number]
    if element.law is Law.FUSE:
        return not solution.blown[lane, network.fuses[number]]
    if element.law is not Law.CONTACT or row[3] == 1.0:
        return row[3] != 2.0 if element.law is Law.CONTACT else True
    pulled = bool(solution.closed[lane, network.relays[number]])
    return row[3] == 0.0 and pulled != (row[2] == 1.0)


def recomputed(solver: Solver, rows: np.ndarray, lanes: Lanes, solution: Solution) -> tuple:
    """Give the worst (A at a node, V beyond the relative part at an element) of all lanes."""
    network, ends = solver.network, solver.network.ends.tolist()
    worst_amps = worst_volts = 0.0
    for lane, variant in enumerate(lanes.variant):
        row = [*rows[variant][:-4, :COLUMNS].tolist(), *lanes.instruments[lane].tolist()]
        current, drops = solution.current[lane].tolist(), solution.drop[lane].tolist()
        volts = solution.volts[lane].tolist()
        out = [LEAK * v for v in volts[:-4]] + [0.0] * 4
        on = lanes.attached[lane] >= 0
        for which in np.flatnonzero(on):
            lead, point = len(volts) - 4 + which, lanes.attached[lane, which]
            amps = (volts[lead] - volts[point]) / LEAD_RESISTANCE
            out[lead] += amps
            out[point] -= amps
        for number, element in enumerate(network.elements):
            (a, b), amps, drop = ends[number], current[number], drops[number]
            out[a] += amps
            out[b] -= amps
            live = is_live(solver, number, row[number], solution, lane)
            first = len(network.elements) - 4
            if number >= first:
                live &= bool(on[:2].all() if number < first + 3 else on[2:].all())
            off = max(abs(miss(element, row[number], drop, amps, live=live)), 0.0)
            if live:
                off = max(off, abs(volts[a] - volts[b] - drop))
            worst_volts = max(worst_volts, off - RELATIVE * abs(drop))
        worst_amps = max(worst_amps, *(abs(amps) for amps in out[1:]))
    return worst_amps, worst_volts


def test_every_fault_in_every_condition(shipped: Circuit) -> None:
    solver, rows = Solver.of(shipped), stack_rows(variants(shipped))
    for condition in positions(shipped):
        here = configured(shipped, solver.network, rows, condition)
        lanes = solver.lanes(np.arange(len(here)))
        solution = solver.solve(here, lanes)
        assert not solution.status.any()
        kirchhoff, law = solver.residuals(here, lanes, solution)
        assert kirchhoff.max() < AMPERES
        assert law.max() < VOLTS
        amps, volts = recomputed(solver, here, lanes, solution)
        assert amps < AMPERES
        assert volts < VOLTS


@pytest.mark.parametrize("kind", ["volts", "ohms", "lamp", "amps"])
def test_every_fault_with_an_instrument_in_the_circuit(shipped: Circuit, kind: str) -> None:
    """Leads on random pairs of points, a different pair for every fault."""
    solver, rng = Solver.of(shipped), np.random.default_rng(5)
    rows = configured(
        shipped, solver.network, stack_rows(variants(shipped)), positions(shipped)[-1]
    )
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
