"""Hands a program and a solution to the compiled readings, array by array."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.network import Floats, Ints
from sim.solver.pairkernel import read_pairs
from sim.solver.programs import LOOSE
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
class Solved:
    """Lanes that have been solved, and between which points a meter reads them.

    Attributes
    ----------
    solver : Solver
    rows : float array (V, E, 5 or more)
    lanes : Lanes
        With loose leads.
    solution : Solution
        Of these lanes.
    points : int array (P,)
        Nodes.
    ends : two int arrays (K,)
        Which of these red and black are on.
    """

    solver: Solver
    rows: Floats
    lanes: Lanes
    solution: Solution
    points: Ints
    ends: tuple[Ints, Ints]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is read of L lanes at K pairs, and why not.

    Attributes
    ----------
    volts : float array (L, K)
        NaN for what is not known.
    ohms : float array (L, K), or (0, K) for none
    why_volts, why_ohms : int16 arrays like these
        See `sim.solver.pairkernel.read_pairs`.
    """

    volts: Floats
    ohms: Floats
    why_volts: np.ndarray
    why_ohms: np.ndarray

    @classmethod
    def empty(cls, lanes: int, pairs: int, *, ohms: bool) -> Sheet:
        """Return one that nothing is known of."""
        shape = (lanes if ohms else 0, pairs)
        return cls(
            np.full((lanes, pairs), np.nan),
            np.full(shape, np.nan),
            np.zeros((lanes, pairs), dtype=np.int16),
            np.zeros(shape, dtype=np.int16),
        )


def read_compiled(
    solved: Solved, meter: Meter, sheet: Sheet, tally: Ints, *, emf: float = 0.0
) -> None:
    """Fill a sheet for lanes that have a steady state.

    Parameters
    ----------
    tally : int array (4,)
        Is counted up; see `sim.solver.pairreading.read`.
    emf : float
        In V, of the meter that reads volts.
    """
    solver, solution, lanes = solved.solver, solved.solution, solved.lanes
    p, network, points = solver.programs.get(LOOSE), solver.network, solved.points
    which = np.flatnonzero(solution.status == 0)
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
        solved.rows,
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
        *solved.ends,
        2 * LEAD_RESISTANCE,
        meter.input_resistance,
        emf,
        np.array([meter.series, meter.full_scale]),
        meter.test_voltage,
        meter.zeroed,
        sheet.volts,
        sheet.ohms,
        sheet.why_volts,
        sheet.why_ohms,
        tally,
    )
