"""The iteration of the tail in whole arrays; lanes that have come to rest leave the arrays."""

from __future__ import annotations

import numpy as np

from sim.network import Floats, Ints
from sim.solver.laws import LAMP
from sim.solver.newton import (
    CALM,
    CHORD_START,
    DARK,
    FLOW,
    HALVINGS,
    KEPT,
    MAX_NEWTON,
    POINT,
    PUSH,
    SHAPE,
    SLOPE,
    is_too_far,
    law_current,
    law_growth,
    limited_step,
    next_line,
    shared_line,
    straightened,
)
from sim.solver.program import Program
from sim.solver.sweeps import eliminate, go_back


class Tail:
    """The tail of some lanes: its edges once the straight nodes are gone, its curved elements."""

    def __init__(self, program: Program, g: Floats, j: Floats, kept: Floats) -> None:
        self.g, self.j, self.kept = g, j, kept
        self.groups = program.tail_local
        self.laws, self.signs = program.curved_law.tolist(), program.curved_sign.tolist()
        self.edges = np.searchsorted(program.tail_edges, program.curved_edge).tolist()
        self.drops = np.zeros(g.shape)
        self.culprit = np.zeros(g.shape[1], dtype=np.int64)  # number in `curved`, plus 1

    def iterate(self, *, again: bool) -> tuple[np.ndarray, int]:
        """Iterate until every lane rests; return (which do, linear solutions made)."""
        self._begin(again=again)
        converged = np.zeros(self.g.shape[1], dtype=bool)
        on, made = np.arange(self.g.shape[1]), 0
        g, j, kept = self.g, self.j, self.kept
        for step in range(MAX_NEWTON):
            drops = self._solve(g, j, kept)
            made += len(on)
            culprit, following = self._step(step, drops, kept)
            missed = culprit > 0
            self.culprit[on] = culprit
            if missed.all():  # lanes that go on together need not be picked out
                kept = following
                continue
            rests = on[~missed]
            converged[rests] = True
            if len(rests) == self.g.shape[1]:
                self.drops, self.kept[:] = drops, kept
                break
            self.drops[:, rests], self.kept[:, rests] = drops[:, ~missed], kept[:, ~missed]
            if not missed.any():
                break
            on, kept = on[missed], following[:, missed]
            g, j = g[:, missed], j[:, missed]
        return converged, made

    def _begin(self, *, again: bool) -> None:
        for c, law in enumerate(self.laws):
            mine = self.kept[c * KEPT : (c + 1) * KEPT]
            if again and law != LAMP:
                continue
            point = mine[POINT] if again else np.zeros(mine.shape[1])
            if law == LAMP:
                point = np.where(np.abs(point) < DARK, CHORD_START, point)
            g, emf, one, two, three = mine[:5]
            grown, tangent = law_growth(law, point, two, three), False
            slope, push, _amps = straightened(law, tangent, point, g, emf, one, two, three, grown)
            mine[POINT], mine[SLOPE], mine[PUSH] = point, slope, push

    def _solve(self, g: Floats, j: Floats, kept: Floats) -> Floats:
        g, j = g.copy(), j.copy()
        for c, (edge, sign) in enumerate(zip(self.edges, self.signs, strict=True)):
            g[edge] += kept[c * KEPT + SLOPE]
            j[edge] += sign * kept[c * KEPT + PUSH]
        drops = np.zeros(g.shape)
        go_back(self.groups, g, eliminate(self.groups, g, j), drops)
        return drops

    def _step(self, step: int, drops: Floats, kept: Floats) -> tuple[Ints, Floats]:
        """Return (the curved element that misses its law or 0, what is kept if the lanes go on)."""
        missed, following = np.zeros(drops.shape[1], dtype=np.int64), kept.copy()
        share = self._shares(drops, kept) if step > CALM else np.ones(drops.shape[1])
        for c, law in enumerate(self.laws):
            mine, after = kept[c * KEPT : (c + 1) * KEPT], following[c * KEPT : (c + 1) * KEPT]
            drop, lines = self.signs[c] * drops[self.edges[c]], (POINT, SLOPE, PUSH)
            g, emf, one, two, three = mine[:5]
            old = [mine[row] for row in lines]
            if step < CALM:
                to = _limited(law, drop - emf, mine)
                grown = law_growth(law, to, two, three)
                lawful, *line = next_line(law, drop, to, g, emf, one, two, three, grown, *old)
                line.insert(0, to)
            else:
                lawful, *line, after[FLOW] = shared_line(
                    law, drop, g, emf, one, two, three, old[0], old[1], old[2], mine[FLOW], share
                )
            for row, value in zip(lines, line, strict=True):
                after[row] = value
            missed[~lawful] = c + 1
        return missed, following

    def _shares(self, drops: Floats, kept: Floats) -> Floats:
        share, least = np.ones(drops.shape[1]), np.zeros(drops.shape[1])
        far = np.flatnonzero(self._slope_along(drops, kept, share) > 0.0)
        for _halving in range(HALVINGS if len(far) else 0):
            middle = 0.5 * (share[far] + least[far])
            rises = self._slope_along(drops[:, far], kept[:, far], middle) > 0.0
            share[far] = np.where(rises, middle, share[far])
            least[far] = np.where(rises, least[far], middle)
        return share

    def _slope_along(self, drops: Floats, kept: Floats, share: Floats) -> Floats:
        """Return the sum of (I of the law - I of the network) x step at a share of the step."""
        total = np.zeros(drops.shape[1])
        for c, law in enumerate(self.laws):
            mine = kept[c * KEPT : (c + 1) * KEPT]
            g, emf, *shape = mine[:5]
            drop = self.signs[c] * drops[self.edges[c]]
            step = drop - emf - mine[POINT]
            flowing = mine[SLOPE] * drop - mine[PUSH]
            amps, _slope = law_current(law, mine[POINT] + share * step, g, *shape)
            between = mine[FLOW] + share * (flowing - mine[FLOW])
            total += np.where(g > 0.0, (amps - between) * step, 0.0)
        return total


def _limited(law: int, new: Floats, mine: Floats) -> Floats:
    """Return the voltage to go to instead of `new`, which is changed."""
    far = np.flatnonzero(is_too_far(law, new, mine[POINT], mine[SHAPE + 1]))
    if len(far):
        g, _emf, first, second = mine[:4, far]
        new[far] = limited_step(law, new[far], mine[POINT, far], g, first, second)
    return new
