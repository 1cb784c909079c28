"""Compiled: the steps of the curved elements of up to eight lanes; see `sim.solver.newton`.

`width` is how many slots, from the first, may have a lane in them: all eight, but where fewer lanes
are to be solved at all.
"""

from __future__ import annotations

from sim.compiled import choose, compiled
from sim.network import Floats, Ints
from sim.solver.elementary import power
from sim.solver.laws import DIODE, LAMP, WORKING, diode_growth
from sim.solver.newton import (
    CHORD_START,
    DARK,
    EMF,
    FLOW,
    GROWN,
    HALVINGS,
    KEPT,
    NEXT_POINT,
    NEXT_PUSH,
    NEXT_SLOPE,
    POINT,
    PUSH,
    SHAPE,
    SLOPE,
    is_too_far,
    law_current,
    limited_step,
    next_line,
    shared_line,
    straightened,
)


@compiled
def grow(width: int, law: int, base: int, kept: Floats) -> None:
    """Write what `law_growth` says of an element's next point in every lane, all at once.

    Nothing else is in these loops, and they pass over no lane, so that they are done in vectors:
    but only where the compiler does not know how many there are. A loop of eight it writes out.
    """
    if law == LAMP:
        for at in range(width):
            kept[base + GROWN, at] = power(kept[base + NEXT_POINT, at], kept[base + SHAPE + 2, at])
    elif law == DIODE:
        for at in range(width):
            kept[base + GROWN, at] = diode_growth(
                kept[base + NEXT_POINT, at], kept[base + SHAPE + 1, at]
            )


