"""Compiled: fill the edges of eight lanes with leaks, straight elements and leads.

A lane has a slot, a column of the arrays. What is kept of the straight elements in a slot:

- `now`, the conductance of each in its present state;
- `emf` of those that may carry one (`Program.pushing`);
- `shifts` of those that switch (`Program.switching`), `SHIFTS` rows each;
- `limits` of those that are judged (`Program.judged`), `LIMITS` rows each.

Little else of a row of the network is ever read: to copy it costs as much as to eliminate nodes.
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.eights import LANES, all_eight, eight, put_eight
from sim.network import COLUMNS, Floats, Ints
from sim.solver.laws import CONTACT
from sim.solver.newton import KEPT

#: Of what switches: columns 0, 2 and 3 of its row: conductance, and of a contact 1 if closed at
#: rest, and whether it is stuck.
WHOLE, AT_REST, STUCK, SHIFTS = 0, 1, 2, 3
#: Of what is judged: columns 1 to 3: EMF, and the currents at which it changes, upwards and
#: downwards.
PUSHED, UPPER, LOWER, LIMITS = 0, 1, 2, 3


@compiled
def pick(
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    numbers: Ints,
    column: int,
    lanes: Ints,
    slots: Ints,
    into: Floats,
    first: int,
    stride: int,
) -> None:
    """Copy a column of some elements into every `stride`-th row from `first`, for some lanes."""
    instrument = rows.shape[1] - 4
    for place in range(len(lanes)):
        lane, at = lanes[place], slots[place]
        mine = variant[lane]
        for i in range(len(numbers)):
            number = numbers[i]
            if number < instrument:
                into[first + i * stride, at] = rows[mine, number, column]
            else:
                into[first + i * stride, at] = instruments[lane, number - instrument, column]


@compiled
def strange(rows: Floats, variant: Ints, instruments: Floats, numbers: Ints, lanes: Ints) -> int:
    """Return an element that has an EMF in one of some lanes, or -1."""
    instrument = rows.shape[1] - 4
    for place in range(len(lanes)):
        lane = lanes[place]
        mine = variant[lane]
        for i in range(len(numbers)):
            number = numbers[i]
            if number < instrument:
                emf = rows[mine, number, 1]
            else:
                emf = instruments[lane, number - instrument, 1]
            if emf != 0.0:
                return int(number)
    return -1


@compiled
def gather(
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    lanes: Ints,
    slots: Ints,
    straight: Ints,
    quiet: Ints,
    pushed: Ints,
    shifting: Ints,
    limited: Ints,
    curved: Ints,
    now: Floats,
    emf: Floats,
    shifts: Floats,
    limits: Floats,
    kept: Floats,
) -> int:
    """Copy what is needed of some lanes' rows; return an element with an unforeseen EMF, or -1."""
    pick(rows, variant, instruments, straight, 0, lanes, slots, now, 0, 1)
    pick(rows, variant, instruments, pushed, 1, lanes, slots, emf, 0, 1)
    for column in range(COLUMNS):
        pick(rows, variant, instruments, curved, column, lanes, slots, kept, column, KEPT)
    for at, column in enumerate((0, 2, 3)):
        pick(rows, variant, instruments, shifting, column, lanes, slots, shifts, at, SHIFTS)
    for at, column in enumerate((1, 2, 3)):
        pick(rows, variant, instruments, limited, column, lanes, slots, limits, at, LIMITS)
    return strange(rows, variant, instruments, quiet, lanes)


@compiled
def set_switches(
    lanes: Ints,
    slots: Ints,
    straight: Ints,
    switching: Ints,
    laws: Ints,
    relays: Ints,
    fuses: Ints,
    closed: Ints,
    blown: Ints,
    shifts: Floats,
    now: Floats,
) -> None:
    """Write the present conductances of contacts and fuses of some lanes."""
    for index in range(len(switching)):
        i, base = switching[index], index * SHIFTS
        number = straight[i]
        for place in range(len(lanes)):
            lane, at = lanes[place], slots[place]
            on = True
            if laws[number] == CONTACT:
                stuck = shifts[base + STUCK, at]
                shut = (closed[lane, relays[number]] == 1) != (shifts[base + AT_REST, at] == 1.0)
                on = stuck == 1.0 or (shut and stuck == 0.0)
            else:
                on = blown[lane, fuses[number]] == 0
            now[i, at] = shifts[base + WHOLE, at] if on else 0.0


@compiled
def put_straight(
    straight_edge: Ints,
    straight_sign: Floats,
    pushing: Ints,
    lead_edge: Ints,
    leak_edge: Ints,
    lead: float,
    leak: float,
    now: Floats,
    emf: Floats,
    g: Floats,
    j: Floats,
) -> None:
    """Fill the edges of all slots with leaks, straight elements and leads."""
    nothing, leaking, leading = all_eight(0.0), all_eight(leak), all_eight(lead)
    for edge in range(len(g)):
        put_eight(g, edge, nothing)
        put_eight(j, edge, nothing)
    for edge in leak_edge:
        put_eight(g, edge, leaking)
    for i in range(len(straight_edge)):
        edge = straight_edge[i]
        put_eight(g, edge, eight(g, edge) + eight(now, i))
    for index in range(len(pushing)):
        i = pushing[index]
        edge, sign = straight_edge[i], straight_sign[i]
        for at in range(LANES):
            j[edge, at] += sign * now[i, at] * emf[index, at]
    for edge in lead_edge:
        put_eight(g, edge, eight(g, edge) + leading)
