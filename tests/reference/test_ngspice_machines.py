"""Motors, starter, alternator, drivers, sensors and the CAN pair against ngspice, node by node.

The circuit file is that of `tests/sim/parts/test_machines.py`, the tolerance `test_ngspice`'s.
"""

import numpy as np
import pytest

from sim.network import Configuration, configured
from tests.reference.test_ngspice import fleet, misses, netlists, run_all
from tests.sim.parts.test_machines import DRIVES, FILE

EVERY = 150  # of some four hundred faults, so that it takes seconds


@pytest.mark.parametrize("drive", DRIVES, ids=lambda drive: str(dict(drive.controls)))
def test_every_node_agrees(ngspice: str, drive: Configuration) -> None:
    one = fleet(FILE)
    rows = configured(one.circuit, one.solver.network, one.rows[::EVERY], drive)
    lanes = one.solver.lanes(np.arange(len(rows)))
    solution = one.solver.solve(rows, lanes)
    assert not solution.status.any()
    answers = run_all(ngspice, netlists(one.solver, rows, lanes, solution))
    assert misses(one.solver, lanes, solution, answers) == []
