"""Compiled: readings that follow from one that was solved nearly alike, by its first derivatives.

Points on the two ends of a wire meet the curved elements of a lane alike: a current from either
does to them the same. So points are put into groups, and of all readings in one range between two
groups one is solved (`sim.solver.bending`); it is stored with what the derivatives take, and the
others follow, as far as no element comes further from the stored solution than `NEAR`. What the
derivatives leave out is of second order: below 1e-8 V for the exponential of a diode and the power
of a lamp, and no more than `NEAR` at the corner of a law, which is less than the 0.1 mV that a
reading may be off without being solved anew at all.
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.bending import (
    BENT,
    FAR,
    MEETS,
    RIGHT,
    STEEP,
    STEPPED,
    STRAIGHT,
    solve_dense,
)
from sim.solver.laws import LAMP

ALIKE = 1e-6  # ohm by which points of one group may differ; 1e-9 V at what an ohmmeter drives
NOISE = 1e-15  # of the resistances that a difference is taken of: what is left of their rounding
NEAR, NEAR_SHARE = 1e-5, 1e-3  # V an element may be away; of a lamp's own voltage, which bends it
LEAST = 1e-9  # V that a lamp may always be away
STORED = 256  # solutions kept at a time
#: What is stored of a solution: rows of n (see `bending`; PULL is u s), then five numbers: the
#: meter's current, push, Z, ``Z - u s m``, and by how many `NEAR` an ampere moves some element.
HELD_MEETS, HELD_STEPPED, HELD_BENT, HELD_STEEP, PULL, NUMBERS = 0, 1, 2, 3, 4, 5
AMPS, PUSH, OHMS, FIRM, REACH, COUNT = 0, 1, 2, 3, 4, 5


@compiled
def group_points(
    elements: Floats,
    half: Floats,
    between: Floats,
    size: int,
    at: int,
    ends: Ints,
    places: Ints,
    leaders: Ints,
    group: Ints,
) -> None:
    """Write the group of every point of a lane: the number of the first point that is alike.

    `ends` are the places of the curved elements, `places` those of the points; `leaders` (P,) is
    room to work in. For the others see `thevenin.halves`.
    """
    groups, body = 0, size - 1
    for point in range(len(places)):
        found, away = -1, between[places[point] * size + body, at]
        for index in range(groups):
            leader, alike = leaders[index], True
            for c in range(len(ends)):
                if elements[c, 0] > 0.0:
                    large = away + between[ends[c, 0] * size + body, at]
                    difference = abs(half[point, c] - half[leader, c])
                    if difference > ALIKE + NOISE * large:
                        alike = False
                        break
            if alike:
                found = leader
                break
        if found < 0:
            leaders[groups] = point
            groups += 1
            found = point
        group[point] = found


@compiled
def stored_row(serial: int, serials: Ints) -> int:
    """Return the row of a stored solution, or -1 where it is another lane's or overwritten.

    `serials` are the number that the lane began with and the next one.
    """
    if serial < serials[0] or serial <= serials[1] - STORED:
        return -1
    return serial % STORED


@compiled
def start_from(n: int, stored: Floats, row: int, room: Floats) -> None:
    """Let Newton's method begin with a stored solution; how the meter meets elements is kept."""
    for c in range(n):
        room[n + STEPPED, c] = stored[row, HELD_STEPPED * n + c]
        room[n + BENT, c] = stored[row, HELD_BENT * n + c]
        room[n + STEEP, c] = stored[row, HELD_STEEP * n + c]


@compiled
def predicted(n: int, stored: Floats, row: int, half: Floats, p: int, q: int,
              push: float, ohms: float) -> float:  # fmt: skip
    """Return A from p to q by the derivatives of a stored solution, NaN if it is too far off."""
    numbers = NUMBERS * n
    amps: float = stored[row, numbers + AMPS]
    more = ohms - stored[row, numbers + OHMS]
    change: float = push - stored[row, numbers + PUSH] - amps * more
    for c in range(n):
        meets = half[p, c] - half[q, c] - stored[row, HELD_MEETS * n + c]
        change += meets * (amps * stored[row, PULL * n + c] - stored[row, HELD_BENT * n + c])
    change /= stored[row, numbers + FIRM] + more
    if abs(change) * stored[row, numbers + REACH] > 1.0:
        return math.nan
    return amps + change


@compiled
def beyond_near(n: int, stored: Floats, row: int, amps: float, beyond: Floats) -> None:
    """Write what bends, in A, where `predicted` has found a current."""
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
    numbers, firm, reach = NUMBERS * n, ohms, 0.0
    for c in range(n):
        pull, allowed = room[n + FAR, c] * room[n + STEEP, c], NEAR
        if laws[c] == LAMP:
            allowed = min(NEAR, NEAR_SHARE * abs(elements[c, 5] + room[n + STEPPED, c]) + LEAST)
        if elements[c, 0] > 0.0:
            reach = max(reach, abs(room[n + FAR, c]) / allowed)
        firm -= pull * room[n + MEETS, c]
        stored[row, HELD_MEETS * n + c] = room[n + MEETS, c]
        stored[row, HELD_STEPPED * n + c] = room[n + STEPPED, c]
        stored[row, HELD_BENT * n + c] = room[n + BENT, c]
        stored[row, HELD_STEEP * n + c] = room[n + STEEP, c]
        stored[row, PULL * n + c] = pull
    stored[row, numbers + AMPS], stored[row, numbers + PUSH] = amps, push
    stored[row, numbers + OHMS], stored[row, numbers + FIRM] = ohms, firm
    stored[row, numbers + REACH] = reach
    return firm > 0.0
