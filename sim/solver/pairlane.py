"""Compiled: what a meter shows between all pairs of points of one lane (see `pairkernel`).

Most readings are worked out here, from numbers: those of a meter that draws too little to bend
anything, and those on a line that is known. Only what is left is handed on (`read`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.compiled import compiled, inlined, lent
from sim.eights import LANES
from sim.network import Floats, Ints
from sim.solver.calm import (
    DOWN,
    STIRS,
    SWAY,
    UP,
    Calm,
    calm_drop,
    calm_limits,
    write_reaches,
    write_shares,
    write_stirs,
)
from sim.solver.nearby import ALIKE, WIDER, group_points, line_drop
from sim.solver.pairreading import Lane, Spot, lent_lane, read
from sim.solver.thevenin import halves, mutuals, radius

REASONS = 16  # more than there are ranges, plus 1
QUICK, SURELY = 0, 1  # ohms that bend something are left alone, or solved


class Ground(NamedTuple):
    """What is known of a lane's P points, n curved elements and C coils.

    Attributes
    ----------
    groups : int array (2, P)
        The group of every point, and the wider one; see `sim.solver.nearby`.
    leaders : int array (P,)
        To work in.
    across, coil_across : float arrays (n E, 8), (C E, 8)
        `Lane.half` and `Lane.coil_half` the other way round, in E rows of eight points.
    stirs : float array (3 E, 8)
        Of currents from one point to every other; see `sim.solver.calm`.
    """

    groups: Ints
    leaders: Ints
    across: Floats
    coil_across: Floats
    stirs: Floats


@compiled
def look_at_lane(
    looked: Lane,
    ground: Ground,
    between: Floats,
    size: int,
    at: int,
    curved_ends: Ints,
    judged_ends: Ints,
    places: Ints,
) -> None:
    """Write how currents between points reach the curved elements and the coils of a lane."""
    laws, elements = looked.laws, looked.elements
    for c in range(len(laws)):
        ohms = between[curved_ends[c, 0] * size + curved_ends[c, 1], at]
        elements[c, 8], elements[c, 9] = ohms, math.inf
        if elements[c, 0] > 0.0:
            elements[c, 9] = radius(laws[c], elements, c, ohms)
    halves(between, size, at, curved_ends, places, looked.half)
    mutuals(between, size, at, curved_ends, curved_ends, looked.mutual)
    halves(between, size, at, judged_ends, places, looked.coil_half)
    mutuals(between, size, at, judged_ends, curved_ends, looked.coil_mutual)
    turn(looked.half, ground.across)
    turn(looked.coil_half, ground.coil_across)
    write_reaches(laws, elements)
    write_shares(looked.coils, looked.shares)
    for which in range(2):
        group_points(
            elements, looked.half, between, size, at, curved_ends, places,
            ALIKE if which == 0 else WIDER, ground.leaders, ground.groups, which,
        )  # fmt: skip


@compiled
def turn(half: Floats, across: Floats) -> None:
    """Write an array the other way round, in rows of eight; the end of the last is not used."""
    eights = len(across) // max(1, half.shape[1])
    for column in range(half.shape[1]):
        for point in range(len(half)):
            across[column * eights + point // LANES, point % LANES] = half[point, column]


@inlined
def quick_drop(
    lines: Floats,
    spot: Spot,
    ahead: int,
    direct: float,
    push: float,
    series: float,
    emf: float,
    leads: float,
    calm: Calm,
) -> float:
    """Return V between the jacks of a meter that bends nothing, or by its line; else NaN."""
    drop = calm_drop(direct, push, series, emf, leads, calm)
    if math.isnan(drop):
        ohms = direct + leads + series
        drop = line_drop(
            lines,
            spot.near + ahead,
            spot.lane,
            push,
            ohms,
            series,
            emf,
            calm[0],
            spot.stir,
            spot.sway,
        )
    return drop


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


@inlined
def read_ohms(
    lane: Lane,
    spot: Spot,
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
    how: int,
) -> tuple[float, int, int]:
    """Return what an ohmmeter shows that finds its range with the highest one, inf for OL.

    NaN if it is not known (`QUICK`: from numbers and lines alone), and the range in which it is
    not, -1 for the one it looks with; and how many readings it took that `tally` does not count.
    `ranges` (2, n): series resistance and full scale.
    """
    last, pairs = ranges.shape[1] - 1, len(lane.half) * len(lane.half)
    choice, readings, drop, before = -1, 0, math.nan, -1.0
    for _try in range(last + 2):
        at = last if choice < 0 else choice
        series, push = ranges[0, at], volts - emf
        if series != before:  # two ranges may be the same circuit
            drop = quick_drop(lane.lines, spot, at * pairs, direct, push, series, emf, leads, calm)
            readings += 1
            if how == SURELY and math.isnan(drop):
                readings -= 1
                drop = read(
                    lane, spot, at * pairs, p, q, direct, volts, series, emf, leads, calm[0], tally
                )
        if math.isnan(drop):
            return math.nan, choice, readings
        before, ohms = series, ohms_of(drop, series, emf, zeroed)
        if choice < 0:
            choice = range_for(ohms, ranges)
        elif ohms >= ranges[1, choice] and choice < last:
            choice += 1
        else:
            return ohms if ohms < ranges[1, choice] else math.inf, choice, readings
    return math.inf, last, readings


@compiled
def read_lane(
    counted: Lane,
    ground: Ground,
    between: Floats,
    size: int,
    at: int,
    lane: int,
    volts: Floats,
    points: Ints,
    places: Ints,
    first: Ints,
    second: Ints,
    leads: float,
    input_ohms: float,
    input_emf: float,
    ranges: Floats,
    emf: float,
    zeroed: float,
    most: float,
    shown_volts: Floats,
    shown_ohms: Floats,
    why_volts: np.ndarray,
    why_ohms: np.ndarray,
    tally: Ints,
) -> None:
    """Fill a lane's row of readings; see `sim.solver.pairkernel.read_pairs`."""
    looked, between, ranges, tally = lent_lane(counted), lent(between), lent(ranges), lent(tally)
    calm, readings, lines = calm_limits(looked.elements, most), 0, looked.lines
    groups, stirs, never, stirred = lent(ground.groups), lent(ground.stirs), math.inf, -1
    eights = len(stirs) // STIRS
    count = len(points)
    pairs = count * count
    above, own = ranges.shape[1] * pairs, lane + 1.0
    looked.serials[0] = looked.serials[1]
    for k in range(len(first)):
        p, q = first[k], second[k]
        across = volts[lane, points[p]] - volts[lane, points[q]]
        direct = between[places[p] * size + places[q], at]
        near, wide = groups[0, p] * count + groups[0, q], groups[1, p] * count + groups[1, q]
        spot = Spot(near, wide, (never, never), never, own)
        if p == stirred and p < q:
            row, place = q // LANES, q % LANES
            stir = stirs[UP * eights + row, place], stirs[DOWN * eights + row, place]
            spot = Spot(near, wide, stir, stirs[SWAY * eights + row, place], own)
        push, ohms, tries = across - input_emf, 0.0, 0
        shown = quick_drop(lines, spot, above, direct, push, input_ohms, input_emf, leads, calm)
        if len(shown_ohms) > 0:
            ohms, choice, tries = read_ohms(
                looked, spot, p, q, direct, across, ranges, emf, leads, zeroed, calm, tally, QUICK
            )
        if p != stirred and (math.isnan(shown) or math.isnan(ohms)):
            write_stirs(
                looked.elements, ground.across, looked.half, looked.shares, ground.coil_across,
                looked.coil_half, p, stirs,
            )  # fmt: skip
            stirred = p
        if math.isnan(shown):
            shown = read(
                looked, spot, above, p, q, direct, across, input_ohms, input_emf, leads, most, tally
            )
            why_volts[lane, k] = REASONS * tally[3]
        else:
            readings += 1
        if math.isnan(ohms):
            ohms, choice, tries = read_ohms(
                looked, spot, p, q, direct, across, ranges, emf, leads, zeroed, calm, tally, SURELY
            )
            why_ohms[lane, k] = REASONS * tally[3] + choice + 1
        readings += tries
        shown_volts[lane, k] = shown
        if len(shown_ohms) > 0:
            shown_ohms[lane, k] = ohms
    tally[0] += readings
