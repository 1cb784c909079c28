"""Compiled: what a meter shows between all pairs of points, lane after lane; see `thevenin`."""

from __future__ import annotations

import numpy as np

from sim.compiled import compiled
from sim.eights import LANES
from sim.network import Floats, Ints
from sim.solver.bending import ROWS
from sim.solver.calm import COLUMNS, STIRS
from sim.solver.elimination import eliminate
from sim.solver.filling import LIMITS, SHIFTS, gather, put_straight, set_switches
from sim.solver.nearby import COUNT, LINE, NUMBERS, STORED
from sim.solver.newton import KEPT, law_current
from sim.solver.pairlane import Ground, look_at_lane, read_lane
from sim.solver.pairreading import Lane
from sim.solver.pairstates import WIDTH, slacks
from sim.solver.thevenin import resistances


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
    nodes, size, elements = len(count), len(count) + 1, np.zeros((len(curved), COLUMNS))
    half, mutual = np.empty((len(points), len(curved))), np.empty((len(curved), len(curved)))
    coils, coil_half = np.empty((len(judged), WIDTH)), np.empty((len(points), len(judged)))
    coil_mutual, shares = np.empty((len(judged), len(curved))), np.empty(len(judged))
    beyond, room = np.empty(len(curved)), np.empty((len(curved) + ROWS, len(curved)))
    bending, acting = np.empty(len(curved), np.int64), np.empty(len(curved), np.int64)
    stored, serials = np.empty((STORED, NUMBERS * len(curved) + COUNT)), np.zeros(2, np.int64)
    spots = (ranges.shape[1] + 1) * len(points) * len(points)
    found_at, lines = np.full(spots, -1), np.zeros((spots, LINE))
    looked = Lane(
        curved_law, elements, half, mutual, coils, coil_half, coil_mutual, shares, beyond, room,
        bending, acting, found_at, serials, stored, lines,
    )  # fmt: skip
    eights = (len(points) + LANES - 1) // LANES
    ground = Ground(
        np.empty((2, len(points)), np.int64), np.empty(len(points), np.int64),
        np.zeros((len(curved) * eights, LANES)), np.zeros((len(judged) * eights, LANES)),
        np.empty((STIRS * eights, LANES)),
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
            look_at_lane(looked, ground, between, size, at, curved_ends, judged_ends, places)
            read_lane(
                looked, ground, between, size, at, lane, volts, points, places, first, second,
                leads, input_ohms, input_emf, ranges, emf, zeroed, most, shown_volts, shown_ohms,
                why_volts, why_ohms, tally,
            )  # fmt: skip
