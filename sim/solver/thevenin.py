"""Compiled: the resistance between any two points of a solved lane, curved elements straightened.

From the factors of the elimination (see `sim.solver.program`), last node first: for a node k whose
neighbours j have the shares w_j = g_j / S, and any node i eliminated later or never,

    R(k, i) = 1 / S + sum_j w_j R(j, i) - sum_{j<l} w_j w_l R(j, l)

which follows from star-mesh elimination by connecting a source between k and i (ours; it is the
effective resistance of Klein & Randic, J. Math. Chemistry 12, 1993, worked out backwards). What a
current between p and q does to the voltage from a to b is a matter of four of them:

    T(pq, ab) = (R(p, b) + R(q, a) - R(p, a) - R(q, b)) / 2
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.eights import all_eight, eight, put_eight
from sim.network import Floats, Ints
from sim.solver.newton import law_current

RESOLVE = 1e-4  # V of predicted error from which a reading is solved anew
GUARD = 2e-5  # V that one curved element may bend a reading and still be passed over
LEAST, RADII = 1e-6, 24  # V, the smallest radius tried, and how many doublings


@compiled
def resistances(
    count: Ints,
    edge_at: Ints,
    edge: Ints,
    neighbour: Ints,
    g: Floats,
    inverse: Floats,
    between: Floats,
) -> None:
    """Fill `between` with the resistances in ohm; row ``i (nodes + 1) + k``, the body is last.

    `g` holds the shares w of every node, `inverse` 1 / S; columns are lanes.
    """
    size, nothing = len(count) + 1, all_eight(0.0)
    put_eight(between, size * size - 1, nothing)
    for k in range(size - 2, -1, -1):
        n, e = count[k], edge_at[k]
        bend = eight(inverse, k)
        put_eight(between, k * size + k, nothing)
        for b in range(1, n):
            for a in range(b):
                share = eight(g, edge[e + a]) * eight(g, edge[e + b])
                bend = bend - share * eight(between, neighbour[e + a] * size + neighbour[e + b])
        for i in range(k + 1, size):
            ohms = bend
            for b in range(n):
                to = neighbour[e + b] * size + i
                ohms = ohms + eight(g, edge[e + b]) * eight(between, to)
            put_eight(between, k * size + i, ohms)
            put_eight(between, i * size + k, ohms)


@compiled
def halves(between: Floats, size: int, at: int, ends: Ints, places: Ints, half: Floats) -> None:
    """Write how currents reach some elements of a lane.

    Parameters
    ----------
    ends : (C, 2) places of the elements' ends; places : (P,) of the points
    half : (P, C)
        (R(p, b) - R(p, a)) / 2; T(pq, ab) is the difference of two.
    """
    for c in range(len(ends)):
        a, b = ends[c, 0], ends[c, 1]
        for point in range(len(places)):
            p = places[point]
            half[point, c] = 0.5 * (between[p * size + b, at] - between[p * size + a, at])


@compiled
def mutuals(between: Floats, size: int, at: int, ends: Ints, others: Ints, mutual: Floats) -> None:
    """Write T between elements with these ends (C, 2) and others (K, 2), in ohm, as (C, K)."""
    for c in range(len(ends)):
        a, b = ends[c, 0], ends[c, 1]
        for k in range(len(others)):
            p, q = others[k, 0], others[k, 1]
            crossed = between[p * size + b, at] + between[q * size + a, at]
            along = between[p * size + a, at], between[q * size + b, at]
            mutual[c, k] = 0.5 * (crossed - along[0] - along[1])


@compiled
def bent(law: int, elements: Floats, c: int, step: float) -> tuple[float, float]:
    """Return (current beyond the straight line in A, its slope in S) at a step from the point.

    Row c of `elements` holds its row of the network, then voltage, current and slope at the point.
    (Rows are not passed on as views: each would count its users up and down, once a call.)
    """
    amps, slope = law_current(
        law,
        elements[c, 5] + step,
        elements[c, 0],
        elements[c, 2],
        elements[c, 3],
        elements[c, 4],
    )
    return amps - elements[c, 6] - elements[c, 7] * step, slope - elements[c, 7]


@compiled
def radius(law: int, elements: Floats, c: int, ohms: float) -> float:
    """Return how far an element's voltage may move and bend no reading by more than `GUARD`."""
    found, step = 0.0, LEAST
    for _doubling in range(RADII):
        up, _slope = bent(law, elements, c, step)
        down, _slope = bent(law, elements, c, -step)
        if max(abs(up), abs(down)) * ohms > GUARD:
            break
        found, step = step, 2.0 * step
    return found


@compiled
def bend_of(
    laws: Ints, elements: Floats, half: Floats, p: int, q: int, direct: float, amps: float
) -> float:
    """Return by how many V at most the curved elements bend a reading that draws a current.

    `elements` (C, 10): as in `bent`, then the resistance between its ends and its radius; `direct`
    is the resistance between points p and q.
    """
    total, current = 0.0, abs(amps)
    for c in range(len(laws)):
        free = elements[c, 9]
        if current * min(direct, elements[c, 8]) > free:
            ohms = half[p, c] - half[q, c]
            if abs(amps * ohms) > free:
                beyond, _slope = bent(laws[c], elements, c, -amps * ohms)
                total += abs(beyond * ohms)
    return total
