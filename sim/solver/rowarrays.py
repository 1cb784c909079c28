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
    siemens, pushes = np.empty((elements, lanes)), np.zeros(elements, dtype=bool)
    in_line = bool((np.diff(variant) == 1).all())
    which = slice(variant[0], variant[-1] + 1) if in_line else variant
    for first in range(0, lanes, TOGETHER):
        some = variant[first : first + TOGETHER]
        block = rows[some[0] : some[-1] + 1] if in_line else rows.take(some, axis=0)
        siemens[:, first : first + len(some)] = block[:, :, 0].T
        pushes |= block[:, :, 1].any(axis=0)
    own = instruments.T  # (5, 4, L)
    siemens[-INSTRUMENTS:], pushes[-INSTRUMENTS:] = own[0], own[1].any(axis=1)
    strange = p.quiet[pushes[p.quiet]]
    if len(strange):
        return int(strange[0])
    emf = np.empty((len(p.pushed), lanes))
    for row, number in zip(emf, p.pushed.tolist(), strict=True):
        own_row = number - elements + INSTRUMENTS
        row[:] = rows[which, number, 1] if own_row < 0 else own[1, own_row]
    lists = (p.curved, p.shifting, p.limited)
    return Gathered(siemens, emf, *(_whole(each, rows, which, own) for each in lists))


def _whole(numbers: Ints, rows: Floats, which: slice | Ints, own: Floats) -> Floats:
    """Return the rows (5, n, L) of some elements."""
    found = np.empty((COLUMNS, len(numbers), own.shape[2]))
    for at, number in enumerate(numbers.tolist()):
        own_row = number - rows.shape[1] + INSTRUMENTS
        mine = rows[which, number, :COLUMNS].T if own_row < 0 else own[:, own_row]
        found[:, at] = mine
    return found
