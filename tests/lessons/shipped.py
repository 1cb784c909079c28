"""Every shipped case, read and lined up once for a test run, and its vehicle on the bench."""

from functools import cache

import numpy as np

from grader.bands import UNITS
from grader.casefile import Case, read_case
from grader.prepared import Prepared, prepare
from grader.suspects import Lineup, line_up, start_situation
from lessons.catalogue import CIRCUITS, shipped_cases
from sim.action import Reading
from sim.bench import Bench
from sim.circuit import Circuit
from sim.solver.steady import Solver

CASES = shipped_cases()


@cache
def case(name: str) -> Case:
    return read_case(CASES[name], CIRCUITS)


@cache
def lineup(name: str) -> Lineup:
    return line_up(case(name))


@cache
def prepared(name: str) -> Prepared:
    return prepare(case(name))


def at_start(name: str, circuit: Circuit, solver: Solver) -> Bench:
    return Bench(circuit, solver, start_situation(case(name)))


def number(reading: Reading) -> float:
    """Give a reading in SI."""
    return np.inf if reading.value == "OL" else float(reading.value) * UNITS[reading.unit]
