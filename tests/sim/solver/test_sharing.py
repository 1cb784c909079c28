"""Lanes whose networks are equal are read once, and only these."""

from dataclasses import replace

import numpy as np
import pytest

from sim.circuit import Circuit
from sim.faults import possible_faults, with_faults
from sim.network import Configuration, Floats, configured, stack_rows
from sim.solver.pairs import Meter, all_pairs
from sim.solver.sharing import equal_lanes
from sim.solver.steady import Lanes, Solution, Solver

METER = Meter(10e6, 3.0, (3e3, 10e6), (6e3, 60e6), 0.1)
State = tuple[Solver, Floats, Lanes, Solution]


@pytest.fixture(scope="module")
def state(heater: Circuit) -> State:
    """Give some faults, all switched on, each three times over, and solved."""
    solver = Solver.of(heater)
    faults = [with_faults(heater, chosen) for chosen, _ in possible_faults(heater)[:8]]
    rows = stack_rows([heater, *faults])
    on = Configuration(tuple((c.name, c.positions[-1]) for c in heater.controls.values()))
    rows = configured(heater, solver.network, np.concatenate([rows] * 3), on)
    lanes = solver.lanes(np.arange(len(rows)))
    return solver, rows, lanes, solver.solve(rows, lanes)


def test_a_lane_is_read_for_all_that_are_equal_to_it(state: State) -> None:
    solver, rows, lanes, solution = state
    points = np.arange(1, 12)
    found = all_pairs(*state, points, METER, ohms=True)
    count = len(rows) // 3
    assert found.lanes_read <= count
    for lane in range(len(rows)):
        which = np.array([lane])
        alone = all_pairs(
            solver, rows, lanes.only(which), solution.only(which), points, METER, ohms=True
        )
        assert alone.lanes_read == 1
        assert alone.volts.tobytes() == found.volts[lane].tobytes()
        assert alone.ohms.tobytes() == found.ohms[lane].tobytes()


def test_the_last_bit_of_a_value_tells_two_lanes_apart(state: State) -> None:
    solver, rows, lanes, solution = state
    other = rows.copy()
    count = len(rows) // 3
    first = solver.program.straight[0]
    other[count, first, 0] = np.nextafter(rows[count, first, 0], np.inf)
    _some, mine = equal_lanes(rows, lanes, solution)
    some, apart = equal_lanes(other, lanes, solution)
    assert mine[count] == mine[0]
    assert apart[count] != apart[0]
    assert apart[2 * count] == apart[0]
    assert (some[apart] <= np.arange(len(rows))).all()


def test_the_state_of_a_relay_tells_two_lanes_apart(state: State) -> None:
    _solver, rows, lanes, solution = state
    count = len(rows) // 3
    closed = solution.closed.copy()
    closed[count, 0] = 1 - closed[count, 0]
    _some, mine = equal_lanes(rows, lanes, replace(solution, closed=closed))
    assert mine[count] != mine[0]
    assert mine[2 * count] == mine[0]


def test_values_beyond_all_bounds_are_compared_too(state: State) -> None:
    _solver, rows, lanes, solution = state
    count = len(rows) // 3
    endless = rows.copy()
    endless[:, :, 4] = np.inf
    endless[count, 0, 4] = -np.inf
    _some, mine = equal_lanes(endless, lanes, solution)
    assert mine[count] != mine[0]
    assert mine[2 * count] == mine[0]
