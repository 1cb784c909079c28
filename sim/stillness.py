"""How vehicles stand with no instrument on, solved once for readings that have it in common.

A reading with leads asks for it twice: before the hands begin, and once the leads are off again.
Work of another length differs from it in nothing but the currents that open fuses; where no fuse
blows, one solution serves all lengths with such currents no lower. Readings of several lengths are
solved as lanes of one call. Lanes are independent, so that each has the bits it has alone.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Protocol, TypeVar

import numpy as np

from sim.bus.ports import has_bus
from sim.fleet import Fleet
from sim.modules.loop import held_after
from sim.modules.pulses import show_pulses
from sim.network import Floats, Network
from sim.shared import Shared, Still, Stood, electrical
from sim.situation import Memory, Situation
from sim.solver.lanes import Solution


class Standing(Protocol):
    """Vehicles in one action; see `sim.view.View` for each."""

    fleet: Fleet
    start: Situation
    rows: Floats
    clock: float
    memory: Memory
    settled: Still | None
    shared: Shared
    felt: Hashable

    @property
    def network(self) -> Network:
        """What all variants share."""

    def solve(self, memory: Memory, /) -> Solution:
        """Solve with nothing between the leads."""

    def shares_end(self) -> bool:
        """Tell whether what comes now is the same after every reading begun like this."""


V = TypeVar("V", bound=Standing)


def while_hands_begin(view: Standing, before: Memory) -> Solution:
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


def show_rules(view: Standing, solution: Solution, before: Memory) -> None:
    """Let a view's rows say what modules pulse and set in a solution without an instrument."""
    modules = view.fleet.modules
    if modules.units:
        view.rows = show_pulses(modules, view.rows, held_after(solution, before.modules))


def afterwards(view: Standing) -> Solution:
    """Return how vehicles stand with the instrument off; as they did where nothing moved."""
    known = view.settled
    if known is not None and known.holds(view.rows, view.clock, view.memory):
        return known.solution
    return view.solve(view.memory)


def owed(view: Standing) -> bool:
    """Tell whether a view has to be solved with its instrument off, and nobody has done so."""
    if not view.fleet.modules.units or (view.shares_end() and view.felt in view.shared.ended):
        return False
    known = view.settled
    return known is None or not known.holds(view.rows, view.clock, view.memory)


def taken(view: Standing, solution: Solution) -> None:
    """Take how a view stands with its instrument off, worked out beside others."""
    show_rules(view, solution, view.memory)
    view.settled = Still(view.rows, view.clock, view.memory, solution)


def one_of_each(views: Sequence[V]) -> list[V]:
    """Return the first view of each stage among several that has to be solved so."""
    first = {view.felt: view for view in reversed(views)}
    return [view for view in first.values() if owed(view)]
