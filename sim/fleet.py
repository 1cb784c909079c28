"""Variants of one vehicle that share a solver, and what they remember at hand-over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.bus import live
from sim.circuit import Circuit
from sim.diagnosis.carried import Carried, driven, driving, solved_at
from sim.diagnosis.vehicle import control_units
from sim.modules.loop import held_after, solve_standing
from sim.modules.wiring import Modules
from sim.network import Floats, configured, stack_rows
from sim.situation import Memory, Situation
from sim.slowtime import Slow
from sim.solver.steady import Solver


@dataclass(frozen=True, slots=True)
class Fleet:
    """Variants of one circuit (faults, values) that share a solver; `rows` is (V, E, 13)."""

    solver: Solver
    circuits: tuple[Circuit, ...]
    rows: Floats
    slow: Slow
    modules: Modules

    @classmethod
    def of(cls, circuits: Sequence[Circuit], solver: Solver | None = None) -> Fleet:
        """Gather variants; the solver is made from the first if none is given."""
        shared = solver or Solver.of(circuits[0])
        slow = Slow.of(shared.network, circuits)
        modules = Modules.of(shared.network, circuits[0])
        return cls(shared, tuple(circuits), stack_rows(circuits), slow, modules)

    def only(self, keep: npt.NDArray[np.bool_]) -> Fleet:
        """Return the fleet of those variants for which `keep` (V,) is true."""
        circuits = tuple(c for c, kept in zip(self.circuits, keep, strict=True) if kept)
        slow = Slow.of(self.solver.network, circuits)
        return Fleet(self.solver, circuits, self.rows[keep], slow, self.modules)

    def fresh_memory(
        self, situation: Situation | None = None, *, driven_with: bool = True
    ) -> Memory:
        """Return the memory of vehicles just handed over: what blows by itself has blown.

        Parameters
        ----------
        situation : Situation, optional
            The bench at hand-over; every control in its first position if not given.
        driven_with : bool
            Whether control units carry what they have judged while the customer drove. A scan tool
            alone asks for it; all else shows the same bits without.
        """
        start = situation or Situation()
        circuit, lanes = self.circuits[0], self.solver.lanes(np.arange(len(self.circuits)))
        rows = configured(circuit, self.solver.network, self.rows, start.configuration)
        memory = self.slow.fresh(lanes.closed, lanes.blown)
        present = self.slow.present(circuit, rows, start, memory)
        solution = solve_standing(self.solver, self.modules, present, lanes, start.clock)
        held = held_after(solution, None)
        memory = replace(memory, closed=solution.closed, blown=solution.blown, modules=held)
        units = self._driven(start, memory) if driven_with else ()
        return replace(self.slow.powered(memory, solution), units=units)

    def _driven(self, start: Situation, memory: Memory) -> Carried:
        """Return what the control units carry that the customer has driven with."""
        circuit, network = self.circuits[0], self.solver.network
        units = control_units(circuit)
        if not units:
            return ()
        controls = {**dict(start.controls), **driving(circuit)}
        standing = replace(start, controls=tuple(sorted(controls.items()))).configuration
        rows = configured(circuit, network, self.rows, standing)
        lanes = self.solver.lanes(np.arange(len(self.circuits)))
        lanes = replace(lanes, closed=memory.closed, blown=memory.blown)
        solution = solve_standing(self.solver, self.modules, rows, lanes, start.clock)
        solution = live.on_bus(self.solver, rows, lanes, solution)
        shared = (network, rows)
        return driven(units, solved_at(self.circuits, self.modules, shared, solution, start.clock))
