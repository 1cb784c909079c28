"""Compiled: a meter between two points with the laws of all curved elements obeyed.

With the straight network known by its resistances at the curved elements and at the meter, the
whole circuit comes down to one equation an element: its step x from the point it is at is

    x_c = -m_c i - sum_k T_ck b_k(x_k),     i Z = push - sum_k m_k b_k(x_k)

b being `thevenin.bent`, m = T(pq, ab), Z all that the meter's current i flows through (ours; see
`sim.solver.thevenin`). Newton's method on the x, of which only those that bend go into the matrix.

A solution also says what the next one is, where two points and a push are nearly the same
(`sim.solver.nearby`), and to first order how i changes: with s the slopes of b there and
``(1 + T s) u = m``,

    di (Z + dZ - sum_k u_k s_k m_k) = dpush - i dZ - sum_k dm_k b_k + i sum_k u_k s_k dm_k

from the two equations by differentiation, T being symmetric, with the product of di and dZ.
"""

from __future__ import annotations

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.calm import DOWNWARDS, UPWARDS
from sim.solver.elementary import log
from sim.solver.laws import DIODE
from sim.solver.newton import is_too_far, law_current, limited_step

MOST_STEPS = 60
AT_REST = 1e-8  # V; a whole step of Newton's that is so small leaves its square to be done
UNMOVED = 1e-13  # V, what changes no law
STRAIGHT = 1e-7  # of a line's slope times the resistance there, what a step may leave out
#: Rows of the room to work in (`room`), after a matrix of n rows: V of the step so far; what bends
#: beyond the straight line there, in A and in S; m; where a step leads; right side and its answer;
#: 1 for an element that acts.
STEPPED, BENT, STEEP, MEETS, FAR, RIGHT, ACTS, ROWS = 0, 1, 2, 3, 4, 5, 6, 7


