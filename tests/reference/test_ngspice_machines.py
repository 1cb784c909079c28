"""Motors, starter, alternator, drivers, sensors and the CAN pair against ngspice, node by node.

The circuit file is that of `tests/sim/parts/test_machines.py`. A node set only tells ngspice where
to begin: without it the charging alternator's regulator, 200 S between two limits, does not
converge there. The tolerance is that of `test_ngspice`.
"""

import numpy as np
import pytest

from sim.network import Configuration, configured
from sim.solver.steady import Solution, Solver
from sim.spice import node_names
from tests.reference.test_ngspice import fleet, misses, netlists, run_all
from tests.sim.parts.test_machines import DRIVES, FILE

CHARGING = 13.0  # V
EVERY = 150  # of some four hundred faults, so that it takes seconds


def begun_at(netlist: str, solver: Solver, solution: Solution, lane: int) -> str:
    """Give the netlist with a first guess of 14 V at the battery, if the alternator charges."""
    if solution.volts[lane, solver.network.node("B1.+")] < CHARGING:
        return netlist
    post = node_names(solver.network)[solver.network.node("B1.+")]
    return netlist.replace(".options", f".nodeset v({post})=14\n.options", 1)


@pytest.mark.parametrize("drive", DRIVES, ids=lambda drive: str(dict(drive.controls)))
def test_every_node_agrees(ngspice: str, drive: Configuration) -> None:
    one = fleet(FILE)
    rows = configured(one.circuit, one.solver.network, one.rows[::EVERY], drive)
    lanes = one.solver.lanes(np.arange(len(rows)))
    solution = one.solver.solve(rows, lanes)
    assert not solution.status.any()
    texts = [
        begun_at(text, one.solver, solution, lane)
        for lane, text in enumerate(netlists(one.solver, rows, lanes, solution))
    ]
    answers = run_all(ngspice, texts)
    assert misses(one.solver, lanes, solution, answers) == []