@compiled
def begin(width: int, curved_law: Ints, kept: Floats, settled: Ints, age: Ints) -> None:
    """Straighten the curved elements of unsettled lanes about where the iteration starts.

    In a lane of some age, which has been solved in other states before, they are as the last one
    left them, but for the lamps.
    """
    fresh = 0
    for at in range(width):
        if settled[at] == WORKING and age[at] == 0:
            fresh += 1
    for c in range(len(curved_law)):
        law, base = curved_law[c], c * KEPT
        if fresh == 0 and law != LAMP:
            continue
        for at in range(width):
            point = kept[base + POINT, at] if age[at] > 0 else 0.0
            if law == LAMP and abs(point) < DARK:
                point = CHORD_START
            kept[base + NEXT_POINT, at] = point
        grow(width, law, base, kept)
        for at in range(width):
            if settled[at] != WORKING or (age[at] > 0 and law != LAMP):
                continue
            slope, push, _amps = straightened(
                law,
                False,  # noqa: FBT003 -- by its chord
                kept[base + NEXT_POINT, at],
                kept[base, at],
                kept[base + EMF, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
                kept[base + SHAPE + 2, at],
                kept[base + GROWN, at],
            )
            kept[base + POINT, at] = kept[base + NEXT_POINT, at]
            kept[base + SLOPE, at] = slope
            kept[base + PUSH, at] = push


@compiled
def aim(width: int, law: int, base: int, edge: int, sign: float, d: Floats, kept: Floats) -> None:
    """Write the next point of an element in every lane: as far as it may go at once."""
    for at in range(width):
        old, to = kept[base + POINT, at], sign * d[edge, at] - kept[base + EMF, at]
        if is_too_far(law, to, old, kept[base + SHAPE + 1, at]):
            g, first, second = (
                kept[base, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
            )
            to = limited_step(law, to, old, g, first, second)
        kept[base + NEXT_POINT, at] = to


@compiled
def step_all(
    width: int,
    curved_edge: Ints,
    curved_sign: Floats,
    curved_law: Ints,
    d: Floats,
    kept: Floats,
    missed: Ints,
) -> None:
    """Work out where curved elements go next; `missed` becomes c + 1 where one is unlawful.

    No lane is passed over, so that the loops are done in vectors; what comes of those that rest
    is not taken.
    """
    for c in range(len(curved_law)):
        law, base, edge, sign = curved_law[c], c * KEPT, curved_edge[c], curved_sign[c]
        aim(width, law, base, edge, sign, d, kept)
        grow(width, law, base, kept)
        for at in range(width):
            lawful, slope, push = next_line(
                law,
                sign * d[edge, at],
                kept[base + NEXT_POINT, at],
                kept[base, at],
                kept[base + EMF, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
                kept[base + SHAPE + 2, at],
                kept[base + GROWN, at],
                kept[base + POINT, at],
                kept[base + SLOPE, at],
                kept[base + PUSH, at],
            )
            missed[at] = choose(lawful, missed[at], c + 1)
            kept[base + NEXT_SLOPE, at] = slope
            kept[base + NEXT_PUSH, at] = push


@compiled
def go_on(width: int, curved_law: Ints, kept: Floats, rest: Ints) -> None:
    """Take the next point and line of every curved element in lanes that do not rest."""
    for c in range(len(curved_law)):
        base = c * KEPT
        for at in range(width):
            if rest[at] == 0:
                kept[base + POINT, at] = kept[base + NEXT_POINT, at]
                kept[base + SLOPE, at] = kept[base + NEXT_SLOPE, at]
                kept[base + PUSH, at] = kept[base + NEXT_PUSH, at]


@compiled
def slope_along(
    curved_edge: Ints,
    curved_sign: Floats,
    curved_law: Ints,
    d: Floats,
    kept: Floats,
    at: int,
    share: float,
) -> float:
    """Return the sum of (I of the law - I of the network) x step at a share of a lane's step."""
    total = 0.0
    for c in range(len(curved_law)):
        base = c * KEPT
        if kept[base, at] > 0.0:
            drop = curved_sign[c] * d[curved_edge[c], at]
            step = drop - kept[base + EMF, at] - kept[base + POINT, at]
            flowing = kept[base + SLOPE, at] * drop - kept[base + PUSH, at]
            amps, _slope = law_current(
                curved_law[c],
                kept[base + POINT, at] + share * step,
                kept[base, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
                kept[base + SHAPE + 2, at],
            )
            between = kept[base + FLOW, at] + share * (flowing - kept[base + FLOW, at])
            total += (amps - between) * step
    return total


@compiled
def share_of_step(
    curved_edge: Ints, curved_sign: Floats, curved_law: Ints, d: Floats, kept: Floats, at: int
) -> float:
    """Return how far a lane's step may go: 1, or where the sum along it has risen to 0."""
    share, least = 1.0, 0.0
    if slope_along(curved_edge, curved_sign, curved_law, d, kept, at, 1.0) > 0.0:
        for _halving in range(HALVINGS):
            middle = 0.5 * (share + least)
            if slope_along(curved_edge, curved_sign, curved_law, d, kept, at, middle) > 0.0:
                share = middle
            else:
                least = middle
    return share


@compiled
def search(
    curved_edge: Ints,
    curved_sign: Floats,
    curved_law: Ints,
    d: Floats,
    kept: Floats,
    rest: Ints,
    missed: Ints,
    whole: bool,  # noqa: FBT001 -- compiled functions have no keywords
) -> None:
    """Work out the next step of lanes that do not rest, as far as a line search goes.

    `whole` makes it a whole one, from which the current of the network is known.
    """
    for at in range(len(rest)):
        if rest[at] == 1:
            continue
        share = 1.0
        if not whole:
            share = share_of_step(curved_edge, curved_sign, curved_law, d, kept, at)
        for c in range(len(curved_law)):
            base = c * KEPT
            lawful, point, slope, push, flow = shared_line(
                curved_law[c],
                curved_sign[c] * d[curved_edge[c], at],
                kept[base, at],
                kept[base + EMF, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
                kept[base + SHAPE + 2, at],
                kept[base + POINT, at],
                kept[base + SLOPE, at],
                kept[base + PUSH, at],
                kept[base + FLOW, at],
                share,
            )
            if not lawful:
                missed[at] = c + 1
            kept[base + NEXT_POINT, at] = point
            kept[base + NEXT_SLOPE, at] = slope
            kept[base + NEXT_PUSH, at] = push
            kept[base + FLOW, at] = flow
