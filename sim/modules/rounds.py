"""Round after round of solving and deciding, and nothing twice that has been worked out already.

Variants whose rules chase each other, or whose supply breaks down as their unit begins to work,
come back to where they were after a few rounds. Lanes are independent and what comes of one is the
same whenever it stands the same, so that what was found then is found again: not one bit differs.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace

import numpy as np

from sim.modules.conditions import Flags, Floats
from sim.modules.counting import Solve, counted
from sim.modules.held import Held, alike
from sim.modules.pulses import Pulsed, solve_pulsed, some_lanes
from sim.modules.turns import Asked, Decided
from sim.network import Ints

LOOKED_BACK = 4  # rounds; most of what comes back does so after two; ours


@dataclass(slots=True)
class _Round:
    """One round: which lanes (L,), how they stood before, and what came of it.

    `like` is an earlier round in which they stood the same, with their places (L,) in it.
    """

    lanes: Ints
    closed: Ints
    blown: Ints
    shares: Floats
    pulsed: Pulsed
    like: tuple[_Round, Ints] | None
    decided: tuple[Flags, Held, Decided] | None = None

    def places(self, lanes: Ints, closed: Ints, blown: Ints, shares: Floats) -> Ints | None:
        """Return the places of lanes in this round if all of them stood the same in it."""
        at = np.searchsorted(self.lanes, lanes)
        same = (
            np.array_equal(self.shares[at], shares)
            and np.array_equal(self.closed[at], closed)
            and np.array_equal(self.blown[at], blown)
        )
        return at if same else None


@dataclass(frozen=True, slots=True)
class Rounds:
    """The rounds of one search for a state in which circuit and rules agree."""

    asked: Asked
    solve: Solve
    _last: deque[_Round] = field(default_factory=lambda: deque(maxlen=LOOKED_BACK))

    def solved(self, lanes: Ints, closed: Ints, blown: Ints, shares: Floats) -> Pulsed:
        """Return how some lanes stand, and what inputs make of the edges at their pins.

        Parameters
        ----------
        lanes : int array (L,)
            Ascending; each is among those of the round before.
        closed, blown : int arrays (L, R), (L, F)
            As relays and fuses stand before; contacts that rules drive stand as these want.
        shares : float array (L, O)
            Of everything that rules drive.
        """
        modules, closed = self.asked.modules, closed.copy()
        closed[:, modules.relays] = shares[:, modules.contacts] > 0.0
        like = self._like(lanes, closed, blown, shares)
        if like is None:
            found = solve_pulsed(self.solve, lanes, closed, blown, shares, modules)
            found = self._counting(lanes, found, shares)
        else:
            old, at = like
            found = old.pulsed if len(at) == len(old.lanes) else some_lanes(old.pulsed, at)
        self._last.append(_Round(lanes, closed, blown, shares, found, like))
        return found

    def decided(self, dead: Flags, held: Held) -> Decided:
        """Return what the rules make of the lanes that were solved last.

        Parameters
        ----------
        dead : bool array (L, M)
            Whose unit is dead inside, or starved.
        held : Held
            What the modules of these lanes remember.
        """
        now = self._last[-1]
        found = _known(now, dead, held)
        if found is None:
            every = len(now.lanes) == len(self.asked.clock)
            asked = self.asked if every else self.asked.take(now.lanes)
            found = Decided.of(replace(asked, dead=dead), held, now.pulsed)
        now.decided = dead, held, found
        return found

    def _like(
        self, lanes: Ints, closed: Ints, blown: Ints, shares: Floats
    ) -> tuple[_Round, Ints] | None:
        """Return a round before the last in which all of these lanes stood the same."""
        for old in list(self._last)[-2::-1]:
            at = old.places(lanes, closed, blown, shares)
            if at is not None:
                return old, at
        return None

    def _counting(self, lanes: Ints, pulsed: Pulsed, shares: Floats) -> Pulsed:
        """Return a solution of some lanes with what inputs make of the edges at their pins."""
        mine, modules = self.asked.take(lanes), self.asked.modules
        if not mine.often.any():
            return pulsed
        seen = (lanes, pulsed.solution, shares)
        speeds = counted(
            modules.counters, modules.sensors, mine.often, mine.sways, seen, self.solve
        )
        return replace(pulsed, turning=speeds)


def _known(now: _Round, dead: Flags, held: Held) -> Decided | None:
    """Return what was decided when the same lanes stood and remembered the same."""
    if now.like is None or now.like[0].decided is None:
        return None
    (was_dead, had, found), at = now.like[0].decided, now.like[1]
    if not np.array_equal(was_dead[at], dead):
        return None
    if len(at) < len(was_dead):
        had = had.take(at)
    if not alike(had, held):
        return None
    return found if len(at) == len(was_dead) else found.take(at)
