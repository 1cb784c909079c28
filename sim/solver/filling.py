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
    first, count = rows.shape[1] - 4, len(straight)
    for at in range(len(lanes)):
        lane = lanes[at]
        mine = variant[lane]
        for i in range(count):
            number = straight[i]
            if number < first:
                siemens, emf, one = (
                    rows[mine, number, 0],
                    rows[mine, number, 1],
                    rows[mine, number, 2],
                )
            else:
                siemens = instruments[lane, number - first, 0]
                emf, one = (
                    instruments[lane, number - first, 1],
                    instruments[lane, number - first, 2],
                )
            row[i, at], row[count + i, at], row[2 * count + i, at] = siemens, emf, one
            if quiet[i] == 1 and emf != 0.0:
                return int(number)
        for c in range(len(curved)):
            number = curved[c]
            for k in range(5):
                if number < first:
                    kept[c * KEPT + k, at] = rows[mine, number, k]
                else:
                    kept[c * KEPT + k, at] = instruments[lane, number - first, k]
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
