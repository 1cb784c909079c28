"""Compiled: readings that follow from one that was solved nearly alike, by its first derivatives.

Points on the two ends of a wire meet the curved elements of a lane alike: a current from either
does to them the same. So points are put into groups, and of all readings in one range between two
groups one is worked out; it leaves a *line*, the meter's current over the volts that drive it and
the ohms in its way, on which the others lie.

What is worked out once follows, where it can, from a reading that was solved
(`sim.solver.bending`) between wider groups: points a few milliohms apart. With x the step of an
element, and what is stored of that solution, the difference in how the meter meets the elements
moves the voltage of each by no more than its own part and the sum S of those that act::

    |dx_c| <= |u_c di| + |dm_c i| + S,     S = sum_k |dm_k i|

(each ``dm_k i`` is a source of volts in series with element k, and no source makes more volts
anywhere than its own). An element that acts may come no further from the stored solution than
`NEAR`, one that does not act only as far as it is as good as straight (`sim.solver.calm`). What the
derivatives leave out is of second order: below 1e-8 V for the exponential of a diode and the power
of a lamp, and no more than `NEAR` at the corner of a law, which is less than the 0.1 mV that a
reading may be off without being solved anew at all.
"""

from __future__ import annotations

import math

from sim.compiled import compiled, inlined
from sim.network import Floats, Ints
from sim.solver.bending import (
    ACTS,
    BENT,
    FAR,
    MEETS,
    RIGHT,
    STEEP,
    STEPPED,
    STRAIGHT,
    solve_dense,
)
from sim.solver.calm import DOWNWARDS, UPWARDS, Stir
from sim.solver.laws import LAMP
from sim.solver.pairstates import SLACK, SURE

#: Ohm by which points of one group may differ, and of one of the wider groups: at what an ohmmeter
#: drives (3 V through 3 kohm, 1 mA) 1e-9 V, and `NEAR`, beyond which nothing would follow; ours.
ALIKE, WIDER = 1e-6, 1e-2
NOISE = 1e-15  # of the resistances that a difference is taken of: what is left of their rounding
NEAR, NEAR_SHARE = 1e-5, 1e-3  # V an element may be away; of a lamp's own voltage, which bends it
LEAST = 1e-9  # V that a lamp may always be away
#: V. `derive` leaves out a share `STRAIGHT` of what is in the way, which is much where that is huge
#: (1.8 mV were seen at 1e10 ohm): a change of current may make no more of it than this, a tenth of
#: `NEAR`; ours.
UNSURE = 1e-6
#: Solutions kept of a lane at a time; ours: with 32 a circuit of 200 points (`two-wires`) makes a
#: fifth more, others of six 0 to 5 %, and no reading differs by more than 1e-8 of it.
STORED = 256
#: What is stored of a solution: rows of n (see `bending`; PULLED is u, PULL u s, and STRICT 1 over
#: what an element may be away), then five numbers: the meter's current, push, Z, ``Z - u s m``, and
#: by how many times what it may some element is moved by an ampere.
HELD_MEETS, HELD_BENT, HELD_STEEP, PULLED, PULL, STRICT, NUMBERS = 0, 1, 2, 3, 4, 5, 6
AMPS, PUSH, OHMS, FIRM, REACH, COUNT = 0, 1, 2, 3, 4, 5
#: A line: those five numbers of a reading; the lane they are of; by which share of its slack what
#: bends moves a coil at most; the solution's number; a current that was found to bend too little,
#: and the lane in which.
OF_LANE, MOVES, SOLUTION, STRAIGHT_AMPS, STRAIGHT_LANE, LINE = 5, 6, 7, 8, 9, 10
#: Of a current that bends too little, what surely does too. Ours: a smaller one bends less, and how
#: much smaller hardly matters (with 0.5 six circuits take the same number of solutions).
NEARLY = 0.9


