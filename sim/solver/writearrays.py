"""Without compiled code: what lanes have come to is written down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Floats, Ints
from sim.solver.lanes import Solution
from sim.solver.laws import NOT_CONVERGED
from sim.solver.program import Program
from sim.solver.sweeps import Edgewise
from sim.solver.writing import STIFF

FEW_ROWS = 256  # lanes up to which a copy of all edges is quicker than row by row; ours
HUGE = 1e300  # V: some drops below it have a finite sum


@dataclass(frozen=True, slots=True)
class Settled:
    """Lanes that have settled.

    Attributes
    ----------
    program : Program
    leak : float
    lanes, status : int arrays (L,)
    now : float array (E, L)
        Conductances of the straight elements, as they are.
    emf : float array (P, L)
        Of `Program.pushing`.
    amps : float array (C, L)
        Of `Program.curved`.
    """

    program: Program
    leak: float
    lanes: Ints
    status: Ints
    now: Floats
    emf: Floats
    amps: Floats

    def write(self, drops: Edgewise, some: Ints | None, into: Solution) -> None:
        """Write them; nothing but zeros where a lane did not converge.

        `drops` are V across the filled edges, of which these lanes are `some`.
        """
        p = self.program
        if some is not None and isinstance(drops, np.ndarray):
            drops = drops.take(some, axis=1)
        elif some is not None:
            drops = [row.take(some) for row in drops]
        if len(self.lanes) <= FEW_ROWS:
            drops = np.array(drops)
            volts = drops[p.ground_edge] + 0.0  # no zero is left with a sign
            drop = p.element_sign[:, None] * drops[p.element_edge] + 0.0
        else:
            volts, drop = self._by_rows(drops)
        current = self._currents(drop, volts)
        lost = self._lost(drop, volts)
        for values, home in ((volts, into.volts), (drop, into.drop), (current, into.current)):
            if lost.any():
                values[:, lost] = 0.0
            home[self.lanes] = values.T
        into.status[self.lanes] = np.where(lost, NOT_CONVERGED, self.status)

    def _by_rows(self, drops: Edgewise) -> tuple[Floats, Floats]:
        """Return V against the body and across the elements, without a copy of all edges."""
        p = self.program
        volts = np.empty((len(p.ground_edge), len(self.lanes)))
        drop = np.empty((len(p.element_edge), len(self.lanes)))
        for row, edge in zip(volts, p.ground_edge.tolist(), strict=True):
            np.add(drops[edge], 0.0, row)
        signs = p.element_sign.tolist()
        for row, edge, sign in zip(drop, p.element_edge.tolist(), signs, strict=True):
            if sign > 0.0:
                np.add(drops[edge], 0.0, row)
            else:
                np.subtract(0.0, drops[edge], row)
        return volts, drop

    def _currents(self, drop: Floats, volts: Floats) -> Floats:
        p, current = self.program, np.zeros(drop.shape)
        np.multiply(self.now, drop, current)
        for number, emf in zip(p.pushed.tolist(), self.emf, strict=True):
            np.multiply(self.now[number], drop[number] - emf, current[number])
        outside = np.ones(len(drop), dtype=bool)
        outside[p.straight] = False
        current[outside] = 0.0
        current[p.curved] = self.amps
        current += 0.0
        for index, number in enumerate(p.owed.tolist()):
            node = int(p.owed_node[index])
            amps = -self.leak * volts[node] if node > 0 else self.leak * volts[-node]
            for place in range(p.owed_at[index], p.owed_at[index + 1]):
                amps = amps + p.owed_sign[place] * current[p.owed_by[place]]
            stiff = self.now[number] >= STIFF
            current[number] = np.where(stiff, amps + 0.0, current[number])
        return current

    def _lost(self, drop: Floats, volts: Floats) -> Flags:
        """Tell which lanes did not converge, or have numbers out of range."""
        lost: Flags = self.status == NOT_CONVERGED
        if not all(each.min() > -HUGE and each.max() < HUGE for each in (drop, volts)):
            sums = np.abs(drop).sum(axis=0) + np.abs(volts).sum(axis=0)
            lost |= ~np.isfinite(sums)
        return lost
