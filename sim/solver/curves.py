"""The curved elements of some lanes in whole arrays, gathered by law.

Few lanes: all elements of a law by one operation; many: a few elements at a time, so that what is
written over stays near the processor. Nothing but the time depends on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Floats, Ints
from sim.solver.lawarrays import Block
from sim.solver.laws import LAMP
from sim.solver.newton import (
    CHORD_START,
    DARK,
    HALVINGS,
    law_current,
    law_growth,
    shared_line,
    straightened,
)
from sim.solver.program import Program

AT_ONCE = 4096  # numbers in one operation; ours, measured


class Curves:
    """The curved elements of some lanes.

    Attributes
    ----------
    fixed : float array (5, C, L)
        Their rows of the network.
    lines : float array (3, C, L)
        Point, slope and j of their straight lines.
    amps : float array (C, L)
        Their currents by their laws, of those lanes that rest.
    """

    def __init__(self, program: Program, fixed: Floats) -> None:
        laws = program.curved_law
        order = np.argsort(laws, kind="stable")
        self.rank = np.argsort(order).tolist()  # where each of `curved` is in the arrays here
        self.signs = program.curved_sign.tolist()
        self.laws = laws[order].tolist()
        self.fixed, self.lines = fixed[:, order], np.zeros((3, *fixed.shape[1:]))
        self.amps = np.zeros(fixed.shape[1:])
        self.there = (self.fixed[0] > 0.0).all(axis=1).tolist()
        self.pushed = self.fixed[1].any(axis=1).tolist()

    def only(self, on: Ints) -> Curves:
        """Return those of some of the lanes."""
        some = copy(self)
        some.fixed, some.lines = self.fixed.take(on, axis=2), self.lines.take(on, axis=2)
        some.amps = np.zeros((len(self.laws), len(on)))
        return some

    def begin(self, *, again: bool) -> None:
        """Straighten the elements about where the iteration starts.

        Once more, in other states, they are as they were left, but for the lamps.
        """
        for law, some in self._spans(len(self.laws)):
            if again and law != LAMP:
                continue
            point = self.lines[0, some]
            if law == LAMP:
                point[np.abs(point) < DARK] = CHORD_START
            g, emf, one, two, three = self.fixed[:, some]
            grown = self._first_growth(law, point, two, three)
            tangent = False
            line = straightened(law, tangent, point, g, emf, one, two, three, grown)
            self.lines[1, some], self.lines[2, some] = line[0], line[1]

    @staticmethod
    def _first_growth(law: int, point: Floats, two: Floats, three: Floats) -> Floats:
        """Return `law_growth`, worked out once where all lanes begin alike."""
        numbers = (point, two, three)
        if all((number == number[:, :1]).all() for number in numbers):
            point, two, three = (number[:, :1].copy() for number in numbers)
        return law_growth(law, point, two, three) + np.zeros(numbers[0].shape)

    def step(self, drops: Floats) -> tuple[Ints, Floats]:
        """Return (0 for lanes where all laws are obeyed and 1 for the others, what comes of it).

        The second (4, C, L) is the lines to go on with, and the currents where a lane rests.

        `drops` (C, L) is V across the elements, in the order of the arrays here. Once every lane
        is known to go on, no more is asked.
        """
        following = np.empty((4, *drops.shape))
        missed = np.zeros(drops.shape[1], dtype=np.int64)
        judged = True
        for law, some in self._spans(self._most(drops.shape[1])):
            block = Block(
                law,
                tuple(self.fixed[:, some]),
                tuple(self.lines[:, some]),
                all(self.there[some]),
                any(self.pushed[some]),
            )
            lawful = block.step(drops[some], tuple(following[:, some]), judged=judged)
            if lawful is None:
                continue
            missed |= ~lawful.all(axis=0)
            judged = not missed.all()
        return missed, following

    def search(self, drops: Floats, flow: Floats, *, whole: bool) -> tuple[Ints, Floats]:
        """Return the same for a step as far as line search goes; see `sim.solver.newton`.

        The first tells the last element of `curved` that misses its law, counted from 1. `flow`
        (C, L), the current of the network at the points, is brought up to date.
        """
        missed = np.zeros(drops.shape[1], dtype=np.int64)
        following = np.empty((4, *drops.shape))
        share = np.ones(drops.shape[1]) if whole else self._shares(drops, flow)
        for c, at in enumerate(self.rank):
            g, emf, *shape = self.fixed[:, at]
            line = self.lines[:, at]
            lawful, *following[:3, at], flow[at] = shared_line(
                self.laws[at], drops[at], g, emf, *shape, *line, flow[at], share
            )
            amps, _slope = law_current(self.laws[at], drops[at] - emf, g, *shape)
            following[3, at] = np.where(g > 0.0, amps, 0.0)
            missed[~lawful] = c + 1
        return missed, following

    def _shares(self, drops: Floats, flow: Floats) -> Floats:
        share, least = np.ones(drops.shape[1]), np.zeros(drops.shape[1])
        everywhere = np.arange(drops.shape[1])
        far = np.flatnonzero(self._slope_along(everywhere, drops, flow, share) > 0.0)
        for _halving in range(HALVINGS if len(far) else 0):
            middle = 0.5 * (share[far] + least[far])
            rises = self._slope_along(far, drops, flow, middle) > 0.0
            share[far] = np.where(rises, middle, share[far])
            least[far] = np.where(rises, least[far], middle)
        return share

    def _slope_along(self, on: Ints, drops: Floats, flow: Floats, share: Floats) -> Floats:
        """Return the sum of (I of the law - I of the network) x step at a share of the step."""
        total = np.zeros(len(on))
        for at in self.rank:
            g, emf, *shape = self.fixed[:, at, on]
            point, slope, push = self.lines[:, at, on]
            drop, flowed = drops[at, on], flow[at, on]
            step = drop - emf - point
            amps, _slope = law_current(self.laws[at], point + share * step, g, *shape)
            between = flowed + share * (slope * drop - push - flowed)
            total += np.where(g > 0.0, (amps - between) * step, 0.0)
        return total

    def currents(self) -> Floats:
        """Return the currents in A of all of `curved`, in their order, in lanes that rest."""
        return self.amps[self.rank]

    def _most(self, lanes: int) -> int:
        return max(1, AT_ONCE // max(lanes, 1))

    def _spans(self, most: int) -> Iterator[tuple[int, slice]]:
        """Yield (a law, some of its elements), no more than so many at once."""
        first = 0
        while first < len(self.laws):
            last = first + 1
            while last < min(first + most, len(self.laws)) and self.laws[last] == self.laws[first]:
                last += 1
            yield self.laws[first], slice(first, last)
            first = last
