"""Steady state of many variants of one circuit in one call, checked on return.

Every returned solution satisfies Kirchhoff's current law at every node within 1e-9 A and every
element's own law within 1e-9 V + 1e-9 |V|; `Solution.residuals` recomputes both from the drops and
currents alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit
from sim.errors import SolveError
from sim.network import COLUMNS, Floats, Ints, Network, build_network
from sim.solver.kernel import NOT_CONVERGED, OSCILLATING, solve_lanes
from sim.solver.program import Program, build_program
from sim.solver.residuals import (
    current_residual,
    law_residual,
    live_conductances,
    node_residual,
)

LEAK = 1e-12  # S, from every node of the circuit to the body: a dead wire is not at any voltage
LEAD_RESISTANCE = 0.05  # ohm, one meter lead with its tip; common practice, no source
NOWHERE = -1


@dataclass(frozen=True, slots=True)
class Lanes:
    """What to solve: which row, what is between the leads, where the leads are, states before.

    Attributes
    ----------
    variant : int array (L,)
    instruments : float array (L, 4, 5)
        Rows of meter, meter lamp, meter shunt and jumper.
    attached : int array (L, 4)
        Node of red, black, jumper from, jumper to; -1 for nowhere.
    closed, blown : int arrays (L, R), (L, F)
        1 for a relay pulled in, 1 for a fuse blown.
    """

    variant: Ints
    instruments: Floats
    attached: Ints
    closed: Ints
    blown: Ints


@dataclass(frozen=True, slots=True)
class Solution:
    """Steady states of L lanes.

    Attributes
    ----------
    volts : float array (L, N)
        Against the body.
    drop, current : float arrays (L, E)
        From a to b of each element, V and A.
    closed, blown : int arrays (L, R), (L, F)
        States after.
    status : int array (L,)
        0 solved, 1 not converged, 2 oscillating.
    """

    volts: Floats
    drop: Floats
    current: Floats
    closed: Ints
    blown: Ints
    status: Ints
    solutions: int


@dataclass(frozen=True, slots=True)
class Solver:
    """A network with its elimination program; `lead` is one lead's resistance in ohm."""

    network: Network
    program: Program
    leak: float = LEAK
    lead: float = LEAD_RESISTANCE

    @classmethod
    def of(cls, circuit: Circuit, *, leak: float = LEAK) -> Solver:
        """Prepare the solver of a circuit, good for all of its faults and configurations."""
        network = build_network(circuit)
        return cls(network, build_program(network), leak)

    def lanes(self, variant: Ints) -> Lanes:
        """Return lanes with loose leads, relays at rest and fuses whole."""
        count, network = len(variant), self.network
        return Lanes(
            variant=variant,
            instruments=np.zeros((count, 4, COLUMNS)) + _loose(),
            attached=np.full((count, 4), NOWHERE, dtype=np.int64),
            closed=np.zeros((count, len(network.relay_names)), dtype=np.int64),
            blown=np.zeros((count, len(network.fuse_names)), dtype=np.int64),
        )

    def solve(self, rows: Floats, lanes: Lanes) -> Solution:
        """Solve all lanes; `status` says which have no steady state (see `explain`)."""
        count, network = len(lanes.variant), self.network
        closed, blown = lanes.closed.copy(), lanes.blown.copy()
        elements, nodes = len(network.elements), len(network.nodes)
        drop, current = np.zeros((count, elements)), np.zeros((count, elements))
        volts, status = np.zeros((count, nodes)), np.zeros(count, dtype=np.int64)
        solutions = solve_lanes(
            self.program,
            np.ascontiguousarray(rows[..., :COLUMNS]),
            lanes.variant,
            lanes.instruments,
            lanes.attached,
            1.0 / self.lead,
            self.leak,
            closed,
            blown,
            drop,
            current,
            volts,
            status,
        )
        return Solution(volts, drop, current, closed, blown, status, int(solutions))

    def residuals(self, rows: Floats, lanes: Lanes, solution: Solution) -> tuple[Floats, Floats]:
        """Return the worst violation per lane: of Kirchhoff's law in A, of an element's law in V.

        The second is what is left after 1e-9 |V| of each element's own voltage is allowed; it
        counts leads, and drops that are no difference of two node voltages, like elements.
        """
        network, attached = self.network, lanes.attached
        mine = rows[lanes.variant][..., :COLUMNS].copy()
        mine[:, -4:] = lanes.instruments
        on = attached >= 0
        mine[:, -4:-1, 0] *= (on[:, 0] & on[:, 1])[:, None]
        mine[:, -1, 0] *= on[:, 2] & on[:, 3]
        live = live_conductances(network, mine, solution.closed, solution.blown)
        balance, carried = current_residual(
            network, self.leak, attached, solution.volts, solution.current
        )
        ends = solution.volts[:, -4:]
        points = np.take_along_axis(solution.volts, np.maximum(attached, 0), axis=1)
        leads = np.where(attached >= 0, points - ends - self.lead * carried, 0.0)
        laws = (
            law_residual(network, mine, live, solution.drop, solution.current),
            node_residual(network, attached, solution.volts, solution.drop),
            np.abs(leads).max(axis=1),
        )
        return balance, np.maximum.reduce(laws)

    def explain(self, solution: Solution, lane: int) -> SolveError:
        """Return the error that says why a lane has no steady state."""
        if solution.status[lane] == OSCILLATING:
            names = ", ".join(self.network.relay_names) or "none"
            return SolveError(
                f"the circuit never comes to rest: a relay's contact switches its own coil off "
                f"and on again (relays here: {names}); look for a coil fed through its own contact"
            )
        if solution.status[lane] == NOT_CONVERGED:
            return SolveError(
                "no operating point found: lamps and diodes do not settle; look for a diode "
                "straight across the battery or a value that is off by powers of ten"
            )
        return SolveError("solved: nothing to explain")


def _loose() -> Floats:
    """Return instrument rows with nothing between the leads."""
    rows = np.zeros((4, COLUMNS))
    rows[1, 2:] = 1.0
    rows[2:, 2] = 1.0
    return rows