@compiled
def group_points(
    elements: Floats,
    half: Floats,
    between: Floats,
    size: int,
    at: int,
    ends: Ints,
    places: Ints,
    alike: float,
    leaders: Ints,
    groups: Ints,
    which: int,
) -> None:
    """Write the group of every point of a lane: the number of the first point that is alike.

    `ends` are the places of the curved elements, `places` those of the points, `alike` is the ohms
    by which they may differ, `which` the row of `groups` to be filled; `leaders` (P,) is room to
    work in. For the others see `thevenin.halves`.
    """
    count, body = 0, size - 1
    for point in range(len(places)):
        found, away = -1, between[places[point] * size + body, at]
        for index in range(count):
            leader, same = leaders[index], True
            for c in range(len(ends)):
                if elements[c, 0] > 0.0:
                    large = away + between[ends[c, 0] * size + body, at]
                    difference = abs(half[point, c] - half[leader, c])
                    if difference > alike + NOISE * large:
                        same = False
                        break
            if same:
                found = leader
                break
        if found < 0:
            leaders[count] = point
            count += 1
            found = point
        groups[which, point] = found


@compiled
def stored_row(serial: int, serials: Ints) -> int:
    """Return the row of a stored solution, or -1 where it is another lane's or overwritten.

    `serials` are the number that the lane began with and the next one.
    """
    if serial < serials[0] or serial <= serials[1] - STORED:
        return -1
    return serial % STORED


@inlined
def line_drop(
    lines: Floats,
    spot: int,
    lane: float,
    push: float,
    ohms: float,
    series: float,
    emf: float,
    most: float,
    stir: Stir,
    sway: float,
) -> float:
    """Return V between the jacks of a meter by its line, NaN if it is too far off that.

    Where there is no line: if it is seen to bend nothing, or as little as another reading, else
    NaN. A meter that draws less than `most` changes no state; for `stir` and `sway` see
    `sim.solver.calm`.
    """
    amps: float = push / ohms
    if lines[spot, OF_LANE] != lane:
        calm = abs(amps) * (stir[0] if amps > 0.0 else stir[1]) <= 1.0
        if not calm and lines[spot, STRAIGHT_LANE] == lane:
            calm = NEARLY <= amps / lines[spot, STRAIGHT_AMPS] <= 1.0
        return emf + amps * series if calm and abs(amps) < most else math.nan
    amps = lines[spot, AMPS]
    more = ohms - lines[spot, OHMS]
    change = (push - lines[spot, PUSH] - amps * more) / (lines[spot, FIRM] + more)
    amps += change
    if abs(change) * lines[spot, REACH] > 1.0 or abs(amps) > 2.0 * abs(lines[spot, AMPS]):
        return math.nan
    if abs(amps) + SURE >= most and abs(amps) * sway + lines[spot, MOVES] >= 1.0:
        return math.nan
    return emf + amps * series


@compiled
def follow(
    n: int,
    stored: Floats,
    row: int,
    half: Floats,
    p: int,
    q: int,
    push: float,
    ohms: float,
    lines: Floats,
    spot: int,
) -> bool:
    """Write the line of a reading by the derivatives of a stored solution; False if too far off."""
    numbers = NUMBERS * n
    amps: float = stored[row, numbers + AMPS]
    more = ohms - stored[row, numbers + OHMS]
    change, beside = push - stored[row, numbers + PUSH] - amps * more, 0.0
    for c in range(n):
        apart = half[p, c] - half[q, c] - stored[row, HELD_MEETS * n + c]
        change += apart * (amps * stored[row, PULL * n + c] - stored[row, HELD_BENT * n + c])
        if stored[row, HELD_STEEP * n + c] != 0.0:
            beside += abs(apart * amps)
    change /= stored[row, numbers + FIRM] + more
    away = abs(change) * stored[row, numbers + REACH]
    for c in range(n):
        apart = half[p, c] - half[q, c] - stored[row, HELD_MEETS * n + c]
        moved = abs(apart * amps) + beside + abs(stored[row, PULLED * n + c] * change)
        away = max(away, moved * stored[row, STRICT * n + c])
    if not away < 1.0:
        return False
    lines[spot, AMPS], lines[spot, PUSH], lines[spot, OHMS] = amps + change, push, ohms
    lines[spot, FIRM] = stored[row, numbers + FIRM] + more
    lines[spot, REACH] = stored[row, numbers + REACH] / (1.0 - away)
    return True


