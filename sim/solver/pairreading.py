"""Compiled: one reading between two points of a lane: the cheapest way that is right.

A meter that draws too little to bend anything (`calm_drop`), one that follows from a reading that
was nearly alike (`sim.solver.nearby`), one that bends a reading by less than 0.1 mV, and one solved
with all laws obeyed (`sim.solver.bending`). Where relays or fuses may not keep their states, it is
not known here (`sim.solver.pairstates`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.bending import BENT, begin_straight, solve_bent
from sim.solver.nearby import STORED, beyond_near, predicted, start_from, store, stored_row
from sim.solver.pairstates import NONE, SURE, mover, spared
from sim.solver.thevenin import RESOLVE, bend_of

Calm = tuple[float, float, float]  # of `calm_limits`


class Lane(NamedTuple):
    """What is known of the lane that is read, of n curved elements, C coils and P points; room.

    Attributes
    ----------
    laws : int array (n,)
    elements : float array (n, 10)
        Row, operating point, resistance between the ends and radius of each.
    half, mutual : float arrays (P, n), (n, n)
        See `sim.solver.thevenin.halves` and `mutuals`.
    coils, coil_half, coil_mutual : float arrays (C, 6), (P, C), (C, n)
        The same of coils and fuses; see `sim.solver.pairstates`.
    beyond : float array (n,)
        A by which elements bend, of the reading at hand.
    room, bending : arrays
        To work in; see `sim.solver.bending.solve_bent`.
    found_at, serials, stored : arrays
        Solutions that others follow from; see `sim.solver.nearby`.
    """

    laws: Ints
    elements: Floats
    half: Floats
    mutual: Floats
    coils: Floats
    coil_half: Floats
    coil_mutual: Floats
    beyond: Floats
    room: Floats
    bending: Ints
    found_at: Ints
    serials: Ints
    stored: Floats


@compiled
def calm_limits(elements: Floats, most: float) -> tuple[float, float, float]:
    """Return (A, V, A): `most`, and V between two points and A below which nothing curved bends.

    A meter that draws less than `most` changes no state.
    Of all elements the least radius, and the least of it over the resistance between the ends: no
    current between two points makes more volts anywhere than between these, nor between the ends
    of an element more than it would there.
    """
    volts, amps = math.inf, math.inf
    for c in range(len(elements)):
        volts = min(volts, elements[c, 9])
        if elements[c, 8] > 0.0:
            amps = min(amps, elements[c, 9] / elements[c, 8])
    return most, volts, amps


@compiled
def calm_drop(
    direct: float, push: float, series: float, emf: float, leads: float, calm: Calm
) -> float:
    """Return V between the jacks of a meter that draws too little to bend anything, else NaN.

    Of numbers alone: to pass arrays on, of which the users are counted up and down at every call,
    took longer than all the rest of most readings.
    """
    ohms = direct + leads + series
    amps = push / ohms
    drawn = abs(amps)
    if drawn < calm[0] and (drawn * direct <= calm[1] or drawn <= calm[2]):
        return emf + amps * series
    return math.nan


@compiled
def calm_ohms(
    direct: float,
    volts: float,
    ranges: Floats,
    emf: float,
    leads: float,
    zeroed: float,
    calm: Calm,
) -> tuple[float, int]:
    """Return (what an ohmmeter shows, readings it took) as `read_ohms` does, NaN if not calm."""
    last = ranges.shape[1] - 1
    choice, readings = -1, 0
    for _try in range(last + 2):
        series = ranges[0, last if choice < 0 else choice]
        drop = calm_drop(direct, volts - emf, series, emf, leads, calm)
        readings += 1
        if math.isnan(drop):
            return math.nan, readings
        ohms = ohms_of(drop, series, emf, zeroed)
        if choice < 0:
            choice = range_for(ohms, ranges)
        elif ohms >= ranges[1, choice] and choice < last:
            choice += 1
        else:
            return ohms if ohms < ranges[1, choice] else math.inf, readings
    return math.inf, readings


@compiled
def ohms_of(drop: float, series: float, emf: float, zeroed: float) -> float:
    """Return what an ohmmeter makes of the volts between its jacks."""
    if drop < emf * (1.0 - 1e-12):
        return series * drop / (emf - drop) - zeroed
    return math.inf


@compiled
def range_for(ohms: float, ranges: Floats) -> int:
    """Return the first range that such a resistance is within, or the last."""
    choice, last = 0, ranges.shape[1] - 1
    while choice < last and ohms >= ranges[1, choice]:
        choice += 1
    return choice


@compiled
def read(
    lane: Lane,
    spot: int,
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
    no state. `spot` is where `found_at` says which solution is stored of readings like this.
    `tally` counts readings, those solved anew, and those that could not be; then comes which coil
    was the reason for that, the number of all if it is not known.
    """
    laws, elements, half, mutual = lane.laws, lane.elements, lane.half, lane.mutual
    coils, beyond, room, stored = lane.coils, lane.beyond, lane.room, lane.stored
    serials, bending = lane.serials, lane.bending
    n, ohms, push = len(laws), direct + leads + series, volts - emf
    amps = push / ohms
    tally[0] += 1
    row = stored_row(lane.found_at[spot], serials)
    if row >= 0:
        near = predicted(n, stored, row, half, p, q, push, ohms)
        if not math.isnan(near):
            if abs(near) + SURE >= most:
                beyond_near(n, stored, row, near, beyond)
                tally[3] = mover(coils, lane.coil_half, lane.coil_mutual, beyond, p, q, near)
                if tally[3] != NONE:
                    tally[2] += 1
                    return math.nan
            return emf + near * series
    else:
        anew = bend_of(laws, elements, half, p, q, direct, amps) * series > RESOLVE * ohms
        if not anew and abs(amps) >= most:
            anew = not spared(elements, half, coils, lane.coil_half, p, q, amps, ohms)
        if not anew:
            return emf + amps * series
    tally[1] += 1
    begin_straight(n, elements, half, p, q, room)
    if row >= 0:
        start_from(n, stored, row, room)
    converged, amps = solve_bent(laws, elements, mutual, push, ohms, ohms - direct, room, bending)
    tally[3] = len(coils)
    if not converged:
        tally[2] += 1
        return math.nan
    for c in range(n):
        beyond[c] = room[n + BENT, c]
    row = serials[1] % STORED
    if store(laws, elements, mutual, push, ohms, amps, room, bending, stored, row):
        lane.found_at[spot] = serials[1]
        serials[1] += 1
    if abs(amps) + SURE >= most:
        tally[3] = mover(coils, lane.coil_half, lane.coil_mutual, beyond, p, q, amps)
        if tally[3] != NONE:
            tally[2] += 1
            return math.nan
    return emf + amps * series


