"""Compiled: fill the edges of a block of lanes with leaks, straight elements and leads."""

from __future__ import annotations

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.laws import CONTACT, WORKING
from sim.solver.newton import KEPT


@compiled
def gather(
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    lanes: Ints,
    straight: Ints,
    quiet: Ints,
    curved: Ints,
    row: Floats,
    kept: Floats,
) -> int:
    """Copy what a block needs of its rows; return an element with an unforeseen EMF, or -1.

    `row` (3 S, lanes) gets conductance, EMF and first constant of the straight elements.
    """
    elements, count = rows.shape[1], len(straight)
    for at in range(len(lanes)):
        lane = lanes[at]
        for i in range(count):
            number = straight[i]
            mine = rows[variant[lane], number]
            if number >= elements - 4:
                mine = instruments[lane, number - elements + 4]
            row[i, at], row[count + i, at], row[2 * count + i, at] = mine[0], mine[1], mine[2]
            if quiet[i] == 1 and mine[1] != 0.0:
                return int(number)
        for c in range(len(curved)):
            number = curved[c]
            mine = rows[variant[lane], number]
            if number >= elements - 4:
                mine = instruments[lane, number - elements + 4]
            for k in range(5):
                kept[c * KEPT + k, at] = mine[k]
    return -1


@compiled
def begin_block(row: Floats, now: Floats, settled: Ints) -> None:
    """Let every straight element conduct, and no lane be settled."""
    for at in range(now.shape[1]):
        settled[at] = WORKING
        for i in range(len(now)):
            now[i, at] = row[i, at]


@compiled
def set_switches(
    rows: Floats,
    variant: Ints,
    lanes: Ints,
    straight: Ints,
    switching: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    closed: Ints,
    blown: Ints,
    row: Floats,
    now: Floats,
) -> None:
    """Write the present conductances `now` (S, lanes) of contacts and fuses."""
    for index in range(len(switching)):
        i = switching[index]
        number = straight[i]
        for at in range(len(lanes)):
            lane = lanes[at]
            on = True
            if laws[number] == CONTACT:
                stuck = rows[variant[lane], number, 3]
                shut = (closed[lane, relays[number]] == 1) != (
                    rows[variant[lane], number, 2] == 1.0
                )
                on = stuck == 1.0 or (shut and stuck == 0.0)
            else:
                on = blown[lane, fuses[number]] == 0
            now[i, at] = row[i, at] if on else 0.0


@compiled
def put_straight(
    straight_edge: Ints,
    straight_sign: Floats,
    pushing: Ints,
    lead_edge: Ints,
    leak_edge: Ints,
    lead: float,
    leak: float,
    row: Floats,
    now: Floats,
    g: Floats,
    j: Floats,
) -> None:
    """Fill the edges with leaks, straight elements and leads."""
    count, lanes = len(straight_edge), g.shape[1]
    for edge in range(len(g)):
        for at in range(lanes):
            g[edge, at] = 0.0
            j[edge, at] = 0.0
    for i in range(len(leak_edge)):
        for at in range(lanes):
            g[leak_edge[i], at] = leak
    for i in range(count):
        edge = straight_edge[i]
        for at in range(lanes):
            g[edge, at] += now[i, at]
    for index in range(len(pushing)):
        i = pushing[index]
        edge, sign = straight_edge[i], straight_sign[i]
        for at in range(lanes):
            j[edge, at] += sign * now[i, at] * row[count + i, at]
    for i in range(len(lead_edge)):
        for at in range(lanes):
            g[lead_edge[i], at] += lead
