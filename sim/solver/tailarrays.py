"""The iteration of the tail without compiled code; lanes that have come to rest leave.

Many lanes are rows of arrays; the last few are plain numbers, each lane by itself (`Part`). What
lamps and diodes do is worked out for all lanes at once either way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.compiled import Number
from sim.network import Floats, Ints
from sim.solver.curves import Curves
from sim.solver.newton import CALM, MAX_NEWTON
from sim.solver.program import Program
from sim.solver.sweeps import Edgewise, eliminate, go_back

FEW = 6  # lanes up to which plain numbers are quicker than arrays; ours, measured


@dataclass(frozen=True, slots=True)
class Part:
    """Conductances and EMFs of the edges: rows of all lanes, or numbers of one of them."""

    g: Edgewise
    j: Edgewise

    def only(self, on: Ints) -> Part:
        """Return rows of some of the lanes."""
        return Part(*(_each(edges, lambda row: row.take(on)) for edges in (self.g, self.j)))

    def split(self, lanes: int) -> list[Part]:
        """Return every lane by itself."""
        return [
            Part(*(_each(edges, lambda row, at=at: row.item(at)) for edges in (self.g, self.j)))
            for at in range(lanes)
        ]


def _each(edges: Edgewise, change: Number) -> Edgewise:
    return [None if edge is None else change(edge) for edge in edges]


class Tail:
    """The tail of some lanes once the straight nodes are gone.

    Parameters
    ----------
    program : Program
    parts : list of Part
        One of all lanes, or one for each.
    curves : Curves
        Their curved elements; as the lanes leave them once they rest.

    Attributes
    ----------
    drops : list of (list by edge)
        What `iterate` found, for each part: V across the edges of the tail.
    culprit : int array (L,)
        For lanes that never rest the element that misses its law, as its number in `curved` plus 1.
    """

    def __init__(self, program: Program, parts: list[Part], curves: Curves) -> None:
        self.stars = program.stars.late
        self.edges, self.tail_edges = program.curved_edge.tolist(), program.tail_edges.tolist()
        self.parts, self.curves, self.lanes = parts, curves, curves.lines.shape[2]
        self.alone = len(parts) == self.lanes
        self.drops: list[Edgewise] = [[None] * (program.edges + 1) for _part in parts]
        self.culprit = np.zeros(self.lanes, dtype=np.int64)

    def iterate(self, *, again: bool) -> tuple[np.ndarray, int]:
        """Iterate until every lane rests; return (which do, linear solutions made)."""
        self.curves.begin(again=again)
        converged = np.zeros(self.lanes, dtype=bool)
        on, made, parts, curves = np.arange(self.lanes), 0, self.parts, self.curves
        flow = np.zeros(curves.lines.shape[1:])
        for step in range(MAX_NEWTON):
            found = [self._solve(parts, number, curves) for number in range(len(parts))]
            made += len(on)
            drops = self._across(found, curves)
            if step < CALM:
                culprit, following = curves.step(drops)
            else:
                culprit, following = curves.search(drops, flow, whole=step == CALM)
            rests, goes = np.flatnonzero(culprit == 0), np.flatnonzero(culprit)
            if len(rests):
                converged[on[rests]] = True
                self._leave(on, rests, found, curves)
                self.curves.amps[:, on[rests]] = following[3][:, rests]
            if not len(goes):
                break
            self.culprit[on[goes]] = culprit[goes]
            if len(rests):
                on, parts = on[goes], self._staying(parts, goes)
                curves, flow = curves.only(goes), flow[:, goes]
                following = following[:3].take(goes, axis=2)
            curves.lines = following[:3]
        else:
            self._give_up(on)
        return converged, made

    def _solve(self, parts: list[Part], number: int, curves: Curves) -> Edgewise:
        """Return the drops across the edges of the tail in the straightened network of a part."""
        g, j = parts[number].g.copy(), parts[number].j.copy()
        _points, slopes, pushes = curves.lines
        if len(parts) == len(slopes[0]):  # plain numbers
            slopes, pushes = slopes[:, number].tolist(), pushes[:, number].tolist()
        for edge, sign, at in zip(self.edges, curves.signs, curves.rank, strict=True):
            slope, push = slopes[at], pushes[at] if sign > 0.0 else -pushes[at]
            g[edge] = slope if g[edge] is None else g[edge] + slope
            j[edge] = push if j[edge] is None else j[edge] + push
        drops: Edgewise = [None] * len(g)
        go_back(self.stars, g, eliminate(self.stars, g, j), drops)
        return drops

    def _across(self, found: list[Edgewise], curves: Curves) -> Floats:
        """Return V across the curved elements of all lanes, in the order of `curves`."""
        across = np.empty(curves.lines.shape[1:])
        for edge, sign, at in zip(self.edges, curves.signs, curves.rank, strict=True):
            if len(found) == 1:
                np.multiply(found[0][edge], sign, out=across[at])
            else:
                across[at] = [sign * drops[edge] for drops in found]
        return across

    def _leave(self, on: Ints, rests: Ints, found: list[Edgewise], curves: Curves) -> None:
        """Keep drops and lines of lanes that rest."""
        home = on[rests]
        if curves is not self.curves:
            self.curves.lines[..., home] = curves.lines[..., rests]
        if self.alone:
            for lane, at in zip(home.tolist(), rests.tolist(), strict=True):
                self.drops[lane] = found[at]
        elif len(home) == self.lanes:
            self.drops = found
        else:
            self._scatter(home, rests, found)

    def _scatter(self, home: Ints, rests: Ints, found: list[Edgewise]) -> None:
        whole = self.drops[0]
        for edge in self.tail_edges:
            if whole[edge] is None:
                whole[edge] = np.zeros(self.lanes)
            if len(found) == 1:
                row = found[0][edge]
                whole[edge][home] = row if np.ndim(row) == 0 else row[rests]
            else:
                whole[edge][home] = [found[at][edge] for at in rests.tolist()]

    def _staying(self, parts: list[Part], goes: Ints) -> list[Part]:
        if len(parts) > 1 or self.lanes == 1:
            return [parts[at] for at in goes.tolist()]
        some = parts[0].only(goes)
        return some.split(len(goes)) if len(goes) <= FEW else [some]

    def _give_up(self, on: Ints) -> None:
        """Let lanes that never rest have some drops, which mean nothing."""
        for lane in on.tolist():
            drops = self.drops[lane] if self.alone else self.drops[0]
            for edge in self.tail_edges:
                if drops[edge] is None:
                    drops[edge] = 0.0 if self.alone else np.zeros(self.lanes)
