"""Motors, starter, alternator, drivers, sensors and the CAN pair against ngspice, node by node.

The circuit file is that of `tests/sim/parts/test_machines.py`. Where the alternator charges, its
regulator (200 S between two limits) often keeps ngspice from converging from nothing; node sets
then tell it where to begin, one after the other until it does. The tolerance is that of
`test_ngspice`.
"""

import numpy as np
import pytest

from sim.network import Configuration, configured
from sim.solver.steady import Solver
from sim.spice import node_names
from tests.reference.test_ngspice import fleet, misses, netlists, run_ngspice
from tests.sim.parts.test_machines import DRIVES, FILE

EVERY = 150  # of some four hundred faults, so that it takes seconds


def begun(program: str, netlist: str, solver: Solver) -> dict[str, float]:
    """Give ngspice's answer from the first of a few beginnings from which it converges."""
    names = dict(zip(solver.network.nodes, node_names(solver.network), strict=True))
    for points in ((), ("B1.+",), ("G1.B+b",), ("B1.+", "G1.B+b", "G1.Lb")):
        guesses = [f".nodeset v({names[point]})=14" for point in points]
        lines = "\n".join([*guesses, ".options"])
        answer = run_ngspice(program, netlist.replace(".options", lines, 1))
        if answer:
            return answer
    return {}


@pytest.mark.parametrize("drive", DRIVES, ids=lambda drive: str(dict(drive.controls)))
def test_every_node_agrees(ngspice: str, drive: Configuration) -> None:
    one = fleet(FILE)
    rows = configured(one.circuit, one.solver.network, one.rows[::EVERY], drive)
    lanes = one.solver.lanes(np.arange(len(rows)))
    solution = one.solver.solve(rows, lanes)
    assert not solution.status.any()
    answers = [
        begun(ngspice, text, one.solver) for text in netlists(one.solver, rows, lanes, solution)
    ]
    assert misses(one.solver, lanes, solution, answers) == []
