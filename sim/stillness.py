"""How vehicles stand with no instrument on, solved once for readings that have it in common.

A reading with leads asks for it twice: before the hands begin, and once the leads are off again.
Work of another length differs from it in nothing but the currents that open fuses; where no fuse
blows, one solution serves all lengths with such currents no lower. Readings of several lengths are
solved as lanes of one call. Lanes are independent, so that each has the bits it has alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.bus.ports import has_bus
from sim.modules.loop import held_after
from sim.modules.pulses import show_pulses
from sim.shared import Still, Stood, electrical
from sim.situation import Memory
from sim.solver.lanes import Solution

if TYPE_CHECKING:  # a view asks this room how it stands
    from sim.view import View


def while_hands_begin(view: View, before: Memory) -> Solution:
    """Return how vehicles stand while the hands begin, however long their work takes.

    Buses and breakers that come and go are looked at anew each time.
    """
    fuses = view.fleet.slow.fuses
    if fuses.automatic or has_bus(view.network):
        return view.solve(before)
    key, limits = electrical(view.start), fuses.limits(view.rows)
    known = view.shared.stood.get(key)
    if known is not None and known.holds(limits):
        show_rules(view, known.solution, before)
        return known.solution
    solution = view.solve(before)
    if np.array_equal(solution.blown, before.blown):
        view.shared.stood[key] = Stood(limits, solution)
    return solution


def show_rules(view: View, solution: Solution, before: Memory) -> None:
    """Let a view's rows say what modules pulse and set in a solution without an instrument."""
    modules = view.fleet.modules
    if modules.units:
        view.rows = show_pulses(modules, view.rows, held_after(solution, before.modules))


def afterwards(view: View) -> Solution:
    """Return how vehicles stand with the instrument off; as they did where nothing moved."""
    known = view.settled
    if known is not None and known.holds(view.rows, view.clock, view.memory):
        return known.solution
    return view.solve(view.memory)


def owed(view: View) -> bool:
    """Tell whether a view has to be solved with its instrument off, and nobody has done so."""
    if not view.fleet.modules.units or (view.shares_end() and view.felt in view.shared.ended):
        return False
    known = view.settled
    return known is None or not known.holds(view.rows, view.clock, view.memory)


def taken(view: View, solution: Solution) -> None:
    """Take how a view stands with its instrument off, worked out beside others."""
    show_rules(view, solution, view.memory)
    view.settled = Still(view.rows, view.clock, view.memory, solution)


def one_of_each(views: Sequence[View]) -> list[View]:
    """Return the first view of each stage among several that has to be solved so."""
    first = {view.felt: view for view in reversed(views)}
    return [view for view in first.values() if owed(view)]
