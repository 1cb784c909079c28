"""Compiled: relays and fuses judge a block of lanes; what has come to rest is written down.

Relays are judged by coil *current*, before fuses; of several fuses above their limit the one that
is furthest above it blows, once.
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.laws import COIL, NOT_CONVERGED, OSCILLATING, SOLVED, WORKING
from sim.solver.newton import CONDUCTANCE, EMF, KEPT, SHAPE, law_current

STIFF = 1e3  # S from which the current of an EMF is better known as the sum of the others' there


@compiled
def judge_relays(
    rows: Floats,
    variant: int,
    straight: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    laws: Ints,
    relays: Ints,
    row: Floats,
    now: Floats,
    d: Floats,
    at: int,
    closed: Ints,
) -> int:
    """Let the relays of a lane follow their coil currents; return a coil that did, plus 1, or 0."""
    changed = 0
    for index in range(len(judged)):
        i = judged[index]
        number = straight[i]
        if laws[number] == COIL:
            drop = straight_sign[i] * d[straight_edge[i], at]
            amps = abs(now[i, at] * (drop - row[len(straight) + i, at]))
            relay = relays[number]
            if closed[relay] == 0 and amps >= rows[variant, number, 2]:
                closed[relay] = 1
                changed = number + 1
            elif closed[relay] == 1 and amps <= rows[variant, number, 3]:
                closed[relay] = 0
                changed = number + 1
    return changed


@compiled
def judge_fuses(
    straight: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    laws: Ints,
    fuses: Ints,
    row: Floats,
    now: Floats,
    d: Floats,
    at: int,
    blown: Ints,
) -> bool:
    """Blow the fuse of a lane that is furthest above its limit; True if one blew."""
    worst, worst_ratio, count = -1, 1.0, len(straight)
    for index in range(len(judged)):
        i = judged[index]
        number = straight[i]
        if laws[number] != COIL and now[i, at] > 0.0:
            drop = straight_sign[i] * d[straight_edge[i], at]
            amps = abs(now[i, at] * (drop - row[count + i, at]))
            if amps > worst_ratio * row[2 * count + i, at]:
                worst, worst_ratio = fuses[number], amps / row[2 * count + i, at]
    if worst >= 0:
        blown[worst] = 1
    return worst >= 0


@compiled
def judge_block(
    rows: Floats,
    variant: Ints,
    lanes: Ints,
    straight: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    row: Floats,
    now: Floats,
    d: Floats,
    rest: Ints,
    settled: Ints,
    closed: Ints,
    blown: Ints,
    curved: Ints,
    missed: Ints,
    worst: Ints,
) -> int:
    """Judge the lanes that have not settled; return how many go on in another state."""
    working = 0
    for at in range(len(lanes)):
        if settled[at] != WORKING:
            continue
        lane = lanes[at]
        if rest[at] == 0:
            settled[at] = NOT_CONVERGED
            worst[lane] = curved[missed[at] - 1]
            continue
        coil = judge_relays(
            rows, variant[lane], straight, straight_edge, straight_sign, judged, laws, relays, row,
            now, d, at, closed[lane],
        )  # fmt: skip
        if coil > 0:
            worst[lane] = coil - 1
            working += 1
        elif judge_fuses(
            straight, straight_edge, straight_sign, judged, laws, fuses, row, now, d, at,
            blown[lane],
        ):  # fmt: skip
            working += 1
        else:
            settled[at] = SOLVED
    return working


@compiled
def write_drops(
    element_edge: Ints, element_sign: Floats, d: Floats, lanes: Ints, drop: Floats
) -> None:
    """Write the drops in V from a to b of all elements of a block's lanes."""
    for number in range(len(element_edge)):
        edge, sign = element_edge[number], element_sign[number]
        for at in range(len(lanes)):
            drop[lanes[at], number] = sign * d[edge, at] + 0.0


@compiled
def write_volts(ground_edge: Ints, d: Floats, lanes: Ints, volts: Floats) -> None:
    """Write the voltages against the body of a block's lanes."""
    for node in range(len(ground_edge)):
        edge = ground_edge[node]
        for at in range(len(lanes)):
            volts[lanes[at], node] = d[edge, at] + 0.0


