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
from sim.eights import all_eight, eight, put_eight
from sim.network import Floats, Ints
from sim.solver.elementary import log
from sim.solver.laws import DIODE
from sim.solver.newton import is_too_far, law_current, limited_step

RESOLVE = 1e-4  # V of predicted error from which a reading is solved anew
GUARD = 2e-5  # V that one curved element may bend a reading and still be passed over
LEAST, RADII = 1e-6, 24  # V, the smallest radius tried, and how many doublings
MOST_STEPS = 60
AT_REST = 1e-10  # V
STRAIGHT = 1e-7  # of a line's slope times the resistance there, what a step may leave out
#: Rows kept of the curved elements: V of the step that the meter alone makes, of the step taken so
#: far, and what bends beyond the straight line there, in A and in S.
ALONE, STEPPED, BENT, STEEP = 0, 1, 2, 3


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


@compiled
def solve_dense(n: int, matrix: Floats, right: Floats) -> bool:
    """Solve the first n rows of a small system in place (Gauss, pivoting); False if singular."""
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
        inverse = 1.0 / matrix[k, k]
        for i in range(k + 1, n):
            factor = matrix[i, k] * inverse
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
def step_for(law: int, elements: Floats, c: int, new: float, old: float, most: float) -> float:
    """Return how far to go from `old` where a step to `new` may be too far, in V from the point.

    A diode goes no further up than to where it carries twice what it can carry at all: `most` is
    what the meter can drive, in A, and no element's current changes by more. (Started at the bend
    of its characteristic instead, as in a circuit of which nothing is known, it came down by one
    n Vt a step, up to twenty of them.) For others, see `newton.limited_step`.
    """
    base: float = elements[c, 5]
    if law == DIODE:
        if new <= old:
            return new
        carried = 1.0 + 2.0 * (max(elements[c, 6], 0.0) + most) / elements[c, 2]
        top: float = max(elements[c, 3] * log(carried) - base, old)
        return min(new, top)
    if is_too_far(law, base + new, base + old, elements[c, 3]):
        to: float = limited_step(
            law, base + new, base + old, elements[c, 0], elements[c, 2], elements[c, 3]
        )
        return to - base
    return new


@compiled
def newton_matrix(
    n: int,
    elements: Floats,
    near: Floats,
    lines: Floats,
    far: Floats,
    bending: Ints,
    matrix: Floats,
) -> int:
    """Write right side and matrix of the next step; return how many elements it has.

    `bending` becomes these: what is as good as straight is left to the next step. `lines` (4, n):
    how the meter alone moves each element, its step, what bends in A and in S; `far` becomes the
    right side for all.
    """
    count = 0
    for c in range(n):
        if abs(lines[STEEP, c]) * elements[c, 8] > STRAIGHT:
            bending[count] = c
            count += 1
        far[c] = lines[ALONE, c]
    for k in range(n):
        amps = lines[BENT, k]
        if abs(lines[STEEP, k]) * elements[k, 8] > STRAIGHT:
            amps -= lines[STEEP, k] * lines[STEPPED, k]
        if amps != 0.0:
            for c in range(n):
                far[c] += near[c, k] * amps
    for row in range(count):
        for column in range(count):
            k = bending[column]
            matrix[row, column] = -near[bending[row], k] * lines[STEEP, k]
        matrix[row, row] += 1.0
    return count


@compiled
def next_steps(
    n: int,
    near: Floats,
    lines: Floats,
    far: Floats,
    bending: Ints,
    matrix: Floats,
    right: Floats,
    count: int,
) -> bool:
    """Let `far` become the next step of every element; False if the matrix is singular.

    `matrix` is that of the first `count` elements in `bending`.
    """
    for row in range(count):
        right[row] = far[bending[row]]
    if not solve_dense(count, matrix, right):
        return False
    for row in range(count):
        k = bending[row]
        amps = lines[STEEP, k] * right[row]
        for c in range(n):
            far[c] += near[c, k] * amps
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
    series: float,
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
    ohms, series : float
        Z: the resistance between p and q and that of the meter, in series; the latter alone.
    beyond : (C,)
        Is filled with b_c(x_c), in A.
    """
    n, most = len(laws), abs(push) / series
    near, matrix, lines = np.empty((n, n)), np.empty((n, n)), np.zeros((4, n))
    far, right, bending = np.empty(n), np.empty(n), np.empty(n, np.int64)
    for c in range(n):
        beyond[c], share = 0.0, (half[p, c] - half[q, c]) / ohms
        lines[ALONE, c] = -share * push
        for k in range(n):
            near[c, k] = share * (half[p, k] - half[q, k]) - mutual[c, k]
    for _step in range(MOST_STEPS):
        count = newton_matrix(n, elements, near, lines, far, bending, matrix)
        if not next_steps(n, near, lines, far, bending, matrix, right, count):
            return False, 0.0
        moved = 0.0
        for c in range(n):
            if elements[c, 0] > 0.0:
                old, new = (
                    lines[STEPPED, c],
                    step_for(laws[c], elements, c, far[c], lines[STEPPED, c], most),
                )
                size = abs(new - old) / (1.0 + abs(elements[c, 5] + new))
                moved = max(moved, size, abs(new - far[c]))
                lines[STEPPED, c] = new
                lines[BENT, c], lines[STEEP, c] = bent(laws[c], elements, c, new)
        if moved < AT_REST:
            total = push
            for c in range(n):
                beyond[c] = lines[BENT, c]
                total -= (half[p, c] - half[q, c]) * beyond[c]
            return True, total / ohms
    return False, 0.0
