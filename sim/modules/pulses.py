"""Outputs that are pulsed, in a steady state: the mean over a period of what is switched.

Every pulsed output is on from the beginning of the period for its share of it, so that a period
with n of them falls into at most n + 1 stretches, in each of which some are closed and the others
open. Each stretch is solved as a steady state, and voltages, currents and powers are their means,
weighted with the stretches' lengths. For resistances that is exact; what has a memory of its own
(a motor that runs on, an inductance, a filament's warmth) a waveform shows and this does not, and
outputs of different frequencies are taken as if they began together. A relay stands as it does in
the first stretch; a fuse is judged by the current while the output is on (ours).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sim.modules.conditions import Flags, Floats
from sim.modules.held import Held
from sim.modules.wiring import Driven, Modules
from sim.network import AMPLITUDE, EMF, FREQUENCY, SHAPE, WAVE, Ints
from sim.parts.family import Wave
from sim.solver.lanes import Solution

#: (which lanes, their relays, their fuses, shares of what is driven) -> their steady states.
Stretch = Callable[[Ints, Ints, Ints, Floats], Solution]


@dataclass(frozen=True, slots=True)
class Pulsed:
    """Means of L lanes over a period, as one solution.

    `low` and `high` (L, N) are the least and the most volts of every point within the period,
    `peak` (L, E) the largest current either way of every element, `turning` (L, C) the speed in
    rad/s that every counting input makes of its edges.
    """

    solution: Solution
    low: Floats
    high: Floats
    peak: Floats
    turning: Floats


def solve_pulsed(
    solve: Stretch, which: Ints, closed: Ints, blown: Ints, shares: Floats, modules: Modules
) -> Pulsed:
    """Solve lanes whose driven contacts are closed for a share of the time.

    Parameters
    ----------
    which : int array (L,)
    closed, blown : int arrays (L, R), (L, F)
    shares : float array (L, O)
        Of everything that rules drive, from 0 to 1.
    """
    closed, unknown = closed.copy(), np.zeros((len(which), len(modules.counters)))
    contacts = shares[:, modules.contacts]
    closed[:, modules.relays] = contacts > 0.0
    first = solve(which, closed, blown, shares)
    pulsed = ((contacts > 0.0) & (contacts < 1.0)).any(axis=1)
    if not pulsed.any():
        return Pulsed(first, first.volts, first.volts, np.abs(first.current), unknown)
    return _averaged(solve, which, first, shares, modules)


def with_sources(modules: Modules, rows: Floats, shares: Floats) -> Floats:
    """Return rows (V, E, 13) in which sources that rules set have the voltages of their shares.

    One that alternates has the amplitudes of share 0 and share 1 as its first two constants.
    """
    if not any(one.source for one in modules.driven):
        return rows
    rows = rows.copy()
    _set_sources(modules, rows, shares)
    return rows


def sourced(modules: Modules, rows: Floats, variant: Ints, shares: Floats) -> tuple[Floats, Ints]:
    """Return rows with sources set by rules for lanes, and which of the rows is each lane's.

    Lanes of one variant whose sources are set alike have one row.

    Parameters
    ----------
    rows : float array (V, E, 13)
    variant : int array (L,)
    shares : float array (L, O)
    """
    set_by = shares[:, [column for column, one in enumerate(modules.driven) if one.source]]
    every = np.arange(len(variant))
    first = np.zeros(len(rows), dtype=np.int64)
    first[variant[::-1]] = every[::-1]
    like = first[variant]
    like = np.where((set_by == set_by[like]).all(axis=1), like, every)
    kept, number = np.unique(like, return_inverse=True)
    if _are_set(modules, rows, variant[kept], shares[kept]):
        return rows, variant
    mine = rows[variant[kept]]
    _set_sources(modules, mine, shares[kept])
    return mine, number


def _are_set(modules: Modules, rows: Floats, variant: Ints, shares: Floats) -> bool:
    """Tell whether sources stand in rows (V, E, 13) as their shares (L, O) have them already."""
    for column, one in enumerate(modules.driven):
        for element in one.elements if one.source else ():
            mine = rows[variant, element : element + 1]
            wanted = mine.copy()
            _set_source(one, wanted, 0, shares[:, column])
            if not np.array_equal(wanted.view(np.int64), mine.view(np.int64)):  # to the bit
                return False
    return True


def _set_sources(modules: Modules, rows: Floats, shares: Floats) -> None:
    """Set in rows of one's own the sources that rules set; see `with_sources`."""
    for column, one in enumerate(modules.driven):
        for element in one.elements if one.source else ():
            _set_source(one, rows, element, shares[:, column])


