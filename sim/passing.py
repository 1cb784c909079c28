"""A while in which nothing is touched: charge, heat, and what control modules do by the clock.

Every variant has a clock of its own between two things that are due in it, so that batteries give
what is drawn in each of these stretches and no variant sees the stretches of another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from sim import slowbreakers
from sim.bus import live
from sim.bus.ports import has_bus
from sim.fleet import Fleet
from sim.modules.conditions import Floats
from sim.modules.held import Held
from sim.modules.loop import Settled, pass_time, settle, solve_lanes
from sim.modules.turns import Asked
from sim.network import Ints
from sim.situation import Memory, Situation
from sim.slowfuses import Fuses
from sim.slowtime import Slow, after_solution
from sim.solver.steady import Lanes, Solution, Solver


def keeping(fuses: Fuses, solver: Solver) -> Callable[[Floats, Lanes], Solution]:
    """Return what solves rows and lanes and lets no breaker open that does so by the clock."""

    def solve(rows: Floats, lanes: Lanes) -> Solution:
        found = solver.solve(rows, lanes)
        which = slowbreakers.let_open(fuses, lanes, found)
        if not len(which):
            return found
        more, kept = slowbreakers.held(fuses, rows, lanes.only(which), found.blown[which])
        return found.put(which, solver.solve(more, kept))

    return solve if fuses.automatic else solver.solve


def stood(
    fleet: Fleet, solver: Solver, held: Held, clock: float | Floats, rows: Floats, lanes: Lanes
) -> tuple[Solution, Floats, Lanes]:
    """Return how lanes stand at an hour, and the rows and lanes by which they go on standing so.

    What a bus does is in it only where there are no modules. Breakers that close by themselves do
    not open: they do so by the clock (`sim.slowbreakers`).

    Parameters
    ----------
    held : Held
        What their modules remember, if there are any.
    clock : float or float array (L,)
        In s, of the bench or of each lane.
    """
    modules, fuses = fleet.modules, fleet.slow.fuses
    plainly = keeping(fuses, solver)
    if not modules.units and not has_bus(solver.network):
        return plainly(rows, lanes), rows, lanes
    if not modules.units:
        found = live.solve(solver, rows, lanes)
        some = slowbreakers.let_open(fuses, lanes, found)
        rows, lanes = slowbreakers.all_held(fuses, rows, lanes, found, some)
        return live.solve(solver, rows, lanes) if len(some) else found, rows, lanes
    asked = Asked.of(modules, rows, lanes.variant, np.full(len(lanes.variant), clock))
    solve = solve_lanes(plainly, modules, rows, lanes)
    settled = settle(asked, held, lanes.closed, lanes.blown, solve)
    over = slowbreakers.above(fuses, rows, lanes, settled)
    return settled, *slowbreakers.all_held(fuses, rows, lanes, settled, over)


def carry(
    fleet: Fleet,
    rows: tuple[Floats, Floats],
    situation: Situation,
    memory: Memory,
    solution: Solution,
    seconds: float,
) -> tuple[Memory, Solution]:
    """Return the memory after a while, and how all stands then.

    Parameters
    ----------
    rows : two float arrays (V, E, 13)
        As configured at hand-over, and as they are now.
    situation : Situation
        The bench when it begins.
    solution : Solution
        As all stands then.
    seconds : float
        How long it takes.
    """
    base, now = rows
    clock = situation.clock
    if not isinstance(solution, Settled) or seconds <= 0.0:
        return fleet.slow.drained(base, situation, memory, solution, seconds), solution

    def drain(each: Floats, settled: Settled) -> Ints:
        nonlocal memory
        memory = _drained(
            fleet.slow, base, situation, after_solution(memory, settled), settled, each
        )
        return memory.blown

    count = len(solution.status)
    lanes = fleet.solver.lanes(np.arange(count))
    asked = Asked.of(fleet.modules, now, lanes.variant, np.full(count, clock))
    settled = pass_time(
        asked,
        solution,
        clock + seconds,
        solve_lanes(keeping(fleet.slow.fuses, fleet.solver), fleet.modules, now, lanes),
        drain,
    )
    return after_solution(memory, settled), settled


def _drained(
    slow: Slow,
    base: Floats,
    situation: Situation,
    memory: Memory,
    solution: Solution,
    each: Floats,
) -> Memory:
    """Return the memory after each variant's own while, in s (V,)."""
    for seconds in np.unique(each[each > 0.0]).tolist():
        mine = each == seconds
        new = slow.drained(base, situation, memory, solution, seconds)
        arrays = {}
        for name in ("drawn", "heat", "blown", "risen", "hottest", "celsius"):
            array = getattr(memory, name).copy()
            array[mine] = getattr(new, name)[mine]
            arrays[name] = array
        memory = replace(memory, **arrays)
    return memory