@compiled
def write_currents(
    straight: Ints,
    curved: Ints,
    curved_law: Ints,
    row: Floats,
    now: Floats,
    kept: Floats,
    lanes: Ints,
    drop: Floats,
    current: Floats,
) -> None:
    """Write the currents in A of all elements that carry one, of all lanes."""
    count = len(straight)
    for i in range(count):
        number = straight[i]
        for at in range(len(lanes)):
            lane = lanes[at]
            current[lane, number] = now[i, at] * (drop[lane, number] - row[count + i, at]) + 0.0
    for c in range(len(curved)):
        number, base = curved[c], c * KEPT
        for at in range(len(lanes)):
            lane = lanes[at]
            amps, _slope = law_current(
                curved_law[c],
                drop[lane, number] - kept[base + EMF, at],
                kept[base + CONDUCTANCE, at],
                kept[base + SHAPE, at],
                kept[base + SHAPE + 1, at],
                kept[base + SHAPE + 2, at],
            )
            current[lane, number] = amps + 0.0 if kept[base + CONDUCTANCE, at] > 0.0 else 0.0


@compiled
def write_owed(
    owed: Ints,
    owed_row: Ints,
    owed_at: Ints,
    owed_by: Ints,
    owed_sign: Floats,
    owed_node: Ints,
    now: Floats,
    at: int,
    leak: float,
    volts: Floats,
    current: Floats,
) -> None:
    """Write the currents of stiff EMFs: what the other elements at one of their nodes leave over.

    By ``g (v_a - v_b - e)`` the last bit of 12.6 V would be 2 nA behind 1 uohm.
    """
    for index in range(len(owed)):
        if now[owed_row[index], at] >= STIFF:
            node = owed_node[index]
            amps = -leak * volts[node] if node > 0 else leak * volts[-node]
            for place in range(owed_at[index], owed_at[index + 1]):
                amps += owed_sign[place] * current[owed_by[place]]
            current[owed[index]] = amps + 0.0


@compiled
def add_sizes(edges: Ints, d: Floats, sums: Floats) -> None:
    """Add the sizes of the drops across some edges to a sum for each lane of a block."""
    for index in range(len(edges)):
        edge = edges[index]
        for at in range(len(sums)):
            sums[at] += abs(d[edge, at])


@compiled
def forget(numbers: Floats) -> None:
    """Make all numbers 0."""
    for index in range(len(numbers)):
        numbers[index] = 0.0


@compiled
def write_block(
    ground_edge: Ints,
    element_edge: Ints,
    element_sign: Floats,
    straight: Ints,
    curved: Ints,
    curved_law: Ints,
    owed: Ints,
    owed_row: Ints,
    owed_at: Ints,
    owed_by: Ints,
    owed_sign: Floats,
    owed_node: Ints,
    leak: float,
    row: Floats,
    now: Floats,
    kept: Floats,
    d: Floats,
    sums: Floats,
    lanes: Ints,
    settled: Ints,
    volts: Floats,
    drop: Floats,
    current: Floats,
    status: Ints,
) -> None:
    """Write what a block has come to; nothing but zeros for lanes that did not converge."""
    for at in range(len(lanes)):
        sums[at] = 0.0
        forget(current[lanes[at]])
    add_sizes(ground_edge, d, sums)
    add_sizes(element_edge, d, sums)
    write_volts(ground_edge, d, lanes, volts)
    write_drops(element_edge, element_sign, d, lanes, drop)
    write_currents(straight, curved, curved_law, row, now, kept, lanes, drop, current)
    for at in range(len(lanes)):
        lane = lanes[at]
        write_owed(
            owed, owed_row, owed_at, owed_by, owed_sign, owed_node, now, at, leak, volts[lane],
            current[lane],
        )  # fmt: skip
        status[lane] = OSCILLATING if settled[at] == WORKING else settled[at]
        if status[lane] == NOT_CONVERGED or not math.isfinite(sums[at]):
            status[lane] = NOT_CONVERGED
            forget(volts[lane])
            forget(drop[lane])
            forget(current[lane])
