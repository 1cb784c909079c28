"""By turns: what an instrument shows while a breaker comes and goes (`sim.slowbreakers`).

A lamp or a display is watched for `WATCHED` seconds, which do not count as time: where a breaker
turns within them the reading is taken in both states. A curve shows what stands, and where it is
long enough for a breaker to turn, pieces of two curves: that of the breaker closed and that of the
breaker open, each as it would be had it been so from the beginning. So what a load does in the
moment in which a breaker turns is not in it, nor is it that a bimetal cools between two overloads
of one curve (ours).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from sim import harm
from sim.instruments.verb import Shown
from sim.network import SHAPE, Floats, Ints
from sim.parts.breaker import COOLING
from sim.slowbreakers import any_of, closed_times, to_go, turned
from sim.slowfuses import HOLDS_OF_LIMIT
from sim.solver.waveform import Trace
from sim.view import View

WATCHED = 20.0  # s, twice what a breaker takes to cool; ours

Flags = npt.NDArray[np.bool_]


def watched(
    view: View, read: Callable[[View], Shown], *, puts: bool = True
) -> tuple[Shown, Shown, Flags]:
    """Return what is shown, what with breakers turned, and where (V,) they turn in that time.

    `puts` tells whether `read` puts something on, and solves with it.
    """
    shown = read(view)
    fuses, stood = view.fleet.slow.fuses, view.memory
    none = np.zeros(view.count, dtype=bool)
    if not fuses.automatic:
        return shown, shown, none
    lane = np.arange(view.count) % len(view.fleet.circuits)
    base = view.base if view.count == len(view.base) else view.base[lane]
    closed = closed_times(fuses, base, view.solution.current)
    turns: Flags = to_go(fuses, closed, stood.heat[lane], stood.blown) <= WATCHED
    if not turns.any():
        return shown, shown, none
    solution, view.memory = view.solution, replace(stood, blown=turned(fuses, stood.blown, turns))
    if not puts:
        view.solution = view.solve(view.memory)
    other = read(view)
    blown = stood.blown | view.memory.blown  # a meter's fuse stays blown
    for fuse in fuses.automatic:
        blown[:, fuse.number] = stood.blown[:, fuse.number]
    view.memory, view.solution = replace(stood, blown=blown), solution
    return shown, other, any_of(turns)


def words(view: View, read: Callable[[View], Shown]) -> Shown:
    """Return words that tell of both states where a breaker turns: ``bright and dark by turns``."""
    shown, other, turns = watched(view, read)
    said = zip(shown.words or (), other.words or (), turns, strict=True)
    return replace(
        shown,
        words=tuple(_both(one, two) if turning else one for one, two, turning in said),
        damage=harm.joined(shown.damage, other.damage),
    )


def _both(one: str, two: str) -> str:
    """Return two words as one answer, whichever of them stands first."""
    first, second = sorted((one, two))
    return one if one == two else f"{first} and {second} by turns"


def extremes(numbers: Floats, others: Floats, turns: Flags) -> tuple[Floats, Floats]:
    """Return the least and the most (V,) of two states, nan where nothing turns."""
    low, high = np.minimum(numbers, others), np.maximum(numbers, others)
    return np.where(turns, low, np.nan), np.where(turns, high, np.nan)


def spliced(
    view: View, curves: Trace, columns: tuple[int, ...], again: Callable[[Ints], Trace]
) -> Trace:
    """Return curves in which breakers come and go.

    Parameters
    ----------
    curves : Trace
        As all stands when they begin; nothing opens in them.
    columns : tuple of int
        Which of their currents those of the breakers are.
    again : callable
        (fuses blown) -> the curves with these.
    """
    fuses, memory = view.fleet.slow.fuses, view.memory
    if not fuses.automatic:
        return curves
    stood = memory.blown[:, [fuse.number for fuse in fuses.automatic]] == 1
    seconds = float(curves.time[-1])
    open_at = _open_at(view, curves, columns)
    turns = open_at.any(axis=2) != stood
    for column, fuse in enumerate(fuses.automatic):
        turns[:, column] |= stood[:, column] & (memory.heat[:, fuse.number] * COOLING <= seconds)
    if not turns.any():
        return curves
    other = again(turned(fuses, memory.blown, turns))
    was_open = any_of(stood & turns)
    closed, opened = _sorted(curves, other, was_open), _sorted(other, curves, was_open)
    mask = _open_at(view, closed, columns)
    mask = (mask & turns[:, :, None]).any(axis=1)[:, None, :]
    return replace(
        curves,
        volts=np.where(mask, opened.volts, closed.volts),
        current=np.where(mask, opened.current, closed.current),
        status=np.maximum(curves.status, np.where(any_of(turns), other.status, 0)),
    )


def _sorted(one: Trace, two: Trace, swap: Flags) -> Trace:
    """Return the first of two curves, the second for lanes in `swap` (L,)."""
    which = swap[:, None, None]
    return replace(
        one,
        volts=np.where(which, two.volts, one.volts),
        current=np.where(which, two.current, one.current),
    )


def _open_at(view: View, closed: Trace, columns: tuple[int, ...]) -> Flags:
    """Return when (V, K, T) each breaker is open, with its current while closed."""
    memory, base = view.memory, view.base
    found = np.zeros((view.count, len(columns), len(closed.time)), dtype=bool)
    for number, (fuse, column) in enumerate(
        zip(view.fleet.slow.fuses.automatic, columns, strict=True)
    ):
        for lane in range(view.count):
            amps, limit = (
                np.abs(closed.current[lane, column]),
                float(base[lane, fuse.element, SHAPE]),
            )
            is_open = bool(memory.blown[lane, fuse.number])
            if not is_open and amps.max() <= limit * HOLDS_OF_LIMIT:
                continue
            rate = 1.0 / np.asarray(fuse.time(limit, amps))
            steps = 0.5 * (rate[1:] + rate[:-1]) * np.diff(closed.time)
            gained = np.concatenate(([0.0], np.cumsum(steps)))
            heat = float(memory.heat[lane, fuse.number])
            found[lane, number] = walk(closed.time, gained, heat, is_open=is_open)
    return found


def walk(time: Floats, gained: Floats, heat: float, *, is_open: bool) -> Flags:
    """Return when (T,) a breaker is open.

    Parameters
    ----------
    time : float array (T,)
        s, from 0 on.
    gained : float array (T,)
        What its heat would have risen by if it stayed closed.
    heat : float
        At the beginning; see `sim.slowbreakers`.
    is_open : bool
        How it begins.
    """
    found, clock = np.zeros(len(time), dtype=bool), 0.0
    while clock <= time[-1]:
        if is_open:
            until, next_heat = clock + heat * COOLING, 0.0
            found |= (time >= clock) & (time < until)
        else:
            level = float(np.interp(clock, time, gained)) + 1.0 - heat
            if level > gained[-1]:
                break
            until, next_heat = float(np.interp(level, gained, time)), 1.0
        clock, heat, is_open = until, next_heat, not is_open
    return found
