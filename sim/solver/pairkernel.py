"""Compiled: what a meter shows between all pairs of points, lane after lane; see `thevenin`."""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import compiled
from sim.eights import LANES
from sim.network import Floats, Ints
from sim.solver.bending import ROWS
from sim.solver.elimination import eliminate
from sim.solver.filling import LIMITS, SHIFTS, gather, put_straight, set_switches
from sim.solver.nearby import COUNT, NUMBERS, STORED, group_points
from sim.solver.newton import KEPT, law_current
from sim.solver.pairreading import Lane, calm_drop, calm_limits, calm_ohms, read, read_ohms
from sim.solver.pairstates import WIDTH, slacks
from sim.solver.thevenin import halves, mutuals, radius, resistances

REASONS = 16  # more than there are ranges, plus 1


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
def look_at_lane(
    looked: Lane,
    between: Floats,
    size: int,
    at: int,
    curved_ends: Ints,
    judged_ends: Ints,
    places: Ints,
    leaders: Ints,
    group: Ints,
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
    group_points(elements, looked.half, between, size, at, curved_ends, places, leaders, group)


@compiled
def read_lane(
    looked: Lane,
    group: Ints,
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
    """Fill a lane's row of readings; see `read_pairs`."""
    calm, readings, count = calm_limits(looked.elements, most), 0, len(points)
    above = ranges.shape[1] * count * count
    looked.serials[0] = looked.serials[1]
    for k in range(len(first)):
        p, q = first[k], second[k]
        across = volts[lane, points[p]] - volts[lane, points[q]]
        direct = between[places[p] * size + places[q], at]
        spot = group[p] * count + group[q]
        shown = calm_drop(direct, across - input_emf, input_ohms, input_emf, leads, calm)
        if math.isnan(shown):
            shown = read(
                looked,
                spot + above,
                p,
                q,
                direct,
                across,
                input_ohms,
                input_emf,
                leads,
                most,
                tally,
            )
            why_volts[lane, k] = REASONS * tally[3]
        else:
            readings += 1
        shown_volts[lane, k] = shown
        if len(shown_ohms) == 0:
            continue
        ohms, tries = calm_ohms(direct, across, ranges, emf, leads, zeroed, calm)
        if math.isnan(ohms):
            ohms, choice = read_ohms(
                looked, spot, p, q, direct, across, ranges, emf, leads, zeroed, calm, tally
            )
            why_ohms[lane, k] = REASONS * tally[3] + choice + 1
        else:
            readings += tries
        shown_ohms[lane, k] = ohms
    tally[0] += readings


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
    input_emf: float,
    ranges: Floats,
    emf: float,
    zeroed: float,
    shown_volts: Floats,
    shown_ohms: Floats,
    why_volts: np.ndarray,
    why_ohms: np.ndarray,
    tally: Ints,
) -> None:
    """Fill (L, K) loaded volts, and ohms where (L, K) is given, NaN for what is not known.

    Parameters
    ----------
    points, places : (P,) nodes and their places in the order
    first, second : (K,) which of the points red and black are on
    shown_ohms : (L, K), or (0, K) for none
    input_ohms, input_emf : of the meter that reads volts
    why_volts, why_ohms : like these, small integers; where a reading is not known, `REASONS` times
        the coil that does not keep its state (the number of all: some other reason); with ohms, to
        it is added the range in which that is so, plus 1, or 0 for the one it looks with
    The rest as in `sim.solver.kernel.solve_lanes`, with loose leads and a solution.
    """
    nodes, size, elements = len(count), len(count) + 1, np.zeros((len(curved), 10))
    half, mutual = np.empty((len(points), len(curved))), np.empty((len(curved), len(curved)))
    coils, coil_half = np.empty((len(judged), WIDTH)), np.empty((len(points), len(judged)))
    coil_mutual, beyond = np.empty((len(judged), len(curved))), np.empty(len(curved))
    room, bending = np.empty((len(curved) + ROWS, len(curved))), np.empty(len(curved), np.int64)
    stored, serials = np.empty((STORED, NUMBERS * len(curved) + COUNT)), np.zeros(2, np.int64)
    leaders, group = np.empty(len(points), np.int64), np.empty(len(points), np.int64)
    found_at = np.full((ranges.shape[1] + 1) * len(points) * len(points), -1)
    looked = Lane(
        curved_law, elements, half, mutual, coils, coil_half, coil_mutual, beyond, room, bending,
        found_at, serials, stored,
    )  # fmt: skip
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
            most = slacks(
                rows, variant[lane], straight, laws, relays, closed[lane], now, judged, at,
                current[lane], coils,
            )  # fmt: skip
            look_at_lane(
                looked, between, size, at, curved_ends, judged_ends, places, leaders, group
            )
            read_lane(
                looked, group, between, size, at, lane, volts, points, places, first, second, leads,
                input_ohms, input_emf, ranges, emf, zeroed, most, shown_volts, shown_ohms,
                why_volts, why_ohms, tally,
            )  # fmt: skip
