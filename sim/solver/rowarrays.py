"""Rows of the network become arrays, an element a row and a lane a column."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.network import COLUMNS, Floats, Ints
from sim.solver.program import Program

TOGETHER = 64  # lanes read at a time: what was read is still near when it is put in place; ours
INSTRUMENTS = 4  # the last elements, of which every lane has rows of its own


@dataclass(frozen=True, slots=True)
class Gathered:
    """What the rows of some lanes say.

    Attributes
    ----------
    siemens : float array (E, L)
        Conductance of every element.
    emf : float array (P, L)
        EMF in V of each of `Program.pushing`.
    bent, shifts, limits : float arrays (5, n, L)
        Whole rows of the curved elements, of those that switch, and of those that are judged.
    """

    siemens: Floats
    emf: Floats
    bent: Floats
    shifts: Floats
    limits: Floats

    def only(self, on: Ints) -> Gathered:
        """Return what is asked of lanes that go on; their curved elements are elsewhere by then."""
        return Gathered(
            self.siemens.take(on, axis=1),
            self.emf.take(on, axis=1),
            self.bent[..., :0],
            self.shifts.take(on, axis=2),
            self.limits.take(on, axis=2),
        )


def gather(p: Program, rows: Floats, variant: Ints, instruments: Floats) -> Gathered | int:
    """Read the rows of some lanes, or return an element with an EMF not provided for."""
    lanes, elements = len(variant), rows.shape[1]
    lists = (p.curved, p.shifting, p.limited)
    whole = np.concatenate(lists)
    siemens, emf = np.empty((elements, lanes)), np.empty((len(p.pushed), lanes))
    full, pushes = np.empty((COLUMNS, len(whole), lanes)), np.zeros(elements, dtype=bool)
    in_line = bool((np.diff(variant) == 1).all())
    for first in range(0, lanes, TOGETHER):
        some = variant[first : first + TOGETHER]
        block = rows[some[0] : some[-1] + 1] if in_line else rows.take(some, axis=0)
        here = slice(first, first + len(some))
        siemens[:, here] = block[:, :, 0].T
        emf[:, here] = block[:, p.pushed, 1].T
        full[:, :, here] = block[:, whole, :COLUMNS].T
        pushes |= (block[:, :, 1] != 0.0).any(axis=0)
    own = instruments.T  # (5, 4, L)
    siemens[-INSTRUMENTS:], pushes[-INSTRUMENTS:] = own[0], own[1].any(axis=1)
    for numbers, home in ((p.pushed, emf[None]), (whole, full)):
        for at in np.flatnonzero(numbers >= elements - INSTRUMENTS).tolist():
            mine = own[:, numbers[at] - elements + INSTRUMENTS]
            home[:, at] = mine[1] if home.base is emf else mine
    strange = p.quiet[pushes[p.quiet]]
    if len(strange):
        return int(strange[0])
    ends = np.cumsum([len(numbers) for numbers in lists])[:-1]
    return Gathered(siemens, emf, *np.split(full, ends, axis=1))
