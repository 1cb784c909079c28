"""Variants of one vehicle that share a solver, and what they remember at hand-over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit
from sim.network import Floats, configured, stack_rows
from sim.situation import Memory, Situation
from sim.solver.steady import Solver


@dataclass(frozen=True, slots=True)
class Fleet:
    """Variants of one circuit (faults, values) that share a solver; `rows` is (V, E, 13)."""

    solver: Solver
    circuits: tuple[Circuit, ...]
    rows: Floats

    @classmethod
    def of(cls, circuits: Sequence[Circuit], solver: Solver | None = None) -> Fleet:
        """Gather variants; the solver is made from the first if none is given."""
        return cls(solver or Solver.of(circuits[0]), tuple(circuits), stack_rows(circuits))

    def fresh_memory(self, situation: Situation | None = None) -> Memory:
        """Return the memory of vehicles just handed over: what blows by itself has blown.

        `situation` is the bench at hand-over; every control in its first position if not given.
        """
        at_hand_over = (situation or Situation()).configuration
        rows = configured(self.circuits[0], self.solver.network, self.rows, at_hand_over)
        solution = self.solver.solve(rows, self.solver.lanes(np.arange(len(self.circuits))))
        return Memory(solution.closed, solution.blown)