@compiled
def solve_dense(n: int, room: Floats, at: int) -> bool:
    """Solve the first n rows of a small system in place (Gauss, pivoting); False if singular.

    The matrix is in the first rows of `room`, the right side in row `at`.
    """
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(room[i, k]) > abs(room[pivot, k]):
                pivot = i
        if room[pivot, k] == 0.0:
            return False
        if pivot != k:
            for j in range(k, n):
                room[k, j], room[pivot, j] = room[pivot, j], room[k, j]
            room[at, k], room[at, pivot] = room[at, pivot], room[at, k]
        inverse = 1.0 / room[k, k]
        for i in range(k + 1, n):
            factor = room[i, k] * inverse
            if factor != 0.0:
                for j in range(k + 1, n):
                    room[i, j] -= factor * room[k, j]
                room[at, i] -= factor * room[at, k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            room[at, k] -= room[k, j] * room[at, j]
        room[at, k] /= room[k, k]
    return True


@compiled
def step_for(
    law: int,
    base: float,
    amps: float,
    g: float,
    first: float,
    second: float,
    new: float,
    old: float,
    most: float,
) -> float:
    """Return how far to go from `old` where a step to `new` may be too far, in V from the point.

    A diode goes no further up than to where it carries twice what it can carry at all: `most` is
    what the meter can drive, in A, and no element's current changes by more. (Started at the bend
    of its characteristic instead, as in a circuit of which nothing is known, it came down by one
    n Vt a step, up to twenty of them.) For others, see `newton.limited_step`. `base` and `amps`
    are voltage and current at the point.
    """
    if law == DIODE:
        if new <= old:
            return new
        carried = 1.0 + 2.0 * (max(amps, 0.0) + most) / first
        top: float = max(second * log(carried) - base, old)
        return min(new, top)
    if is_too_far(law, base + new, base + old, second):
        to: float = limited_step(law, base + new, base + old, g, first, second)
        return to - base
    return new


@compiled
def aim(
    number: int,
    acting: Ints,
    elements: Floats,
    mutual: Floats,
    amps: float,
    room: Floats,
    bending: Ints,
) -> int:
    """Write where the straight network puts every acting element as they bend now.

    Returns how many of them go into the matrix, listed in `bending`: what is as good as straight is
    left to the next step.
    """
    n, count = len(elements), 0
    for at in range(number):
        c = acting[at]
        far = -room[n + MEETS, c] * amps
        for other in range(number):
            far -= mutual[acting[other], c] * room[n + BENT, acting[other]]
        room[n + FAR, c] = far
        if abs(room[n + STEEP, c]) * elements[c, 8] > STRAIGHT:
            bending[count] = c
            count += 1
    return count


@compiled
def bend_on(
    number: int,
    acting: Ints,
    count: int,
    mutual: Floats,
    ohms: float,
    room: Floats,
    bending: Ints,
) -> bool:
    """Let `FAR` become where a whole step of Newton's leads; False if its matrix is singular."""
    n = len(mutual)
    for row in range(count):
        c = bending[row]
        share = room[n + MEETS, c] / ohms
        for column in range(count):
            k = bending[column]
            near = share * room[n + MEETS, k] - mutual[c, k]
            room[row, column] = -near * room[n + STEEP, k]
        room[row, row] += 1.0
        room[n + RIGHT, row] = room[n + FAR, c] - room[n + STEPPED, c]
    if not solve_dense(count, room, n + RIGHT):
        return False
    flow = 0.0
    for row in range(count):
        k = bending[row]
        amps = room[n + STEEP, k] * room[n + RIGHT, row]
        flow += room[n + MEETS, k] * amps
        for at in range(number):
            room[n + FAR, acting[at]] -= mutual[k, acting[at]] * amps
    for at in range(number):
        room[n + FAR, acting[at]] += room[n + MEETS, acting[at]] / ohms * flow
    return True


@compiled
def step_all(
    number: int, acting: Ints, laws: Ints, elements: Floats, most: float, room: Floats
) -> float:
    """Step towards `FAR` as far as each element may; return the furthest of steps and misses."""
    n, moved = len(laws), 0.0
    for at in range(number):
        c = acting[at]
        g, base, amps, slope = elements[c, 0], elements[c, 5], elements[c, 6], elements[c, 7]
        first, second, third = elements[c, 2], elements[c, 3], elements[c, 4]
        far, old = room[n + FAR, c], room[n + STEPPED, c]
        new = step_for(laws[c], base, amps, g, first, second, far, old, most)
        size = abs(new - old) / (1.0 + abs(base + new))
        moved = max(moved, size, abs(new - far))
        if size > UNMOVED:
            carried, steep = law_current(laws[c], base + new, g, first, second, third)
            room[n + STEPPED, c] = new
            room[n + BENT, c], room[n + STEEP, c] = carried - amps - slope * new, steep - slope
    return moved


@compiled
def meter_amps(number: int, acting: Ints, push: float, ohms: float, room: Floats) -> float:
    """Return A from p to q as the elements bend now."""
    n, total = len(room) - ROWS, push
    for at in range(number):
        total -= room[n + MEETS, acting[at]] * room[n + BENT, acting[at]]
    return total / ohms


@compiled
def begin_straight(n: int, elements: Floats, half: Floats, p: int, q: int, room: Floats) -> None:
    """Write how the meter meets every element, none of which has stepped yet."""
    for c in range(n):
        room[n + MEETS, c] = half[p, c] - half[q, c] if elements[c, 0] > 0.0 else 0.0
        room[n + STEPPED, c], room[n + BENT, c], room[n + STEEP, c] = 0.0, 0.0, 0.0
        room[n + ACTS, c] = 0.0


@compiled
def join(
    number: int, acting: Ints, elements: Floats, mutual: Floats, amps: float, room: Floats
) -> int:
    """Let elements act that are not where they are as good as straight; return how many act.

    The others are put where the straight network puts them.
    """
    n, more = len(elements), number
    for c in range(n):
        if room[n + ACTS, c] == 0.0:
            far = -room[n + MEETS, c] * amps
            for at in range(number):
                far -= mutual[acting[at], c] * room[n + BENT, acting[at]]
            room[n + STEPPED, c] = far
            if abs(far) * elements[c, UPWARDS if far > 0.0 else DOWNWARDS] > 1.0:
                room[n + STEPPED, c], room[n + ACTS, c] = 0.0, 1.0
                acting[more] = c
                more += 1
    return more


@compiled
def solve_bent(
    laws: Ints,
    elements: Floats,
    mutual: Floats,
    push: float,
    ohms: float,
    series: float,
    room: Floats,
    bending: Ints,
    acting: Ints,
) -> tuple[bool, float]:
    """Return (converged, A from p to q) through a source with all laws obeyed.

    Only elements that leave the steps within which they are as good as straight (`sim.solver.calm`)
    act; whether others do is asked again whenever those that act have come to rest.

    Parameters
    ----------
    push : float
        V between p and q without the meter, less the meter's own.
    ohms, series : float
        Z: the resistance between p and q and that of the meter, in series; the latter alone.
    room : (n + ROWS, n)
        As `begin_straight` leaves it; is left as the solution is.
    bending, acting : (n,)
        To work in.
    """
    most, amps = abs(push) / series, push / ohms
    number = join(0, acting, elements, mutual, amps, room)
    for _step in range(MOST_STEPS):
        count = aim(number, acting, elements, mutual, amps, room, bending)
        if count > 0 and not bend_on(number, acting, count, mutual, ohms, room, bending):
            return False, 0.0
        rests = step_all(number, acting, laws, elements, most, room) < AT_REST
        amps = meter_amps(number, acting, push, ohms, room)
        if rests:
            more = join(number, acting, elements, mutual, amps, room)
            if more == number:
                return True, amps
            number = more
    return False, 0.0
