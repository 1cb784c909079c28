"""Compiled: one reading between two points of a lane: the cheapest way that is right.

A meter that draws too little to bend anything (`calm_drop`), one that lies on the line of a reading
that was nearly alike (`sim.solver.nearby`), one that bends a reading by less than 0.1 mV, and one
solved with all laws obeyed (`sim.solver.bending`). Where relays or fuses may not keep their states,
it is not known here (`sim.solver.pairstates`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.compiled import compiled, inlined, lent
from sim.network import Floats, Ints
from sim.solver.bending import BENT, begin_straight, solve_bent
from sim.solver.calm import Stir
from sim.solver.nearby import (
    COUNT,
    MOVES,
    NUMBERS,
    OF_LANE,
    SOLUTION,
    STORED,
    STRAIGHT_AMPS,
    STRAIGHT_LANE,
    beyond_near,
    follow,
    line_drop,
    moves,
    store,
    stored_row,
)
from sim.solver.pairstates import NONE, SURE, mover, spared
from sim.solver.thevenin import RESOLVE, bend_of

NOT_SOLVED = -1.0  # the solution of a line that follows from another


class Lane(NamedTuple):
    """What is known of the lane that is read, of n curved elements, C coils and P points; room.

    Attributes
    ----------
    laws : int array (n,)
    elements : float array (n, 14)
        Row, operating point, resistance between the ends, radius and reaches of each.
    half, mutual : float arrays (P, n), (n, n)
        See `sim.solver.thevenin.halves` and `mutuals`.
    coils, coil_half, coil_mutual : float arrays (C, 6), (P, C), (C, n)
        The same of coils and fuses; see `sim.solver.pairstates`.
    shares : float array (C,)
        See `sim.solver.calm.write_shares`.
    beyond : float array (n,)
        A by which elements bend, of the reading at hand.
    room, bending, acting : arrays
        To work in; see `sim.solver.bending.solve_bent`.
    found_at, serials, stored, lines : arrays
        Solutions and the lines of readings that follow from them; see `sim.solver.nearby`.
    """

    laws: Ints
    elements: Floats
    half: Floats
    mutual: Floats
    coils: Floats
    coil_half: Floats
    coil_mutual: Floats
    shares: Floats
    beyond: Floats
    room: Floats
    bending: Ints
    acting: Ints
    found_at: Ints
    serials: Ints
    stored: Floats
    lines: Floats


@compiled
def lent_lane(lane: Lane) -> Lane:
    """Return what is known of a lane with no users counted; see `sim.compiled.lent`."""
    return Lane(
        lent(lane.laws),
        lent(lane.elements),
        lent(lane.half),
        lent(lane.mutual),
        lent(lane.coils),
        lent(lane.coil_half),
        lent(lane.coil_mutual),
        lent(lane.shares),
        lent(lane.beyond),
        lent(lane.room),
        lent(lane.bending),
        lent(lane.acting),
        lent(lane.found_at),
        lent(lane.serials),
        lent(lane.stored),
        lent(lane.lines),
    )


class Spot(NamedTuple):
    """Where readings like one are kept: its groups of points, and what a lane knows of both points.

    Attributes
    ----------
    near, wide : int
        Of the line, and of the solution that it may follow from, in the first range.
    stir, sway : tuple of float, float
        See `sim.solver.calm`.
    lane : float
        The lane's number, by which lines are known as its own.
    """

    near: int
    wide: int
    stir: Stir
    sway: float
    lane: float


@inlined
def keeps_straight(
    lane: Lane,
    p: int,
    q: int,
    direct: float,
    push: float,
    series: float,
    ohms: float,
    most: float,
) -> bool:
    """Tell whether a meter bends its reading too little to be solved anew, and moves no state."""
    amps = push / ohms
    bend = bend_of(lane.laws, lane.elements, lane.half, p, q, direct, amps)
    if bend * series > RESOLVE * ohms:
        return False
    return abs(amps) < most or spared(
        lane.elements, lane.half, lane.coils, lane.coil_half, p, q, amps, ohms
    )


@inlined
def draw_line(lane: Lane, at: int, row: int, number: float, solution: float) -> None:
    """Complete the line at a place that follows from a stored row, or is that solution."""
    lane.lines[at, OF_LANE], lane.lines[at, SOLUTION] = number, solution
    lane.lines[at, MOVES] = moves(
        len(lane.laws), lane.stored, row, lane.coils, lane.shares, lane.coil_mutual
    )


@inlined
def read_solved(
    lane: Lane,
    at: int,
    wide: int,
    number: float,
    p: int,
    q: int,
    direct: float,
    push: float,
    ohms: float,
    most: float,
    tally: Ints,
) -> float:
    """Return A through a meter, solved with all laws obeyed; NaN if not known. See `read`."""
    laws, elements, mutual, room = lane.laws, lane.elements, lane.mutual, lane.room
    n, lines, serials, stored = len(laws), lane.lines, lane.serials, lane.stored
    tally[1] += 1
    begin_straight(n, elements, lane.half, p, q, room)
    converged, amps = solve_bent(
        laws, elements, mutual, push, ohms, ohms - direct, room, lane.bending, lane.acting
    )
    tally[3] = len(lane.coils)
    if not converged:
        tally[2] += 1
        return math.nan
    for c in range(n):
        lane.beyond[c] = room[n + BENT, c]
    row = serials[1] % STORED
    if store(laws, elements, mutual, push, ohms, amps, room, lane.bending, stored, row):
        for column in range(COUNT):
            lines[at, column] = stored[row, NUMBERS * n + column]
        draw_line(lane, at, row, number, float(serials[1]))
        lane.found_at[wide] = serials[1]
        serials[1] += 1
    return keeping_states(lane, p, q, amps, most, tally)


@inlined
def keeping_states(lane: Lane, p: int, q: int, amps: float, most: float, tally: Ints) -> float:
    """Return a meter's current if it moves no coil, `beyond` being what bends; else NaN."""
    if abs(amps) + SURE >= most:
        tally[3] = mover(lane.coils, lane.coil_half, lane.coil_mutual, lane.beyond, p, q, amps)
        if tally[3] != NONE:
            tally[2] += 1
            return math.nan
    return amps


