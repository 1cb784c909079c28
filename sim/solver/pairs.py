"""What a meter shows between all pairs of points: from the factors of one solution a lane.

A meter is a low-rank change: with the resistance R between two points and the voltage V between
them, its reading follows without solving the circuit again. The curved elements move a little when
it is put on, though. Where that may bend a reading by more than 0.1 mV the circuit is solved anew
with all laws obeyed, in the few unknowns that the curved elements leave (`thevenin.solve_bent`).
Where a meter makes a relay or a fuse change its state (`pairstates`), or where that does not
converge, the whole circuit is solved with the meter in it. Without compiled code it always is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sim.network import Floats, Ints
from sim.solver.pairkernel import read_pairs
from sim.solver.program import Program
from sim.solver.programs import LOOSE
from sim.solver.sharing import equal_lanes
from sim.solver.steady import LEAD_RESISTANCE, Lanes, Solution, Solver


@dataclass(frozen=True, slots=True)
class Meter:
    """What is between the leads.

    Attributes
    ----------
    input_resistance : float
        On volts, ohm.
    test_voltage : float
        On ohms, V, behind `series`.
    series, full_scale : tuples of float
        Series resistance and full scale by ohms range, ohm; it looks with the last one first.
    zeroed : float
        Ohm that it takes off a reading.
    """

    input_resistance: float
    test_voltage: float
    series: tuple[float, ...]
    full_scale: tuple[float, ...]
    zeroed: float


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
    solver : Solver
    rows : float array (V, E, 5 or more)
    lanes : Lanes
        With loose leads.
    solution : Solution
        Of these lanes.
    points : int array
        Nodes.
    meter : Meter
    ohms : bool
        Whether to read ohms too.

    Returns
    -------
    PairReadings
    """
    first, second = np.triu_indices(len(points), 1)
    pairs = np.stack([points[first], points[second]], axis=1)
    rows = np.require(rows, np.float64, ["C", "W"])
    if solver.plain or not len(lanes.variant):
        return _read(solver, rows, lanes, solution, points, pairs, meter, ohms=ohms)
    some, mine = equal_lanes(rows, lanes, solution)
    if len(some) == len(mine):
        return _read(solver, rows, lanes, solution, points, pairs, meter, ohms=ohms)
    found = _read(
        solver, rows, lanes.only(some), solution.only(some), points, pairs, meter, ohms=ohms
    )
    return replace(found, volts=found.volts[mine], ohms=found.ohms[mine] if ohms else found.ohms)


def _read(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    solution: Solution,
    points: Ints,
    pairs: Ints,
    meter: Meter,
    *,
    ohms: bool,
) -> PairReadings:
    """Return the readings of lanes, each for itself."""
    shape = (len(lanes.variant), len(pairs))
    volts, found = np.full(shape, np.nan), np.full(shape if ohms else (0, shape[1]), np.nan)
    failed = np.full(found.shape, -1, dtype=np.int8)
    tally = np.zeros(3, dtype=np.int64)
    if not solver.plain:
        which = np.flatnonzero(solution.status == 0)
        _read_compiled(
            solver, rows, lanes, solution, which, points, meter, volts, found, failed, tally
        )
    whole = _Whole(solver, rows, replace(lanes, closed=solution.closed, blown=solution.blown))
    solved = solution.status == 0
    missing = np.argwhere(np.isnan(volts) & solved[:, None])
    load = np.full(len(missing), meter.input_resistance)
    volts[tuple(missing.T)] = whole.drops(missing, pairs, load, 0.0)
    if ohms:
        missing = np.argwhere(np.isnan(found) & solved[:, None])
        found[tuple(missing.T)] = whole.ohms(missing, pairs, meter, failed[tuple(missing.T)])
    return PairReadings(
        pairs, volts, found, int(tally[1]), whole.count, int(tally[0]), len(lanes.variant)
    )


class _Whole:
    """Solves whole circuits with the meter in them."""

    def __init__(self, solver: Solver, rows: Floats, lanes: Lanes) -> None:
        self.solver, self.rows, self.lanes, self.count = solver, rows, lanes, 0

    def drops(self, where: Ints, pairs: Ints, series: Floats, emf: float) -> Floats:
        """Return V between the jacks at (lane, pair), the meter being `series` ohms and an EMF."""
        which = where[:, 0]
        lanes = Lanes(*(getattr(self.lanes, name)[which] for name in Lanes.__slots__))
        lanes.instruments[:, 0, :2] = np.stack([1.0 / series, np.full(len(series), emf)], axis=1)
        lanes.attached[:, :2] = pairs[where[:, 1]]
        self.count += len(where)
        solution = self.solver.solve(self.rows, lanes)
        return np.where(solution.status == 0, solution.drop[:, -4], np.nan)

    def ohms(self, where: Ints, pairs: Ints, meter: Meter, failed: Ints) -> Floats:
        """Return what an ohmmeter shows at (lane, pair) that finds its range with the last one.

        `failed` is the range that is known to be found so, -1 where none is.
        """
        series, scales = np.array(meter.series), np.array(meter.full_scale)

        def read(choice: Ints, some: Ints) -> Floats:
            drop = self.drops(where[some], pairs, series[choice], meter.test_voltage)
            with np.errstate(divide="ignore", invalid="ignore"):
                shown = series[choice] * drop / (meter.test_voltage - drop) - meter.zeroed
            return np.where(drop < meter.test_voltage * (1 - 1e-12), shown, np.inf)

        last, every = len(scales) - 1, np.arange(len(where))
        choice, some = failed.astype(np.int64), np.flatnonzero(failed < 0)
        guess = read(np.full(len(some), last), some)
        found = np.searchsorted(scales, np.maximum(guess, 0.0), side="right")
        choice[some] = np.minimum(found, last)
        shown, again = np.empty(len(where)), every
        while len(again):
            shown[again] = read(choice[again], again)
            again = again[(shown[again] >= scales[choice[again]]) & (choice[again] < last)]
            choice[again] += 1
        return np.where(shown < scales[choice], shown, np.inf)


def _read_compiled(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    solution: Solution,
    which: Ints,
    points: Ints,
    meter: Meter,
    volts: Floats,
    found: Floats,
    failed: Ints,
    tally: Ints,
) -> None:
    p: Program = solver.programs.get(LOOSE)
    network = solver.network
    first, second = np.triu_indices(len(points), 1)
    read_pairs(
        p.count,
        np.zeros_like(p.live),
        p.edge_at,
        p.pair_at,
        p.edge,
        p.pair,
        p.neighbour,
        p.edges,
        p.straight,
        p.straight_edge,
        p.straight_sign,
        p.pushing,
        p.switching,
        p.judged,
        p.pushed,
        p.quiet,
        p.shifting,
        p.limited,
        p.curved,
        p.curved_edge,
        p.curved_law,
        p.place[network.ends[p.curved]],
        p.place[network.ends[p.straight[p.judged]]],
        p.leak_edge,
        network.laws,
        network.relays,
        network.fuses,
        rows,
        lanes.variant,
        lanes.instruments,
        which,
        solver.leak,
        solution.closed,
        solution.blown,
        solution.drop,
        solution.current,
        solution.volts,
        points,
        p.place[points],
        first,
        second,
        2 * LEAD_RESISTANCE,
        meter.input_resistance,
        np.array([meter.series, meter.full_scale]),
        meter.test_voltage,
        meter.zeroed,
        volts,
        found,
        failed,
        tally,
    )
