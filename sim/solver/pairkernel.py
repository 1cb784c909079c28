"""Compiled: what a meter shows between all pairs of points, lane after lane; see `thevenin`."""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import compiled
from sim.eights import LANES
from sim.network import Floats, Ints
from sim.solver.elimination import eliminate
from sim.solver.filling import LIMITS, SHIFTS, gather, put_straight, set_switches
from sim.solver.newton import KEPT, law_current
from sim.solver.pairstates import WIDTH, slacks, spared, stay
from sim.solver.thevenin import (
    RESOLVE,
    bend_of,
    halves,
    mutuals,
    radius,
    resistances,
    solve_bent,
)

Calm = tuple[float, float, float]  # of `calm_limits`


@compiled
def straighten_lane(
    laws: Ints, curved: Ints, kept: Floats, at: int, drop: Floats, elements: Floats
) -> None:
    """Write the curved elements' rows, and voltage, current and slope at the operating point."""
    for c in range(len(curved)):
        for column in range(5):
            elements[c, column] = kept[c * KEPT + column, at]
        volts = drop[curved[c]] - elements[c, 1]
        elements[c, 5], elements[c, 6], elements[c, 7] = volts, 0.0, 0.0
        if elements[c, 0] > 0.0:
            row = elements[c]
            elements[c, 6], elements[c, 7] = law_current(
                laws[c], volts, row[0], row[2], row[3], row[4]
            )


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
    laws: Ints,
    elements: Floats,
    half: Floats,
    mutual: Floats,
    coils: Floats,
    coil_half: Floats,
    coil_mutual: Floats,
    beyond: Floats,
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
    no state. `tally` counts readings, those solved anew, and those that could not be.
    """
    ohms = direct + leads + series
    push = volts - emf
    amps = push / ohms
    tally[0] += 1
    anew = bend_of(laws, elements, half, p, q, direct, amps) * series > RESOLVE * ohms
    if not anew and abs(amps) >= most:
        anew = not spared(elements, half, coils, coil_half, p, q, amps, ohms)
    if anew:
        tally[1] += 1
        converged, amps = solve_bent(
            laws, elements, half, mutual, p, q, push, ohms, ohms - direct, beyond
        )
        if not converged or not stay(coils, coil_half, coil_mutual, beyond, p, q, amps):
            tally[2] += 1
            return math.nan
    return emf + amps * series


@compiled
def read_ohms(
    laws: Ints,
    elements: Floats,
    half: Floats,
    mutual: Floats,
    coils: Floats,
    coil_half: Floats,
    coil_mutual: Floats,
    beyond: Floats,
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
) -> float:
    """Return what an ohmmeter shows that finds its range with the highest one, inf for OL.

    `ranges` (2, n): series resistance and full scale.
    """
    last = ranges.shape[1] - 1
    choice = -1
    for _try in range(last + 2):
        series = ranges[0, last if choice < 0 else choice]
        drop = calm_drop(direct, volts - emf, series, emf, leads, calm)
        tally[0] += 1
        if math.isnan(drop):
            tally[0] -= 1
            drop = read(
                laws, elements, half, mutual, coils, coil_half, coil_mutual, beyond, p, q, direct,
                volts, series, emf, leads, calm[0], tally,
            )  # fmt: skip
        if math.isnan(drop):
            return math.nan
        ohms = ohms_of(drop, series, emf, zeroed)
        if choice < 0:
            choice = range_for(ohms, ranges)
        elif ohms >= ranges[1, choice] and choice < last:
            choice += 1
        else:
            return ohms if ohms < ranges[1, choice] else math.inf
    return math.inf


@compiled
def read_pairs(
    count: Ints,
    live: Ints,
    edge_at: Ints,
    pair_at: Ints,
    edge: Ints,
    pair: Ints,
    neighbour: Ints,
    edges: int,
    straight: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    pushing: Ints,
    switching: Ints,
    judged: Ints,
    pushed: Ints,
    quiet: Ints,
    shifting: Ints,
    limited: Ints,
    curved: Ints,
    curved_edge: Ints,
    curved_law: Ints,
    curved_ends: Ints,
    judged_ends: Ints,
    leak_edge: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    which: Ints,
    leak: float,
    closed: Ints,
    blown: Ints,
    drop: Floats,
    current: Floats,
    volts: Floats,
    points: Ints,
    places: Ints,
    first: Ints,
    second: Ints,
    leads: float,
    input_ohms: float,
    ranges: Floats,
    emf: float,
    zeroed: float,
    shown_volts: Floats,
    shown_ohms: Floats,
    tally: Ints,
) -> None:
    """Fill (L, K) loaded volts, and ohms where (L, K) is given, NaN for what is not known.

    Parameters
    ----------
    points, places : (P,) nodes and their places in the order
    first, second : (K,) which of the points red and black are on
    shown_ohms : (L, K), or (0, K) for none
    The rest as in `sim.solver.kernel.solve_lanes`, with loose leads and a solution.
    """
    nodes, size, elements = len(count), len(count) + 1, np.zeros((len(curved), 10))
    half, mutual = np.empty((len(points), len(curved))), np.empty((len(curved), len(curved)))
    coils, coil_half = np.empty((len(judged), WIDTH)), np.empty((len(points), len(judged)))
    coil_mutual, beyond = np.empty((len(judged), len(curved))), np.empty(len(curved))
    g, j = np.empty((edges + 1, LANES)), np.empty((edges + 1, LANES))
    lifted, inverse = np.zeros((nodes, LANES)), np.empty((nodes, LANES))
    kept, now = np.zeros((len(curved) * KEPT, LANES)), np.zeros((len(straight), LANES))
    pushes, shifts = np.zeros((len(pushing), LANES)), np.zeros((len(switching) * SHIFTS, LANES))
    limits, slots = np.zeros((len(judged) * LIMITS, LANES)), np.arange(LANES)
    between = np.zeros((size * size, LANES))
    for start in range(0, len(which), LANES):
        lanes, width = which[start : start + LANES], len(which[start : start + LANES])
        gather(
            rows, variant, instruments, lanes, slots[:width], straight, quiet, pushed, shifting,
            limited, curved, now, pushes, shifts, limits, kept,
        )  # fmt: skip
        set_switches(
            lanes, slots[:width], straight, switching, laws, relays, fuses, closed, blown, shifts,
            now,
        )  # fmt: skip
        put_straight(
            straight_edge, straight_sign, pushing[:0], pushing[:0], leak_edge, 0.0, leak, now,
            pushes, g, j,
        )  # fmt: skip
        for at in range(width):
            straighten_lane(curved_law, curved, kept, at, drop[lanes[at]], elements)
            for c in range(len(curved)):
                g[curved_edge[c], at] += elements[c, 7]
        eliminate(
            nodes - nodes, nodes, count, live, edge_at, pair_at, edge, pair, g, j, lifted, inverse
        )
        resistances(count, edge_at, edge, neighbour, g, inverse, between)
        for at in range(width):
            lane = lanes[at]
            straighten_lane(curved_law, curved, kept, at, drop[lane], elements)
            for c in range(len(curved)):
                ohms = between[curved_ends[c, 0] * size + curved_ends[c, 1], at]
                elements[c, 8], elements[c, 9] = ohms, math.inf
                if elements[c, 0] > 0.0:
                    elements[c, 9] = radius(curved_law[c], elements, c, ohms)
            most = slacks(
                rows, variant[lane], straight, laws, relays, closed[lane], now, judged, at,
                current[lane], coils,
            )  # fmt: skip
            calm = calm_limits(elements, most)
            halves(between, size, at, curved_ends, places, half)
            mutuals(between, size, at, curved_ends, curved_ends, mutual)
            halves(between, size, at, judged_ends, places, coil_half)
            mutuals(between, size, at, judged_ends, curved_ends, coil_mutual)
            readings = 0
            for k in range(len(first)):
                p, q = first[k], second[k]
                across = volts[lane, points[p]] - volts[lane, points[q]]
                direct = between[places[p] * size + places[q], at]
                shown = calm_drop(direct, across, input_ohms, 0.0, leads, calm)
                if math.isnan(shown):
                    shown = read(
                        curved_law, elements, half, mutual, coils, coil_half, coil_mutual, beyond,
                        p, q, direct, across, input_ohms, 0.0, leads, most, tally,
                    )  # fmt: skip
                else:
                    readings += 1
                shown_volts[lane, k] = shown
                if len(shown_ohms) == 0:
                    continue
                ohms, tries = calm_ohms(direct, across, ranges, emf, leads, zeroed, calm)
                if math.isnan(ohms):
                    ohms = read_ohms(
                        curved_law, elements, half, mutual, coils, coil_half, coil_mutual, beyond,
                        p, q, direct, across, ranges, emf, leads, zeroed, calm, tally,
                    )  # fmt: skip
                else:
                    readings += tries
                shown_ohms[lane, k] = ohms
            tally[0] += readings
