"""Compiled: what a meter may draw between two points and bend nothing that is curved.

A current i from p to q moves the voltage of curved element c by ``-m_c i`` (m = T(pq, ab), see
`sim.solver.thevenin`). How far an element may be moved differs by the direction: a supply that
stands at a corner of its characteristic is straight to one side for volts, and to the other not at
all. So an element has a reach upwards and one downwards, and two points have a *stir* for each
direction of the current: the largest of ``|m_c|`` over the reach of element c. A current times its
stir below 1 leaves all elements within their reaches.

In the same way a current times its *sway* is the largest share of its slack (see
`sim.solver.pairstates`) by which it moves a coil or fuse, nothing being bent.
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.eights import LANES, all_eight, eight, larger, put_eight
from sim.network import Floats, Ints
from sim.solver.laws import LAMP
from sim.solver.pairstates import LIMIT, SIEMENS, SLACK, SURE, SURE_SHARE
from sim.solver.thevenin import bent

NOTHING = 1e-8  # V that an element within its reach may bend a reading by; ours, no display has it
#: V, where a reach is looked for first, and how often twice as far: 1e-6 * 2^26 V are 67 V, more
#: than any vehicle here has between two points. A reach is found within a factor of two; ours.
LEAST, DOUBLINGS = 1e-6, 27
#: If `LEAST` is too far, an eighth of it and so on, down to V that change no law: at 12 V a number
#: itself is only known within 2e-15 V. From LEAST that is eight steps at most; ours.
SHRINK, SMALLEST = 0.125, 1e-13
#: Columns of an element's row: radius (see `thevenin.radius`); 1 / reach, and 1 / reach or radius,
#: whichever is further.
RADIUS, UPWARDS, DOWNWARDS, CALM_UP, CALM_DOWN, COLUMNS = 9, 10, 11, 12, 13, 14
UP, DOWN, SWAY, STIRS = 0, 1, 2, 3  # rows: of a current that is positive, negative; see above
MOST_SHARE = 1e300  # 1 / V, of a coil that has no slack; not infinite, as 0 times that is 0

Calm = tuple[float, float, float]  # of `calm_limits`
Stir = tuple[float, float]


@compiled
def reach(law: int, elements: Floats, c: int, ohms: float, sign: float) -> float:
    """Return how far an element may move to one side and bend no reading by more than `NOTHING`."""
    found, step = 0.0, LEAST
    for _doubling in range(DOUBLINGS):
        beyond, _slope = bent(law, elements, c, sign * step)
        if abs(beyond) * ohms > NOTHING:
            break
        found, step = step, 2.0 * step
    while found == 0.0:
        step *= SHRINK
        beyond, _slope = bent(law, elements, c, sign * step)
        if abs(beyond) * ohms <= NOTHING or step < SMALLEST:
            found = step
    return found


@compiled
def write_reaches(laws: Ints, elements: Floats) -> None:
    """Write 1 / reach of every element of a lane, 0 for one that is not there.

    A filament's characteristic bends one way first and then the other: its reach is its radius.
    """
    for c in range(len(laws)):
        free = elements[c, RADIUS]
        for side in range(2):
            within, calm = 0.0, 0.0
            if elements[c, 0] > 0.0:
                far = reach(laws[c], elements, c, elements[c, 8], 1.0 - 2.0 * side)
                within = 1.0 / far
                calm = 1.0 / (max(free, SMALLEST) if laws[c] == LAMP else max(far, free))
            elements[c, UPWARDS + side], elements[c, CALM_UP + side] = within, calm


@compiled
def write_shares(coils: Floats, shares: Floats) -> None:
    """Write for coils and fuses by which share of its slack a volt moves each, in 1 / V."""
    for j in range(len(coils)):
        room = coils[j, SLACK] - SURE - SURE_SHARE * coils[j, LIMIT]
        shares[j] = 0.0
        if coils[j, SIEMENS] > 0.0 and room < math.inf:
            shares[j] = coils[j, SIEMENS] / room if room > 0.0 else MOST_SHARE


@compiled
def write_stirs(
    elements: Floats,
    across: Floats,
    half: Floats,
    shares: Floats,
    coil_across: Floats,
    coil_half: Floats,
    p: int,
    stirs: Floats,
) -> None:
    """Write stirs, and sways, of currents from point p to every point after it.

    Parameters
    ----------
    across, coil_across : (C E, 8), (J E, 8)
        `half` (P, C) and `coil_half` (P, J) the other way round (see `thevenin.halves`), in E rows
        of eight points.
    shares : (J,)
        See `write_shares`.
    stirs : (STIRS E, 8)
        To be filled.
    """
    eights, nothing = len(stirs) // STIRS, all_eight(0.0)
    for row in range(p // LANES, eights):
        forward, backward, sway = nothing, nothing, nothing
        for c in range(len(elements)):
            up, down = all_eight(elements[c, CALM_UP]), all_eight(elements[c, CALM_DOWN])
            meets = all_eight(half[p, c]) - eight(across, c * eights + row)
            over_up, over_down = meets * up, meets * down
            forward = larger(forward, larger(over_down, nothing - over_up))
            backward = larger(backward, larger(over_up, nothing - over_down))
        for j in range(len(shares)):
            meets = all_eight(coil_half[p, j]) - eight(coil_across, j * eights + row)
            share = meets * all_eight(shares[j])
            sway = larger(sway, larger(share, nothing - share))
        put_eight(stirs, UP * eights + row, forward)
        put_eight(stirs, DOWN * eights + row, backward)
        put_eight(stirs, SWAY * eights + row, sway)


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
        volts = min(volts, elements[c, RADIUS])
        if elements[c, 8] > 0.0:
            amps = min(amps, elements[c, RADIUS] / elements[c, 8])
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
