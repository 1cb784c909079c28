"""The iteration of the tail without compiled code; lanes that have come to rest leave.

Many lanes are rows of arrays; the last few are plain numbers, each lane by itself (`Part`). What
lamps and diodes do is worked out for all lanes at once either way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.network import Floats, Ints
from sim.solver.curves import Curves
from sim.solver.grouping import Star
from sim.solver.newton import CALM, MAX_NEWTON
from sim.solver.numbersweeps import eliminate_numbers, go_back_numbers
from sim.solver.program import Program
from sim.solver.sweeps import Edgewise, eliminate, go_back

FEW = 6  # lanes up to which plain numbers are quicker than arrays; ours, measured


@dataclass(frozen=True, slots=True)
class Part:
    """Conductances and EMFs of the edges: rows of all lanes, or plain numbers of one of them.

    Rows are None and numbers 0 where nothing is.
    """

    g: Edgewise
    j: Edgewise
    plain: bool

    def eliminate(self, stars: Sequence[Star]) -> Edgewise:
        """Eliminate nodes; see `sim.solver.sweeps`."""
        return (eliminate_numbers if self.plain else eliminate)(stars, self.g, self.j)

    def go_back(self, stars: Sequence[Star], lifted: Edgewise, d: Edgewise) -> None:
        """Fill in the drops across their edges."""
        (go_back_numbers if self.plain else go_back)(stars, self.g, lifted, d)

    def straightened(
        self, places: list[tuple[int, float, int]], slopes: Edgewise, pushes: Edgewise
    ) -> Part:
        """Return the edges with lines of curved elements on them.

        `places` are the edge of each element, its sign, and where its line is in the lists.
        """
        g, j = self.g.copy(), self.j.copy()
        for edge, sign, at in places:
            slope, push = slopes[at], pushes[at] if sign > 0.0 else -pushes[at]
            g[edge] = slope if g[edge] is None else g[edge] + slope
            j[edge] = push if j[edge] is None else j[edge] + push
        return Part(g, j, self.plain)

    def only(self, edges: list[int]) -> Part:
        """Return some of the edges, with nothing on the others."""
        nothing = 0.0 if self.plain else None
        some = Part([nothing] * len(self.g), [nothing] * len(self.j), self.plain)
        for edge in edges:
            some.g[edge], some.j[edge] = self.g[edge], self.j[edge]
        return some

    def taken(self, on: Ints) -> Part:
        """Return rows of some of the lanes."""
        g, j = ([None if r is None else r.take(on) for r in rows] for rows in (self.g, self.j))
        return Part(g, j, plain=False)

    def alone(self, lane: int) -> Part:
        """Return one of the lanes by itself."""
        g, j = ([0.0 if r is None else r.item(lane) for r in rows] for rows in (self.g, self.j))
        return Part(g, j, plain=True)


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
        self.tail_edges, edges = program.tail_edges.tolist(), program.curved_edge.tolist()
        self.places = list(zip(edges, curves.signs, curves.rank, strict=True))
        self.parts, self.curves, self.lanes = parts, curves, curves.lines.shape[2]
        self.alone = parts[0].plain
        nothing = 0.0 if parts[0].plain else None
        self.drops: list[Edgewise] = [[nothing] * (program.edges + 1) for _part in parts]
        self.culprit = np.zeros(self.lanes, dtype=np.int64)

    def iterate(self, *, again: bool) -> tuple[np.ndarray, int]:
        """Iterate until every lane rests; return (which do, linear solutions made)."""
        self.curves.begin(again=again)
        converged = np.zeros(self.lanes, dtype=bool)
        on, made, parts, curves = np.arange(self.lanes), 0, self.parts, self.curves
        flow = np.zeros(curves.lines.shape[1:])
        for step in range(MAX_NEWTON):
            found = self._solve(parts, curves)
            made += len(on)
            following = self._across(found, curves)
            culprit = _step(step, parts, curves, following, flow)
            rests, goes = np.flatnonzero(culprit == 0), np.flatnonzero(culprit)
            if len(rests):
                converged[on[rests]] = True
                self._leave(on[rests], rests, found, curves)
                self.curves.amps[:, on[rests]] = following[3].take(rests, axis=1)
            if not len(goes):
                break
            self.culprit[on[goes]] = culprit[goes]
            if len(rests):
                on, parts, flow = on[goes], self._staying(parts, goes), flow.take(goes, axis=1)
                curves = curves.only(goes, following[:3].take(goes, axis=2))
            else:
                curves.lines = following[:3]
        else:
            self._give_up()
        return converged, made

    def _solve(self, parts: list[Part], curves: Curves) -> list[Edgewise]:
        """Return the drops across the edges of the tail in the straightened network."""
        found = []
        for number, part in enumerate(parts):
            _points, slopes, pushes = (
                curves.lines[:, :, number].tolist() if part.plain else map(list, curves.lines)
            )
            now = part.straightened(self.places, slopes, pushes)
            drops: Edgewise = [0.0 if part.plain else None] * len(now.g)
            now.go_back(self.stars, now.eliminate(self.stars), drops)
            found.append(drops)
        return found

    def _across(self, found: list[Edgewise], curves: Curves) -> Floats:
        """Return room for a step, with V across the curved elements in its first row."""
        room = np.empty((4, *curves.lines.shape[1:]))
        across = room[0]
        for edge, sign, at in self.places:
            if len(found) == 1:
                np.multiply(found[0][edge], sign, out=across[at])
            else:
                across[at] = [sign * drops[edge] for drops in found]
        return room

    def _leave(self, home: Ints, rests: Ints, found: list[Edgewise], curves: Curves) -> None:
        """Keep drops and lines of lanes that rest."""
        if curves is not self.curves:
            self.curves.lines[..., home] = curves.lines.take(rests, axis=2)
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
                whole[edge][home] = row if isinstance(row, float) else row.take(rests)
            else:
                whole[edge][home] = [found[at][edge] for at in rests.tolist()]

    def _staying(self, parts: list[Part], goes: Ints) -> list[Part]:
        if len(parts) > 1 or self.lanes == 1:
            return [parts[at] for at in goes.tolist()]
        some = parts[0].taken(goes)
        return [some.alone(at) for at in range(len(goes))] if len(goes) <= FEW else [some]

    def _give_up(self) -> None:
        """Let lanes that never rest have no drops; whatever they had would mean nothing."""
        if not self.alone:
            for edge in self.tail_edges:
                if self.drops[0][edge] is None:
                    self.drops[0][edge] = np.zeros(self.lanes)


def _step(step: int, parts: list[Part], curves: Curves, following: Floats, flow: Floats) -> Ints:
    """Work out what comes next (see `Curves.step`); return more than 0 for lanes that go on."""
    if step >= CALM:
        return curves.search(following, flow, whole=step == CALM)
    plain = parts[0].plain
    culprit: Ints = (curves.step_numbers if plain else curves.step)(following).astype(np.int64)
    return culprit
