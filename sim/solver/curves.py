"""The curved elements of some lanes in whole arrays, gathered by law.

Few lanes: all elements of a law by one operation; many: a few elements at a time, so that what is
written over stays near the processor. Nothing but the time depends on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from functools import cached_property

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Floats, Ints
from sim.solver.lawarrays import Block, alike
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
from sim.solver.numberlaws import number_laws
from sim.solver.program import Program

AT_ONCE = 4096  # numbers in one operation; ours, measured


class Curves:
    """The curved elements of some lanes.

    Attributes
    ----------
    rank : list of int
        Where each of `Program.curved` is in the arrays here.
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
        self.rank, self.laws = np.argsort(order).tolist(), laws[order].tolist()
        self.signs = program.curved_sign.tolist()
        self.fixed, self.lines = fixed[:, order], np.zeros((3, *fixed.shape[1:]))
        self.amps = np.zeros(fixed.shape[1:])
        self._alike = alike(self.laws, self.fixed)
        self._factor = np.where(self.fixed[0] > 0.0, 1.0, 0.0)

    def only(self, on: Ints, lines: Floats) -> Curves:
        """Return those of some of the lanes, with lines of their own."""
        some = copy(self)
        some.fixed, some.lines = self.fixed.take(on, axis=2), lines
        some._factor = self._factor.take(on, axis=1)  # noqa: SLF001 -- its own class
        some.__dict__.pop("blocks", None)
        return some

    @cached_property
    def blocks(self) -> list[Block]:
        """The elements by law, no more at once than quickly done."""
        most = max(1, AT_ONCE // self.fixed.shape[2])
        return [
            Block(
                law,
                some,
                tuple(self.fixed[:, some]),
                self._factor[some],
                *(all(one[some]) for one in self._alike),
            )
            for law, some in self._spans(most)
        ]

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
            if self.fixed.shape[2] == 1 and self._begin_one(law, range(some.start, some.stop)):
                continue
            g, emf, one, two, three = self.fixed[:, some]
            grown = self._first_growth(law, point, two, three)
            tangent = False
            line = straightened(law, tangent, point, g, emf, one, two, three, grown)
            self.lines[1, some], self.lines[2, some] = line[0], line[1]

    def _begin_one(self, law: int, some: range) -> bool:
        """Begin a lane alone in plain numbers; tell whether they can be."""
        laws = number_laws()
        try:
            for at in some:
                row = self.fixed[:, at, 0].tolist()
                self.lines[1:, at, 0] = laws.begin(law, self.lines.item(0, at, 0), row)
        except ZeroDivisionError:
            return False
        return True

    @staticmethod
    def _first_growth(law: int, point: Floats, two: Floats, three: Floats) -> Floats:
        """Return `law_growth`, worked out once where all lanes begin alike."""
        numbers = (point, two, three)
        if all((number == number[:, :1]).all() for number in numbers):
            point, two, three = (number[:, :1].copy() for number in numbers)
        grown: Floats = law_growth(law, point, two, three) + np.zeros(numbers[0].shape)
        return grown

    def step(self, following: Floats) -> Flags:
        """Work out what comes next; return which lanes go on, as a law is not obeyed.

        `following` (4, C, L) has V across the elements in the first place, and is given the lines
        to go on with, and the currents where a lane rests. Once every lane is known to go on, no
        more is asked.
        """
        missed = np.zeros(following.shape[2], dtype=bool)
        judged = True
        for block in self.blocks:
            lines, out = self.lines[:, block.some], following[:, block.some]
            lawful = block.step(tuple(lines), tuple(out), judged=judged)
            if lawful is not None:
                missed |= ~(lawful[0] if len(lawful) == 1 else lawful.all(axis=0))
                judged = not missed.all()
        return missed

    def step_numbers(self, following: Floats) -> Flags:
        """Do the same number by number, which is quicker for a lane or two."""
        try:
            return self._step_each(following)
        except ZeroDivisionError:
            return self.step(following)

    def _step_each(self, following: Floats) -> Flags:
        lanes, laws = following.shape[2], number_laws()
        missed, found = [], []
        for at in range(lanes):
            rows, lines = self.fixed[:, :, at].T.tolist(), self.lines[:, :, at].T.tolist()
            drops = following[0, :, at].tolist()
            told = list(map(laws.step, self.laws, drops, rows, lines))
            missed.append(not all(each[0] for each in told))
            found.append([each[1:] for each in told])
        following[:] = np.array(found).T
        return np.array(missed)

    def search(self, following: Floats, flow: Floats, *, whole: bool) -> Ints:
        """Do the same for a step as far as line search goes; see `sim.solver.newton`.

        Returns the last element of `curved` that misses its law, counted from 1, or 0. `flow`
        (C, L), the current of the network at the points, is brought up to date.
        """
        drops = following[0].copy()
        missed = np.zeros(drops.shape[1], dtype=np.int64)
        share = np.ones(drops.shape[1]) if whole else self._shares(drops, flow)
        for c, at in enumerate(self.rank):
            g, emf, first, second, third = self.fixed[:, at]
            point, slope, push = self.lines[:, at]
            lawful, *following[:3, at], flow[at] = shared_line(
                self.laws[at], drops[at], g, emf, first, second, third, point, slope, push,
                flow[at], share,
            )  # fmt: skip
            amps, _slope = law_current(self.laws[at], drops[at] - emf, g, first, second, third)
            following[3, at] = np.where(g > 0.0, amps, 0.0)
            missed[~lawful] = c + 1
        return missed

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
        amps: Floats = self.amps[self.rank]
        return amps

    def _spans(self, most: int) -> Iterator[tuple[int, slice]]:
        """Yield (a law, some of its elements), no more than so many at once."""
        first = 0
        while first < len(self.laws):
            last = first + 1
            while last < min(first + most, len(self.laws)) and self.laws[last] == self.laws[first]:
                last += 1
            yield self.laws[first], slice(first, last)
            first = last
