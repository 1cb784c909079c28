"""A busy bus as everything slow sees it: meters, lamps, clamps, eyes.

Between bits nothing of the circuit remembers anything, so that the mean over time is that over the
bits, each solved with all laws obeyed::

    mean = quiet + sum over units of share * (that unit dominant - quiet)
    share = dominant bits in a frame * frames a second * s a frame

A unit that repeats its frame for want of an acknowledgement, or of a bus, is at it all the time but
for the error flag and pause between two frames (17 of some 130 bits, from memory). States, of
relays and fuses, are those of the quiet bus.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim.bus.levels import Levels, solve_levels
from sim.bus.ports import has_bus
from sim.bus.standing import Standing, stand
from sim.network import AMPLITUDE, FREQUENCY, PHASE, Floats
from sim.solver.lanes import Lanes, Solution
from sim.solver.steady import Solver

REPEATED = 130.0 / (130.0 + 17.0)  # share of the time; see above


def solve(solver: Solver, rows: Floats, lanes: Lanes) -> Solution:
    """Solve lanes; where there is a bus, return the means over its bits, and how it stands.

    Parameters
    ----------
    rows : array (V, E, 13)
    """
    quiet = solver.solve(rows, lanes)
    if not has_bus(solver.network):
        return quiet
    return _mean(solver, rows, lanes, solve_levels(solver, rows, lanes, quiet), quiet)


def on_bus(solver: Solver, rows: Floats, lanes: Lanes, solution: Solution) -> Solution:
    """Return a solution of lanes, rules of modules and all, with the means over the bits of a bus.

    What the bits move is added to what is given, which may itself be a mean.
    """
    if not has_bus(solver.network):
        return solution
    lanes = replace(lanes, closed=solution.closed, blown=solution.blown)
    return _mean(solver, rows, lanes, solve_levels(solver, rows, lanes), solution)


def _mean(
    solver: Solver, rows: Floats, lanes: Lanes, levels: Levels, solution: Solution
) -> Solution:
    return mean_of(rows, lanes, levels, stand(solver, rows, lanes, levels), solution)


def mean_of(
    rows: Floats, lanes: Lanes, levels: Levels, standing: Standing, solution: Solution
) -> Solution:
    """Return a solution with what the bits of a bus that stands like this move on average."""
    quiet = levels.quiet
    volts, drop, current = solution.volts.copy(), solution.drop.copy(), solution.current.copy()
    status = solution.status.copy()
    weights = shares(rows, lanes, standing)
    for number, bit in enumerate(levels.bits):
        weight = weights[:, number, None]
        volts += weight * (bit.volts - quiet.volts)
        drop += weight * (bit.drop - quiet.drop)
        current += weight * (bit.current - quiet.current)
        status = np.where(status == 0, bit.status, status)
    return replace(solution, volts=volts, drop=drop, current=current, status=status, bus=standing)


def shares(rows: Floats, lanes: Lanes, standing: Standing) -> Floats:
    """Return the share of the time for which each transceiver is dominant (L, P)."""
    found = np.zeros((len(lanes.variant), len(standing.ports)))
    for number, port in enumerate(standing.ports):
        columns = rows[lanes.variant, port.drivers[0]]
        frames = columns[:, FREQUENCY] * columns[:, PHASE]
        sends = np.array([any(one.heard[number]) for one in standing.counted])
        repeats = np.array([one.repeats[number] for one in standing.counted])
        busy = np.where(repeats, REPEATED * (frames > 0.0), frames * sends)
        found[:, number] = columns[:, AMPLITUDE] * busy
    most = np.maximum(found.sum(axis=1, keepdims=True), 1.0)
    scaled: Floats = found / most
    return scaled
