"""What a solution with rules leaves over in Kirchhoff's law and in the elements' own laws.

Where something is pulsed, a solution holds means over a period (see `sim.modules.pulses`), and the
mean of a lamp's or a diode's current is not its law at the mean of its voltage. So every stretch of
the period is solved once more and put back into the laws by itself; and the means are compared with
what is told.
"""

from __future__ import annotations

import numpy as np

from sim.modules.loop import Settled, solve_lanes
from sim.modules.pulses import solve_pulsed, with_sources
from sim.modules.wiring import Modules
from sim.network import Floats, Ints
from sim.solver.lanes import Lanes, Solution
from sim.solver.steady import Solver


def rows_as_solved(modules: Modules, rows: Floats, solution: Solution) -> Floats:
    """Return rows (L, E, 13), one a lane, with the sources as rules have set them."""
    if not isinstance(solution, Settled):
        return rows
    return with_sources(modules, rows, solution.held.shares)


def residuals(
    solver: Solver, modules: Modules, rows: Floats, lanes: Lanes, solution: Solution
) -> tuple[Floats, Floats]:
    """Return the worst violation per lane (L,): of Kirchhoff's law in A, of an element's law in V.

    Parameters
    ----------
    rows : float array (L, E, 13)
        One a lane, with or without what rules have set.
    lanes : Lanes
        Lane n is of variant n.
    """
    if not isinstance(solution, Settled):
        return solver.residuals(rows, lanes, solution)
    count = len(solution.status)
    solve = solve_lanes(solver.solve, modules, rows, lanes)
    kirchhoff, law = np.zeros(count), np.zeros(count)

    def watched(which: Ints, closed: Ints, blown: Ints, shares: Floats) -> Solution:
        stretch = solve(which, closed, blown, shares)
        mine = Lanes(
            np.arange(len(which)), lanes.instruments[which], lanes.attached[which], closed, blown
        )
        here = with_sources(modules, rows[which], shares)
        currents, laws = solver.residuals(here, mine, stretch)
        kirchhoff[which] = np.maximum(kirchhoff[which], currents)
        law[which] = np.maximum(law[which], laws)
        return stretch

    again = solve_pulsed(
        watched,
        np.arange(count),
        solution.closed,
        solution.blown,
        solution.held.shares,
        modules,
    ).solution
    kirchhoff = np.maximum(kirchhoff, np.abs(again.current - solution.current).max(axis=1))
    return kirchhoff, np.maximum(law, np.abs(again.volts - solution.volts).max(axis=1))


def pulsed_share(modules: Modules, solution: Solution, lane: int = 0) -> dict[str, float]:
    """Return what is pulsed in a lane: ``A3 10`` and the share of the time for which it is on."""
    if not isinstance(solution, Settled):
        return {}
    shares = solution.held.shares[lane].tolist()
    return {
        f"{unit.behaviour.module} {one.pin}": shares[column]
        for unit in modules.units
        for one, column in zip(unit.driven, unit.columns.tolist(), strict=True)
        if one.words is not None and not one.source and 0.0 < shares[column] < 1.0
    }