@inlined
def read(
    lane: Lane,
    spot: Spot,
    ahead: int,
    p: int,
    q: int,
    direct: float,
    volts: float,
    series: float,
    emf: float,
    leads: float,
    most: float,
    tally: Ints,
) -> float:
    """Return V between the jacks of a meter (series ohms, EMF) on p and q; NaN if not known.

    `direct` is the resistance between points p and q; a meter that draws less than `most` changes
    no state. Tried before: whether it is calm, and the line at its spot. `ahead` is how far the
    places of its range are from those of `spot`.
    `tally` counts readings, those solved anew, and those that could not be; then comes which coil
    was the reason for that, the number of all if it is not known.
    """
    n, ohms, push = len(lane.laws), direct + leads + series, volts - emf
    at, wide, lines = spot.near + ahead, spot.wide + ahead, lane.lines
    tally[0] += 1
    if lines[at, OF_LANE] == spot.lane:  # too far off, or a coil may move
        row = stored_row(int(lines[at, SOLUTION]), lane.serials)
        amps = line_drop(lines, at, spot.lane, push, ohms, 1.0, 0.0, math.inf, spot.stir, 0.0)
        if row >= 0 and not math.isnan(amps):
            beyond_near(n, lane.stored, row, amps, lane.beyond)
            return emf + keeping_states(lane, p, q, amps, most, tally) * series
    elif keeps_straight(lane, p, q, direct, push, series, ohms, most):
        amps = push / ohms
        lines[at, STRAIGHT_AMPS], lines[at, STRAIGHT_LANE] = amps, spot.lane
        return emf + amps * series
    else:
        row = stored_row(lane.found_at[wide], lane.serials)
        if row >= 0 and follow(n, lane.stored, row, lane.half, p, q, push, ohms, lines, at):
            draw_line(lane, at, row, spot.lane, NOT_SOLVED)
            shown = line_drop(
                lines, at, spot.lane, push, ohms, series, emf, most, spot.stir, spot.sway
            )
            if not math.isnan(shown):
                return shown
    amps = read_solved(lane, at, wide, spot.lane, p, q, direct, push, ohms, most, tally)
    return emf + amps * series
