"""Compiled: relays and fuses judge eight lanes.

Relays are judged by coil *current*, before fuses; of several fuses above their limit the one that
is furthest above it blows, once.

A lane in which relays and fuses stand as they stood before goes round for ever: what comes next
depends on nothing else. Of the states that are still allowed it then makes only what is left over
of whole rounds, and ends as it would have ended. Such a return is found by marks that are set at
ages 1, 2, 4, 8 and so on (R. P. Brent, BIT 20, 1980).
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.filling import LIMITS, LOWER, PUSHED, UPPER
from sim.solver.laws import COIL, NOT_CONVERGED, OSCILLATING, SOLVED, WORKING


@compiled
def judge_relays(
    lanes: Ints,
    slots: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    limited: Ints,
    laws: Ints,
    relays: Ints,
    limits: Floats,
    now: Floats,
    d: Floats,
    rest: Ints,
    closed: Ints,
    changed: Ints,
) -> None:
    """Let relays follow their coil currents; `changed` becomes a coil that did, plus 1, or 0."""
    for place in range(len(lanes)):
        changed[place] = 0
    for index in range(len(judged)):
        i, base, number = judged[index], index * LIMITS, limited[index]
        if laws[number] == COIL:
            edge, sign, relay = straight_edge[i], straight_sign[i], relays[number]
            for place in range(len(lanes)):
                lane, at = lanes[place], slots[place]
                amps = abs(now[i, at] * (sign * d[edge, at] - limits[base + PUSHED, at]))
                pulls = closed[lane, relay] == 0 and amps >= limits[base + UPPER, at]
                drops = closed[lane, relay] == 1 and amps <= limits[base + LOWER, at]
                if rest[at] == 1 and (pulls or drops):
                    closed[lane, relay] = 1 - closed[lane, relay]
                    changed[place] = number + 1


@compiled
def judge_fuses(
    lanes: Ints,
    slots: Ints,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    limited: Ints,
    laws: Ints,
    fuses: Ints,
    limits: Floats,
    now: Floats,
    d: Floats,
    ratio: Floats,
    worst: Ints,
) -> None:
    """Find the fuse of each lane that is furthest above its limit; `worst` becomes -1 or it."""
    for place in range(len(lanes)):
        ratio[place], worst[place] = 1.0, -1
    for index in range(len(judged)):
        i, base, number = judged[index], index * LIMITS, limited[index]
        if laws[number] != COIL:
            edge, sign = straight_edge[i], straight_sign[i]
            for place in range(len(lanes)):
                at = slots[place]
                amps = abs(now[i, at] * (sign * d[edge, at] - limits[base + PUSHED, at]))
                if now[i, at] > 0.0 and amps > ratio[place] * limits[base + UPPER, at]:
                    worst[place] = fuses[number]
                    ratio[place] = amps / limits[base + UPPER, at]


@compiled
def age_on_return(
    lane: int, at: int, age: int, states: int, closed: Ints, blown: Ints, marked: Ints
) -> int:
    """Return the age of a lane, later by whole rounds if it stands where its mark was set.

    `marked` (8, 1 + R + F) is the age at which each slot's mark was set, and the states then.
    """
    relays, same = closed.shape[1], age > 1
    for index in range(relays):
        same = same and marked[at, 1 + index] == closed[lane, index]
    for index in range(blown.shape[1]):
        same = same and marked[at, 1 + relays + index] == blown[lane, index]
    if same:
        return states - (states - age) % (age - int(marked[at, 0]))
    if age & (age - 1) == 0:
        marked[at, 0] = age
        for index in range(relays):
            marked[at, 1 + index] = closed[lane, index]
        for index in range(blown.shape[1]):
            marked[at, 1 + relays + index] = blown[lane, index]
    return age


@compiled
def judge_lanes(
    lanes: Ints,
    slots: Ints,
    states: int,
    straight_edge: Ints,
    straight_sign: Floats,
    judged: Ints,
    limited: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    limits: Floats,
    now: Floats,
    d: Floats,
    rest: Ints,
    age: Ints,
    settled: Ints,
    closed: Ints,
    blown: Ints,
    curved: Ints,
    missed: Ints,
    worst: Ints,
    changed: Ints,
    blowing: Ints,
    ratio: Floats,
    marked: Ints,
) -> None:
    """Judge lanes in their slots: settled, or a state older and to be solved in another one.

    `changed`, `blowing` and `ratio` (8,) are room to work in.
    """
    judge_relays(
        lanes, slots, straight_edge, straight_sign, judged, limited, laws, relays, limits, now, d,
        rest, closed, changed,
    )  # fmt: skip
    judge_fuses(
        lanes, slots, straight_edge, straight_sign, judged, limited, laws, fuses, limits, now, d,
        ratio, blowing,
    )  # fmt: skip
    for place in range(len(lanes)):
        lane, at = lanes[place], slots[place]
        age[at] += 1
        if rest[at] == 0:
            settled[at] = NOT_CONVERGED
            worst[lane] = curved[missed[at] - 1]
        elif changed[place] > 0:
            worst[lane] = changed[place] - 1
        elif blowing[place] >= 0:
            blown[lane, blowing[place]] = 1
        else:
            settled[at] = SOLVED
        if settled[at] == WORKING:
            age[at] = age_on_return(lane, at, age[at], states, closed, blown, marked)
            if age[at] == states:
                settled[at] = OSCILLATING
