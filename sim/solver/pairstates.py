"""Compiled: whether relays and fuses keep their states while a meter is put on, lane by lane.

With no relay and no fuse changing its state, a circuit of laws by which currents rise with voltages
has one solution. So a reading is right if in *its* solution every coil and every fuse still carries
what leaves it as it is: the whole circuit solved with the meter in it begins with the same states,
comes to the same solution and finds nothing to change. Three ways to know, the cheapest first:

1. *By the meter's current i alone.* Take each curved element as its chord between the two states,
   without and with the meter: a positive conductance. What the meter does is then what a current i
   between two points does to a network of conductances, and in that no element carries more than i.
   A coil whose current is further than i from its edge keeps its state.
2. *By a bound for each coil*, where the curved elements hardly bend (`spared`). In the network with
   all n curved elements straightened at the point they are at, i moves the voltage across coil j by
   ``T_j i`` (`sim.solver.thevenin`). What bends beyond the straight line is a current b_k between
   the ends of each curved element, which moves the coil by ``T_jk b_k``, and |T_jk| is at most R_k,
   the resistance between these ends (the voltage that a current between two points makes is nowhere
   more than between them). While the step of each curved element is within the radius in which
   ``|b_k| R_k <= GUARD`` (its law bends one way to each side of the point), each moves the coil,
   the others and the meter by GUARD at most, and i by n GUARD / Z together. So no step is more
   than ``|m_k| |i| + 2 n GUARD``, as |m_k| is at most Z. That being within the radius of every one,
   the map from steps to steps does not leave this box, so that a solution lies in it (Brouwer), and
   there is no other. In it::

       |change of coil j| <= g_j (|T_j| (|i| + n GUARD / Z) + n GUARD)

   with g_j its conductance, i the current with nothing bent, Z all that i flows through.
3. *By the solution itself* (`mover`): once all curved laws are obeyed (`bending.solve_bent`) i and
   every b_k are known, and with them what coil j carries::

       I_j + g_j (-T_j i - sum_k T_jk b_k)

   compared with the edge on the side on which it stands, less what two solutions of one circuit may
   differ by (`SURE`).

Where that finds one coil that surely does not keep its state, the whole circuit solved with the
meter in it would go on with that relay moved, and so may the readings (`sim.solver.pairwhole`).
"""

from __future__ import annotations

import math

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.laws import COIL
from sim.solver.thevenin import GUARD

#: What is kept of a coil or fuse: conductance, current, edge, 1 to stay above it or -1 below, slack
#: (negative where it does not obey its state), and 1 for a coil.
SIEMENS, AMPS, LIMIT, SIDE, SLACK, IS_COIL, WIDTH = 0, 1, 2, 3, 4, 5, 6
NONE = -1  # of the coils, moves
SURE, SURE_SHARE = 1e-8, 1e-6  # A and share of the edge; a solution obeys its laws within 1e-9 A


@compiled
def slacks(
    rows: Floats,
    variant: int,
    numbers: Ints,
    laws: Ints,
    relays: Ints,
    closed: Ints,
    now: Floats,
    judged: Ints,
    at: int,
    current: Floats,
    coils: Floats,
) -> float:
    """Write what is kept of every coil and fuse; return the least slack, in A.

    Parameters
    ----------
    judged : (J,) coils and fuses, as rows of `now`; `numbers` are their elements
    coils : (J, WIDTH)
    """
    least = math.inf
    for index in range(len(judged)):
        number, siemens = numbers[judged[index]], now[judged[index], at]
        amps = abs(current[number])
        edge, side = rows[variant, number, 2], -1.0
        if laws[number] == COIL and closed[relays[number]] == 1:
            edge, side = rows[variant, number, 3], 1.0
        slack = side * (amps - edge)
        if laws[number] != COIL and siemens == 0.0:  # a fuse that is open opens no more
            slack = math.inf
        coils[index, SIEMENS], coils[index, AMPS] = siemens, current[number]
        coils[index, LIMIT], coils[index, SIDE], coils[index, SLACK] = edge, side, slack
        coils[index, IS_COIL] = 1.0 if laws[number] == COIL else 0.0
        least = min(least, slack)
    return least


@compiled
def spared(
    elements: Floats,
    half: Floats,
    coils: Floats,
    coil_half: Floats,
    p: int,
    q: int,
    amps: float,
    ohms: float,
) -> bool:
    """Tell whether a meter between p and q surely leaves all states as they are: way 2.

    Parameters
    ----------
    elements : (C, 10), half : (P, C)
        Curved elements, see `thevenin.bend_of` and `thevenin.halves`.
    coils : (J, WIDTH), coil_half : (P, J)
    amps, ohms : float
        The meter's current with nothing bent, and all that it flows through.
    """
    count = len(elements)
    bent = count * GUARD
    for c in range(count):
        if abs(amps * (half[p, c] - half[q, c])) + 2.0 * bent > elements[c, 9]:
            return False
    most = abs(amps) + bent / ohms
    for j in range(len(coils)):
        if coils[j, SLACK] <= most:
            moved = abs(coil_half[p, j] - coil_half[q, j]) * most + bent
            if coils[j, SIEMENS] * moved + SURE + SURE_SHARE * coils[j, LIMIT] >= coils[j, SLACK]:
                return False
    return True


@compiled
def mover(
    coils: Floats,
    coil_half: Floats,
    coil_mutual: Floats,
    beyond: Floats,
    p: int,
    q: int,
    amps: float,
) -> int:
    """Return which coil does not keep its state in a solution, or `NONE`: way 3.

    The number of all if that is a fuse, or more than one, or not sure.

    Parameters
    ----------
    coil_mutual : (J, C)
        T_jk in ohm.
    beyond : (C,)
        b_k in A.
    amps : float
        The meter's current, A from p to q.
    """
    found = NONE
    for j in range(len(coils)):
        if coils[j, SLACK] > abs(amps) + SURE:
            continue
        moved = -amps * (coil_half[p, j] - coil_half[q, j])
        for k in range(len(beyond)):
            moved -= coil_mutual[j, k] * beyond[k]
        carries = abs(coils[j, AMPS] + coils[j, SIEMENS] * moved)
        edge = coils[j, LIMIT]
        above, unsure = coils[j, SIDE] * (carries - edge), SURE + SURE_SHARE * edge
        if above <= unsure:
            if found != NONE or above >= -unsure or coils[j, IS_COIL] == 0.0:
                return len(coils)
            found = j
    return found
