"""What control modules do within a curve in time: the rows of its phases, and when each begins.

A curve begins with the vehicles as they stand; at t = 0 the controls move, and modules act at
once, by what a steady state then shows at their pins. What their rules wait for (an after-run, a
delay, the end of a routine) follows when it is due, each variant by its own clock. No rule sees
what only passes, such as the dip of an inrush (ours). A contact that rules drive is written into
the rows of each phase as closed or open; one that is pulsed as pulsed, with its share of then.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from sim.modules.held import Held
from sim.modules.loop import Settled, pass_time, solve_lanes
from sim.modules.pulses import show_pulses
from sim.modules.turns import Asked
from sim.modules.wiring import Modules
from sim.network import SHAPE, Floats, Ints, Network
from sim.parts.family import Law
from sim.parts.relay import STUCK_CLOSED, STUCK_OPEN
from sim.passing import keeping, stood
from sim.solver.lanes import Lanes, Solution
from sim.view import View


@dataclass(frozen=True, slots=True)
class Phases:
    """Rows of a curve, phase by phase.

    Attributes
    ----------
    before, after : float arrays (V, E, 13)
        As all has long stood, and from t = 0 on.
    later : tuple of (float array (V,), float array (V, E, 13))
        When, in s, each variant goes on with other rows; infinite where it does not.
    """

    before: Floats
    after: Floats
    later: tuple[tuple[Floats, Floats], ...] = ()

    @classmethod
    def of(
        cls, before: Floats, after: Floats, due: Sequence[Sequence[tuple[float, Floats]]]
    ) -> Self:
        """Return phases of which each variant has later ones of its own: time, rows (E, 13)."""
        later = []
        for number in range(max(map(len, due), default=0)):
            when, rows = np.full(len(after), np.inf), after.copy()
            for variant, mine in enumerate(due):
                if number < len(mine):
                    when[variant], rows[variant] = mine[number]
            later.append((when, rows))
        return cls(before, after, tuple(later))

    def changed(self, change: Callable[[Floats], Floats]) -> Self:
        """Return the phases with all rows changed alike."""
        later = tuple((when, change(rows)) for when, rows in self.later)
        return type(self)(change(self.before), change(self.after), later)


def phases(view: View, seconds: float) -> Phases:
    """Return the phases of a curve of so many seconds that begins as a view stands.

    The controls that its action operates move at t = 0; the view stands in their positions then.
    """
    fleet, memory, resting = view.fleet, view.memory, dict(view.situation.controls)
    before = view.rows_with(resting)
    stands = view.standing
    after = view.rows_with({**resting, **dict(view.doing.settings)})
    if not fleet.modules.units and not fleet.slow.units:
        return Phases(before, after)
    found = _stands(view, after)
    woken = fleet.slow.woken(view.circuit, stands, view.standing, memory, found)
    if (woken.woken != memory.woken).any():
        after = view.now(view.standing, woken)
        found = _stands(view, after)
    if not isinstance(found, Settled):
        return Phases(before, after)
    network, modules = fleet.solver.network, fleet.modules
    steps = _course(view, after, found, seconds)
    begins, due = np.zeros(view.count), [list[tuple[float, Floats]]() for _lane in before]
    for (lasts, last), (_lasts, now) in itertools.pairwise(steps):
        begins = begins + lasts
        moved = (now.shares != last.shares).any(axis=1) & (begins < seconds)
        rows = driven(network, modules, after, now) if moved.any() else after
        for lane in np.flatnonzero(moved).tolist():
            due[lane].append((float(begins[lane]), rows[lane]))
    held = memory.modules or Held.fresh(modules, view.count)
    before = driven(network, modules, before, held)
    return Phases.of(before, driven(network, modules, after, found.held), due)


def driven(network: Network, modules: Modules, rows: Floats, held: Held) -> Floats:
    """Return rows (V, E, 13) in which what rules drive stands as they want it, as in a fault."""
    rows = show_pulses(modules, rows, held).copy()
    for column, one in enumerate(modules.driven):
        closed = held.shares[:, column] > 0.0
        for element in () if one.source else one.elements:
            if network.laws[element] != Law.CONTACT:
                continue
            drawn, stuck = closed != (rows[:, element, SHAPE] == 1.0), rows[:, element, SHAPE + 1]
            stands = np.where(drawn, STUCK_CLOSED, STUCK_OPEN)
            rows[:, element, SHAPE + 1] = np.where(stuck == 0.0, stands, stuck)
    return rows


def _lanes(view: View) -> Lanes:
    lanes = view.lanes(view.memory)
    view.put_jumper(lanes, view.fleet.solver.lead)
    return lanes


def _stands(view: View, rows: Floats) -> Solution:
    """Return how all stands with rows in which no fuse opens: within a curve it may yet."""
    fleet, lanes = view.fleet, _lanes(view)
    held = view.memory.modules or Held.fresh(fleet.modules, view.count)
    rows = fleet.slow.fuses.held(rows)
    return stood(fleet, fleet.solver, held, view.clock, rows, lanes)[0]


def _course(view: View, rows: Floats, found: Settled, seconds: float) -> list[tuple[Floats, Held]]:
    """Return how long (V,) modules stay as they are, and what they remember then, step by step."""
    fleet, lanes = view.fleet, _lanes(view)
    rows, clock = fleet.slow.fuses.held(rows), np.full(view.count, view.clock)
    asked = Asked.of(fleet.modules, rows, lanes.variant, clock)
    solve = solve_lanes(keeping(fleet.slow.fuses, fleet.solver), fleet.modules, rows, lanes)
    steps = list[tuple[Floats, Held]]()

    def note(lasts: Floats, now: Settled) -> Ints:
        steps.append((lasts, now.held))
        return now.blown

    pass_time(asked, found, view.clock + seconds, solve, note)
    return steps