@compiled
def moves(
    n: int, stored: Floats, row: int, coils: Floats, shares: Floats, coil_mutual: Floats
) -> float:
    """Return by which share of its slack what bends moves a coil at most; see `calm.write_shares`.

    Of coils and fuses that twice the meter's current can reach at all; `coil_mutual` (J, n) is
    T_jk in ohm.
    """
    most, amps = 0.0, 2.0 * abs(stored[row, NUMBERS * n + AMPS]) + SURE
    for j in range(len(shares)):
        if shares[j] > 0.0 and coils[j, SLACK] <= amps:
            moved, more = 0.0, 0.0
            for k in range(n):
                moved += coil_mutual[j, k] * stored[row, HELD_BENT * n + k]
                more += abs(coil_mutual[j, k] * stored[row, HELD_STEEP * n + k]) * NEAR
            most = max(most, (abs(moved) + more) * shares[j])
    return most


@compiled
def beyond_near(n: int, stored: Floats, row: int, amps: float, beyond: Floats) -> None:
    """Write what bends, in A, where a line of the solution itself has led to a current."""
    change = amps - stored[row, NUMBERS * n + AMPS]
    for c in range(n):
        beyond[c] = stored[row, HELD_BENT * n + c] - stored[row, PULL * n + c] * change


@compiled
def derive(n: int, elements: Floats, mutual: Floats, room: Floats, bending: Ints) -> bool:
    """Write u of every element in row `FAR`; False if it cannot be found."""
    count = 0
    for c in range(n):
        room[n + FAR, c] = room[n + MEETS, c]
        if abs(room[n + STEEP, c]) * elements[c, 8] > STRAIGHT:
            bending[count] = c
            count += 1
    for row in range(count):
        c = bending[row]
        for column in range(count):
            k = bending[column]
            room[row, column] = mutual[c, k] * room[n + STEEP, k]
        room[row, row] += 1.0
        room[n + RIGHT, row] = room[n + MEETS, c]
    if not solve_dense(count, room, n + RIGHT):
        return False
    for row in range(count):
        k = bending[row]
        amps = room[n + STEEP, k] * room[n + RIGHT, row]
        for c in range(n):
            room[n + FAR, c] -= mutual[k, c] * amps
    return True


@compiled
def store(
    laws: Ints,
    elements: Floats,
    mutual: Floats,
    push: float,
    ohms: float,
    amps: float,
    room: Floats,
    bending: Ints,
    stored: Floats,
    row: int,
) -> bool:
    """Keep a solution that `bending.solve_bent` has left in `room`; False if that cannot be."""
    n = len(laws)
    if not derive(n, elements, mutual, room, bending):
        return False
    numbers, firm, reach = NUMBERS * n, ohms, STRAIGHT * ohms / UNSURE
    for c in range(n):
        pulled = room[n + FAR, c]
        pull, strict = pulled * room[n + STEEP, c], 0.0
        if elements[c, 0] > 0.0:
            strict = 1.0 / may_be_away(laws[c], elements, c, room)
        reach = max(reach, abs(pulled) * strict)
        firm -= pull * room[n + MEETS, c]
        stored[row, HELD_MEETS * n + c] = room[n + MEETS, c]
        stored[row, HELD_BENT * n + c] = room[n + BENT, c]
        stored[row, HELD_STEEP * n + c] = room[n + STEEP, c]
        stored[row, PULLED * n + c], stored[row, PULL * n + c] = pulled, pull
        stored[row, STRICT * n + c] = strict
    stored[row, numbers + AMPS], stored[row, numbers + PUSH] = amps, push
    stored[row, numbers + OHMS], stored[row, numbers + FIRM] = ohms, firm
    stored[row, numbers + REACH] = reach
    return firm > 0.0


@compiled
def may_be_away(law: int, elements: Floats, c: int, room: Floats) -> float:
    """Return by how many V an element may be away from a solution that is in `room`."""
    n, near = len(elements), NEAR
    here = room[n + STEPPED, c]
    if law == LAMP:
        near = min(NEAR, NEAR_SHARE * abs(elements[c, 5] + here) + LEAST)
    if room[n + ACTS, c] == 0.0:
        up, down = 1.0 / elements[c, UPWARDS], 1.0 / elements[c, DOWNWARDS]
        near = max(near, min(up - here, down + here))
    return near
