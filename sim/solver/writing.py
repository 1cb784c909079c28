"""Compiled: what has come to rest is written down, lane by lane, and its slots become free."""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.laws import NOT_CONVERGED
from sim.solver.newton import CONDUCTANCE, EMF, KEPT, SHAPE, law_current

STIFF = 1e3  # S from which the current of an EMF is better known as the sum of the others' there


@compiled
def write_drops(
    element_edge: Ints,
    element_sign: Floats,
    d: Floats,
    lanes: Ints,
    slots: Ints,
    drop: Floats,
    sums: Floats,
) -> None:
    """Write the drops in V from a to b of all elements; add their sizes to a sum for each lane."""
    for place in range(len(lanes)):
        lane, at, total = lanes[place], slots[place], 0.0
        for number in range(len(element_edge)):
            volts = element_sign[number] * d[element_edge[number], at] + 0.0
            drop[lane, number] = volts
            total += abs(volts)
        sums[place] += total


@compiled
def write_volts(
    ground_edge: Ints, d: Floats, lanes: Ints, slots: Ints, volts: Floats, sums: Floats
) -> None:
    """Write the voltages against the body; add their sizes to a sum for each lane."""
    for place in range(len(lanes)):
        lane, at, total = lanes[place], slots[place], 0.0
        for node in range(len(ground_edge)):
            against = d[ground_edge[node], at] + 0.0
            volts[lane, node] = against
            total += abs(against)
        sums[place] += total


@compiled
def write_currents(
    straight: Ints,
    pushing: Ints,
    curved: Ints,
    curved_law: Ints,
    now: Floats,
    emf: Floats,
    kept: Floats,
    lanes: Ints,
    slots: Ints,
    drop: Floats,
    current: Floats,
) -> None:
    """Write the currents in A of all elements that carry one."""
    for place in range(len(lanes)):
        lane, at = lanes[place], slots[place]
        for i in range(len(straight)):
            number = straight[i]
            current[lane, number] = now[i, at] * drop[lane, number] + 0.0
    for index in range(len(pushing)):
        i = pushing[index]
        number = straight[i]
        for place in range(len(lanes)):
            lane, at = lanes[place], slots[place]
            current[lane, number] = now[i, at] * (drop[lane, number] - emf[index, at]) + 0.0
    for c in range(len(curved)):
        number, base = curved[c], c * KEPT
        for place in range(len(lanes)):
            lane, at = lanes[place], slots[place]
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
    leak: float,
    now: Floats,
    lanes: Ints,
    slots: Ints,
    volts: Floats,
    current: Floats,
) -> None:
    """Write the currents of stiff EMFs: what the other elements at one of their nodes leave over.

    By ``g (v_a - v_b - e)`` the last bit of 12.6 V would be 2 nA behind 1 uohm.
    """
    for index in range(len(owed)):
        node = owed_node[index]
        for place in range(len(lanes)):
            lane = lanes[place]
            if now[owed_row[index], slots[place]] >= STIFF:
                amps = -leak * volts[lane, node] if node > 0 else leak * volts[lane, -node]
                for other in range(owed_at[index], owed_at[index + 1]):
                    amps += owed_sign[other] * current[lane, owed_by[other]]
                current[lane, owed[index]] = amps + 0.0


@compiled
def forget(lane: int, numbers: Floats) -> None:
    """Make all numbers of a lane 0."""
    for index in range(numbers.shape[1]):
        numbers[lane, index] = 0.0


@compiled
def write_lanes(
    ground_edge: Ints,
    element_edge: Ints,
    element_sign: Floats,
    straight: Ints,
    pushing: Ints,
    curved: Ints,
    curved_law: Ints,
    owed: Ints,
    owed_row: Ints,
    owed_at: Ints,
    owed_by: Ints,
    owed_sign: Floats,
    owed_node: Ints,
    leak: float,
    now: Floats,
    emf: Floats,
    kept: Floats,
    d: Floats,
    sums: Floats,
    lanes: Ints,
    slots: Ints,
    settled: Ints,
    volts: Floats,
    drop: Floats,
    current: Floats,
    status: Ints,
) -> None:
    """Write what lanes have come to; nothing but zeros for those that did not converge."""
    for place in range(len(lanes)):
        sums[place] = 0.0
        forget(lanes[place], current)
    write_volts(ground_edge, d, lanes, slots, volts, sums)
    write_drops(element_edge, element_sign, d, lanes, slots, drop, sums)
    write_currents(
        straight, pushing, curved, curved_law, now, emf, kept, lanes, slots, drop, current
    )
    write_owed(
        owed, owed_row, owed_at, owed_by, owed_sign, owed_node, leak, now, lanes, slots, volts,
        current,
    )  # fmt: skip
    for place in range(len(lanes)):
        lane, at = lanes[place], slots[place]
        status[lane] = settled[at]
        if status[lane] == NOT_CONVERGED or not math.isfinite(sums[place]):
            status[lane] = NOT_CONVERGED
            forget(lane, volts)
            forget(lane, drop)
            forget(lane, current)