def _set_source(one: Driven, rows: Floats, element: int, share: Floats) -> None:
    """Set one source."""
    low, high = one.words.span if one.words else (0.0, 0.0)
    sways = rows[:, element, WAVE] == Wave.SINE
    least, most = rows[:, element, SHAPE], rows[:, element, SHAPE + 1]
    amplitude = np.where(sways, least + (most - least) * share, 0.0)
    rows[:, element, AMPLITUDE] = np.where(sways, amplitude, rows[:, element, AMPLITUDE])
    emf = np.where(sways, rows[:, element, EMF], low + (high - low) * share)
    rows[:, element, EMF] = emf


def show_pulses(modules: Modules, rows: Floats, held: Held | None) -> Floats:
    """Return rows (V, E, 13) in which what is pulsed or set says so, for curves in time."""
    if held is None:
        return rows
    rows = rows.copy()
    _set_sources(modules, rows, held.shares)
    for column, one in enumerate(modules.driven):
        if one.words is None or one.source:
            continue
        share, words = held.shares[:, column], one.words
        often = words.frequency
        pulsed = (share > 0.0) & (share < 1.0)
        tests = pulsed & (share == words.test_share)
        for element in one.elements:
            rows[:, element, WAVE] = np.where(pulsed, Wave.SWITCHED, Wave.NONE)
            rows[:, element, AMPLITUDE] = np.where(pulsed, share, 0.0)
            rows[:, element, FREQUENCY] = np.where(tests, words.test_frequency, often)
    return rows


def _averaged(
    solve: Stretch, which: Ints, first: Solution, shares: Floats, modules: Modules
) -> Pulsed:
    """Go through the rest of the period, from the first stretch on."""
    contacts = shares[:, modules.contacts]
    ends = _next_end(contacts, np.zeros(len(shares)))
    weight = ends[:, None]
    volts, drop, current = first.volts * weight, first.drop * weight, first.current * weight
    power = first.drop * first.current * weight
    low, high, peak = first.volts.copy(), first.volts.copy(), np.abs(first.current)
    blown, status, made = first.blown.copy(), first.status.copy(), first.solutions
    while True:
        left = np.flatnonzero(ends < 1.0)
        if not len(left):
            break
        after = _next_end(contacts[left], ends[left])
        closed = first.closed[left].copy()
        closed[:, modules.relays] = contacts[left] > ends[left, None]
        now = solve(which[left], closed, blown[left], shares[left])
        weight = (after - ends[left])[:, None]
        volts[left] += now.volts * weight
        drop[left] += now.drop * weight
        current[left] += now.current * weight
        power[left] += now.drop * now.current * weight
        low[left] = np.minimum(low[left], now.volts)
        high[left] = np.maximum(high[left], now.volts)
        peak[left] = np.maximum(peak[left], np.abs(now.current))
        blown[left] = now.blown
        status[left] = np.maximum(status[left], now.status)
        made += now.solutions
        ends[left] = after
    mean = Solution(volts, drop, current, first.closed, blown, status, made, first.worst, power)
    unknown = np.zeros((len(which), len(modules.counters)))
    return Pulsed(mean, low, high, peak, unknown)


def _next_end(shares: Floats, after: Floats) -> Floats:
    """Return where (L,) the next stretch of the period ends, from 0 to 1."""
    later: Flags = shares > after[:, None]
    ends: Floats = np.minimum(np.where(later, shares, 1.0).min(axis=1, initial=1.0), 1.0)
    return ends


def some_lanes(pulsed: Pulsed, which: Ints) -> Pulsed:
    """Return some lanes of a solution."""
    rest = (pulsed.low, pulsed.high, pulsed.peak, pulsed.turning)
    return Pulsed(pulsed.solution.only(which), *(array[which] for array in rest))


def merged_lanes(whole: Pulsed, which: Ints, new: Pulsed, *, ours: bool = False) -> Pulsed:
    """Return a solution with some lanes replaced.

    The arrays of `whole` are written over where they are `ours`: made by an earlier call.
    """
    one, two = whole.solution, new.solution

    def put(array: np.ndarray, mine: np.ndarray) -> np.ndarray:
        changed = array if ours else array.copy()
        changed[which] = mine
        return changed

    power = None
    if one.power is not None or two.power is not None:
        power = put(_powers(one), _powers(two))
    solution = Solution(
        put(one.volts, two.volts),
        put(one.drop, two.drop),
        put(one.current, two.current),
        put(one.closed, two.closed),
        put(one.blown, two.blown),
        put(one.status, two.status),
        one.solutions + two.solutions,
        put(one.worst, two.worst),
        power,
    )
    return Pulsed(
        solution,
        put(whole.low, new.low),
        put(whole.high, new.high),
        put(whole.peak, new.peak),
        put(whole.turning, new.turning),
    )


def _powers(solution: Solution) -> Floats:
    return solution.drop * solution.current if solution.power is None else solution.power