@compiled
def read_ohms(
    lane: Lane,
    spot: int,
    p: int,
    q: int,
    direct: float,
    volts: float,
    ranges: Floats,
    emf: float,
    leads: float,
    zeroed: float,
    calm: Calm,
    tally: Ints,
) -> tuple[float, int]:
    """Return what an ohmmeter shows that finds its range with the highest one, inf for OL.

    NaN if it is not known, and the range in which it is not, -1 for the one it looks with. `ranges`
    (2, n): series resistance and full scale; `spot` is that of the first range.
    """
    last, pairs = ranges.shape[1] - 1, len(lane.half) * len(lane.half)
    choice, drop, before = -1, math.nan, -1.0
    for _try in range(last + 2):
        at = last if choice < 0 else choice
        series = ranges[0, at]
        if series != before:  # two ranges may be the same circuit
            tally[0] += 1
            drop = calm_drop(direct, volts - emf, series, emf, leads, calm)
            if math.isnan(drop):
                tally[0] -= 1
                drop = read(
                    lane, spot + at * pairs, p, q, direct, volts, series, emf, leads, calm[0], tally
                )
        if math.isnan(drop):
            return math.nan, choice
        before, ohms = series, ohms_of(drop, series, emf, zeroed)
        if choice < 0:
            choice = range_for(ohms, ranges)
        elif ohms >= ranges[1, choice] and choice < last:
            choice += 1
        else:
            return ohms if ohms < ranges[1, choice] else math.inf, choice
    return math.inf, last
