"""Steady state of many variants of one circuit in one call, checked on return.

Every returned solution satisfies Kirchhoff's current law at every node within 1e-9 A and every
element's own law within 1e-9 V + 1e-9 |V|; `Solution.residuals` recomputes both from the drops and
currents alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from sim.circuit import Circuit
from sim.compiled import compiles
from sim.errors import SolveError
from sim.network import COLUMNS, LEADS, Floats, Ints, Network, build_network, owner_of
from sim.solver.arrays import solve_in_arrays
from sim.solver.compiledway import solve_compiled
from sim.solver.lanes import Lanes, Solution
from sim.solver.laws import NOT_CONVERGED, OSCILLATING
from sim.solver.program import NOWHERE, Program, build_program
from sim.solver.programs import LOOSE, Executor, Leads, Programs, groups_of
from sim.solver.residuals import (
    current_residual,
    law_residual,
    live_conductances,
    node_residual,
)

__all__ = ["LEAD_RESISTANCE", "LEAK", "Lanes", "Solution", "Solver"]

LEAK = 1e-12  # S, from every node of the circuit to the body: a dead wire is not at any voltage
LEAD_RESISTANCE = 0.05  # ohm, one meter lead with its tip; common practice, no source


@dataclass(frozen=True, slots=True)
class Solver:
    """A network with its elimination programs.

    Attributes
    ----------
    network : Network
    program : Program
        With loose leads.
    leak : float
        Conductance in S from every point to the body.
    lead : float
        Resistance in ohm of one lead.
    plain : bool
        Whether to solve in whole arrays; False: by compiled code. The bits are the same.
    programs : Programs
        Those with leads put on, made when first asked for.
    """

    network: Network
    program: Program
    leak: float = LEAK
    lead: float = LEAD_RESISTANCE
    plain: bool = field(default_factory=lambda: not compiles())
    programs: Programs = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Begin with the program for loose leads alone."""
        object.__setattr__(self, "programs", Programs(self.network, self.program))

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
        """Solve all lanes; `status` says which have no steady state (see `explain`).

        Lanes are independent; a lane without a steady state has finite numbers that mean nothing.
        """
        count, network = len(lanes.variant), self.network
        loose = bool((lanes.attached < 0).all())
        into = Solution(
            volts=np.empty((count, len(network.nodes))),
            drop=np.empty((count, len(network.elements))),
            current=np.empty((count, len(network.elements))),
            closed=lanes.closed.astype(np.int64, order="C"),
            blown=lanes.blown.astype(np.int64, order="C"),
            status=np.empty(count, dtype=np.int64),
            solutions=0,
            worst=np.full(count, NOWHERE),
        )
        variant = _laid_out(lanes.variant, np.int64)
        instruments = _laid_out(lanes.instruments, np.float64)
        if variant is not lanes.variant or instruments is not lanes.instruments:
            lanes = replace(lanes, variant=variant, instruments=instruments)
        rows = _laid_out(rows, np.float64)
        execute = solve_in_arrays if self.plain else solve_compiled
        made = 0
        if loose:
            made = self._solve_group(execute, rows, lanes, LOOSE, np.arange(count), into)
        else:
            for leads, which in groups_of(lanes.attached, lanes.instruments):
                made += self._solve_group(execute, rows, lanes, leads, which, into)
            self._follow_single_leads(lanes.attached, into.volts)
        object.__setattr__(into, "solutions", made)  # it is nobody else's yet
        return into

    def _solve_group(
        self,
        execute: Executor,
        rows: Floats,
        lanes: Lanes,
        leads: Leads,
        which: Ints,
        solution: Solution,
    ) -> int:
        """Solve lanes whose leads are on the same points; return the linear solutions made."""
        while True:
            program = self.programs.get(leads)
            made, strange = execute(
                program,
                self.network,
                rows,
                lanes.variant,
                lanes.instruments,
                which,
                1.0 / self.lead,
                self.leak,
                solution,
            )
            if strange < 0:
                return made
            self.programs.foresee(strange)
            solution.closed[which] = lanes.closed[which]
            solution.blown[which] = lanes.blown[which]

    @staticmethod
    def _follow_single_leads(attached: Ints, volts: Floats) -> None:
        """Give a lead whose partner is loose the voltage of its point."""
        for one, other in ((0, 1), (1, 0), (2, 3), (3, 2)):
            alone = np.flatnonzero((attached[:, one] >= 0) & (attached[:, other] < 0))
            if len(alone):
                volts[alone, one - len(LEADS)] = volts[alone, attached[alone, one]]

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
        if solution.status[lane] == NOT_CONVERGED and solution.worst[lane] < 0:
            return SolveError(
                "no operating point found: numbers run out of range; look for a value that is off "
                "by powers of ten"
            )
        element = self.network.elements[solution.worst[lane]]
        part, where = owner_of(element), f"between {element.a} and {element.b}"
        if solution.status[lane] == OSCILLATING:
            return SolveError(
                f"the circuit never comes to rest: relay {element.relay or part}, whose coil is "
                f"{where}, switches itself off and on again; look for a coil fed through its own "
                f"contact"
            )
        if solution.status[lane] == NOT_CONVERGED:
            return SolveError(
                f"no operating point found: {part} ({element.law.name.lower()} {where}) does not "
                f"settle; look for a diode straight across the battery or a value that is off by "
                f"powers of ten"
            )
        return SolveError("solved: nothing to explain")


def _laid_out(values: np.ndarray, kind: type) -> np.ndarray:
    """Return an array in the one layout that is compiled for."""
    if values.flags.carray and values.dtype == kind:  # what `require` would find, far sooner
        return values
    return np.require(values, kind, ["C", "W"])


def _loose() -> Floats:
    """Return instrument rows with nothing between the leads."""
    rows = np.zeros((4, COLUMNS))
    rows[1, 2:] = 1.0
    rows[2:, 2] = 1.0
    return rows
