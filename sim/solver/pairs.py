"""What a meter shows between all pairs of points: from the factors of one solution a lane.

A meter is a low-rank change: with the resistance R between two points and the voltage V between
them, its reading follows without solving the circuit again. The curved elements move a little when
it is put on, though. Where that may bend a reading by more than 0.1 mV the circuit is solved anew
with all laws obeyed, in the few unknowns that the curved elements leave (`bending.solve_bent`),
or follows from a reading that was (`nearby`). Where a meter makes a relay or a fuse change its
state (`pairstates`), or where that does not converge, the whole circuit is solved with the meter in
it (`pairwhole`). Without compiled code it always is. Lanes that are equal are read once
(`sharing`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sim.network import Floats, Ints
from sim.solver.pairlane import REASONS
from sim.solver.pairway import Meter, Sheet, Solved, read_compiled
from sim.solver.pairwhole import Whole
from sim.solver.sharing import equal_lanes
from sim.solver.steady import Lanes, Solution, Solver

__all__ = ["Meter", "PairReadings", "all_pairs"]


@dataclass(frozen=True, slots=True)
class PairReadings:
    """Readings of L lanes between K pairs of points.

    Attributes
    ----------
    pairs : int array (K, 2)
        Nodes of the red and the black lead; the other way round, volts change their sign.
    volts : float array (L, K)
        With the meter's load; NaN where a lane has no steady state.
    ohms : float array (L, K), or (0, K) if not asked for
        As displayed but for rounding; infinite for OL.
    solved_anew, solved_whole : int
        Solutions in which curved elements were given their new points, and of whole circuits.
    with_relay_moved : int
        Readings of a lane in which the meter moved a relay, that were not solved whole.
    readings : int
        Solutions in all; an ohms reading takes two or more.
    lanes_read : int
        Lanes that were read; the others are equal to one of these (`sim.solver.sharing`).
    """

    pairs: Ints
    volts: Floats
    ohms: Floats
    solved_anew: int
    solved_whole: int
    with_relay_moved: int
    readings: int
    lanes_read: int


def all_pairs(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    solution: Solution,
    points: Ints,
    meter: Meter,
    *,
    ohms: bool = False,
) -> PairReadings:
    """Return what a meter shows between all pairs of points of solved lanes.

    Parameters
    ----------
    solver, rows, lanes, solution, points
        See `sim.solver.pairway.Solved`.
    meter : Meter
    ohms : bool
        Whether to read ohms too.

    Returns
    -------
    PairReadings
    """
    ends = np.triu_indices(len(points), 1)
    rows = np.require(rows, np.float64, ["C", "W"])
    solved = Solved(solver, rows, lanes, solution, points, ends)
    if solver.plain or not len(lanes.variant):
        return _read(solved, meter, ohms=ohms)
    some, mine = equal_lanes(rows, lanes, solution)
    if len(some) == len(mine):
        return _read(solved, meter, ohms=ohms)
    fewer = replace(solved, lanes=lanes.only(some), solution=solution.only(some))
    found = _read(fewer, meter, ohms=ohms)
    return replace(found, volts=found.volts[mine], ohms=found.ohms[mine] if ohms else found.ohms)


def _read(solved: Solved, meter: Meter, *, ohms: bool) -> PairReadings:
    """Return the readings of lanes, each for itself."""
    solver, lanes = solved.solver, len(solved.lanes.variant)
    pairs = np.stack([solved.points[end] for end in solved.ends], axis=1)
    sheet = Sheet.empty(lanes, len(pairs), ohms=ohms)
    tally = np.zeros(4, dtype=np.int64)
    if solver.plain:  # nothing is known, nor why
        sheet.why_volts[:] = sheet.why_ohms[:] = len(solver.program.judged) * REASONS
    else:
        read_compiled(solved, meter, sheet, tally)
    whole = Whole(solved, tally)
    stands = (solved.solution.status == 0)[:, None]
    for shown, why, work in (
        (sheet.volts, sheet.why_volts, whole.volts),
        (sheet.ohms, sheet.why_ohms, whole.ohms),
    ):
        if len(shown):
            missing = np.argwhere(np.isnan(shown) & stands)
            there = tuple(missing.T)
            shown[there] = work(missing, why[there], meter)
    return PairReadings(
        pairs,
        sheet.volts,
        sheet.ohms,
        int(tally[1]),
        whole.count,
        whole.moved,
        int(tally[0]),
        lanes,
    )
