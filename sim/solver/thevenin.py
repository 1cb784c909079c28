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

import numpy as np

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.newton import is_too_far, law_current, limited_step

RESOLVE = 1e-4  # V of predicted error from which a reading is solved anew
GUARD = 2e-5  # V that one curved element may bend a reading and still be passed over
LEAST, RADII = 1e-6, 24  # V, the smallest radius tried, and how many doublings
MOST_STEPS = 60
AT_REST = 1e-10  # V


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
    """Fill `between` (nodes + 1, nodes + 1, lanes) with the resistances in ohm; the body is last.

    `g` holds the shares w of every node, `inverse` 1 / S.
    """
    nodes, lanes = len(count), g.shape[1]
    bend = np.empty(lanes)
    for at in range(lanes):
        between[nodes, nodes, at] = 0.0
    for k in range(nodes - 1, -1, -1):
        n, e = count[k], edge_at[k]
        for at in range(lanes):
            bend[at] = inverse[k, at]
            between[k, k, at] = 0.0
        for b in range(1, n):
            for a in range(b):
                one, two = neighbour[e + a], neighbour[e + b]
                for at in range(lanes):
                    share = g[edge[e + a], at] * g[edge[e + b], at]
                    bend[at] -= share * between[one, two, at]
        for i in range(k + 1, nodes + 1):
            for at in range(lanes):
                between[k, i, at] = bend[at]
            for b in range(n):
                one = neighbour[e + b]
                for at in range(lanes):
                    between[k, i, at] += g[edge[e + b], at] * between[one, i, at]
            for at in range(lanes):
                between[i, k, at] = between[k, i, at]


@compiled
def halves(between: Floats, at: int, ends: Ints, places: Ints, half: Floats) -> None:
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
            half[point, c] = 0.5 * (between[p, b, at] - between[p, a, at])


@compiled
def mutuals(between: Floats, at: int, ends: Ints, others: Ints, mutual: Floats) -> None:
    """Write T between elements with these ends (C, 2) and others (K, 2), in ohm, as (C, K)."""
    for c in range(len(ends)):
        a, b = ends[c, 0], ends[c, 1]
        for k in range(len(others)):
            p, q = others[k, 0], others[k, 1]
            crossed = between[p, b, at] + between[q, a, at]
            mutual[c, k] = 0.5 * (crossed - between[p, a, at] - between[q, b, at])


@compiled
def bent(law: int, element: Floats, step: float) -> tuple[float, float]:
    """Return (current beyond the straight line in A, its slope in S) at a step from the point.

    `element` holds its row of the network, then voltage, current and slope at the point.
    """
    amps, slope = law_current(
        law, element[5] + step, element[0], element[2], element[3], element[4]
    )
    return amps - element[6] - element[7] * step, slope - element[7]


@compiled
def radius(law: int, element: Floats, ohms: float) -> float:
    """Return how far an element's voltage may move and bend no reading by more than `GUARD`."""
    found, step = 0.0, LEAST
    for _doubling in range(RADII):
        up, _slope = bent(law, element, step)
        down, _slope = bent(law, element, -step)
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
                beyond, _slope = bent(laws[c], elements[c], -amps * ohms)
                total += abs(beyond * ohms)
    return total


@compiled
def solve_dense(matrix: Floats, right: Floats) -> bool:
    """Solve a small system in place (Gauss, partial pivoting); False if it is singular."""
    n = len(right)
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > abs(matrix[pivot, k]):
                pivot = i
        if matrix[pivot, k] == 0.0:
            return False
        if pivot != k:
            for j in range(k, n):
                matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
            right[k], right[pivot] = right[pivot], right[k]
        for i in range(k + 1, n):
            factor = matrix[i, k] / matrix[k, k]
            if factor != 0.0:
                for j in range(k + 1, n):
                    matrix[i, j] -= factor * matrix[k, j]
                right[i] -= factor * right[k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            right[k] -= matrix[k, j] * right[j]
        right[k] /= matrix[k, k]
    return True


@compiled
def solve_bent(
    laws: Ints,
    elements: Floats,
    half: Floats,
    mutual: Floats,
    p: int,
    q: int,
    push: float,
    ohms: float,
    beyond: Floats,
) -> tuple[bool, float]:
    """Return (converged, A from p to q) through a source with all laws obeyed.

    With the straight network known by its resistances at the curved elements and at the meter, the
    whole circuit comes down to one equation an element: its step x from the point is ``x_c = -m_c i
    - sum_k T_ck b_k(x_k)``, b being `bent` and m = T(pq, ab), and ``i Z = push - sum_k m_k b_k``.

    Parameters
    ----------
    push : float
        V between p and q without the meter, less the meter's own.
    ohms : float
        Z: the resistance between p and q and that of the meter, in series.
    beyond : (C,)
        Is filled with b_c(x_c), in A.
    """
    n = len(laws)
    m, x, steep = np.empty(n), np.zeros(n), np.zeros(n)
    beyond[:] = 0.0
    near = np.empty((n, n))
    for c in range(n):
        m[c] = half[p, c] - half[q, c]
    for c in range(n):
        for k in range(n):
            near[c, k] = m[c] * m[k] / ohms - mutual[c, k]
    matrix, right = np.empty((n, n)), np.empty(n)
    for _step in range(MOST_STEPS):
        for c in range(n):
            right[c] = -m[c] * push / ohms
            for k in range(n):
                matrix[c, k] = -near[c, k] * steep[k]
                right[c] += near[c, k] * (beyond[k] - steep[k] * x[k])
            matrix[c, c] += 1.0
        if not solve_dense(matrix, right):
            return False, 0.0
        moved = 0.0
        for c in range(n):
            base, new = elements[c, 5], right[c]
            if elements[c, 0] > 0.0:
                second = elements[c, 3]
                if is_too_far(laws[c], base + new, base + x[c], second):
                    new = limited_step(
                        laws[c], base + new, base + x[c], elements[c, 0], elements[c, 2], second
                    ) - base  # fmt: skip
                moved = max(moved, abs(new - x[c]) / (1.0 + abs(base + new)), abs(new - right[c]))
                x[c] = new
                beyond[c], steep[c] = bent(laws[c], elements[c], new)
        if moved < AT_REST:
            total = push
            for c in range(n):
                total -= m[c] * beyond[c]
            return True, total / ohms
    return False, 0.0
