"""Breakers that close by themselves, by the clock: how they come and go while an overload lasts.

A bimetal is followed by one number, its heat. Closed, it goes from 0 to 1 within the time t(I) that
the breaker's curve gives for its current (SAE J553, see `sim.parts.fuse_curve`); there it opens,
and goes back to 0 within the cooling time, where it closes (`sim.parts.breaker.cycle`)::

    heat' = 1 / t(I)  while closed,   heat' = -1 / COOLING  while open

So an overload that lasts comes and goes with the period t(I) + COOLING. Below what the curve starts
with a closed one cools like any fuse. Nothing is stepped: where a breaker turns within a while, the
vehicle is solved once as it stands and once with that breaker turned, and as long as nothing else
changes the times follow from the equations, so that they are the same however a while is divided.
While time is let pass, a while is a step of `sim.slowtime`, and both solutions are made anew in it.

Assumptions (ours): several breakers that turn in one while do so each by its own clock, and what
flows is that of all of them open as soon as one is; what else opens or pulls in within a while
shows at its end; control modules see the breaker through a while as it stands when that begins.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.network import SHAPE, Floats, Ints
from sim.parts.breaker import COOLING
from sim.situation import Memory
from sim.slowfuses import COOLING as STRIP_COOLING
from sim.slowfuses import Fuse, Fuses
from sim.slowtime import Slow
from sim.solver.steady import Lanes, Solution

Flags = npt.NDArray[np.bool_]


def let_open(fuses: Fuses, lanes: Lanes, found: Solution) -> Ints:
    """Return the lanes, as numbers, in which a solution has let a breaker open.

    A solution opens what its current would open within its time, and what stands furthest above its
    limit first: so it tells which fuses a breaker saves. The breaker itself opens by the clock.
    """
    numbers = [fuse.number for fuse in fuses.automatic]
    opened = any_of(found.blown[:, numbers] > lanes.blown[:, numbers])
    return np.flatnonzero(opened)


def held(fuses: Fuses, rows: Floats, lanes: Lanes, blown: Ints) -> tuple[Floats, Lanes]:
    """Return rows and lanes for breakers to stay closed that a solution has let open.

    Parameters
    ----------
    rows : float array (V, E, 13)
    lanes : Lanes
        Those of `let_open`, as solved.
    blown : int array (L, F)
        The fuses that this has left: what opens elsewhere is open; a meter's is judged anew.

    Returns
    -------
    rows : float array (L, E, 13)
    lanes : Lanes
        With these rows.
    """
    kept = lanes.blown.copy()
    for fuse in fuses.fuses:
        if not fuse.automatic:
            kept[:, fuse.number] = blown[:, fuse.number]
    more = fuses.held(rows[lanes.variant])
    return more, replace(lanes, variant=np.arange(len(more)), blown=kept)


def above(fuses: Fuses, rows: Floats, lanes: Lanes, found: Solution) -> Ints:
    """Return the lanes, as numbers, in which a closed breaker carries more than its limit."""
    over = np.zeros(len(lanes.variant), dtype=bool)
    for fuse in fuses.automatic:
        limit = rows[lanes.variant, fuse.element, SHAPE]
        over |= np.abs(found.current[:, fuse.element]) > limit
    return np.flatnonzero(over)


def all_held(
    fuses: Fuses, rows: Floats, lanes: Lanes, found: Solution, which: Ints
) -> tuple[Floats, Lanes]:
    """Return rows, with more behind them, and all lanes, some of them on these; see `held`."""
    if not len(which):
        return rows, lanes
    more, kept = held(fuses, rows, lanes.only(which), found.blown[which])
    variant, blown = lanes.variant.copy(), lanes.blown.copy()
    variant[which], blown[which] = len(rows) + kept.variant, kept.blown
    return np.concatenate((rows, more)), replace(lanes, variant=variant, blown=blown)


def closed_times(fuses: Fuses, base: Floats, current: Floats) -> Floats:
    """Return the seconds (L, K) for which K breakers carry currents (L, E) while closed and cold.

    `base` (L, E, 13) has the limits of the steady state.
    """
    found = [fuse.opens_in(base, current) for fuse in fuses.automatic]
    return np.stack(found, axis=1)


def to_go(fuses: Fuses, closed: Floats, heat: Floats, blown: Ints) -> Floats:
    """Return the seconds (L, K) until each of K breakers turns; infinite for one that stays.

    Parameters
    ----------
    closed : float array (L, K)
        See `closed_times`.
    heat, blown : arrays (L, F)
    """
    found = closed.copy()
    for column, fuse in enumerate(fuses.automatic):
        had, time = heat[:, fuse.number], closed[:, column]
        left = np.where(np.isinf(time), np.inf, (1.0 - had) * np.where(np.isinf(time), 0, time))
        found[:, column] = np.where(blown[:, fuse.number] == 1, had * COOLING, left)
    return found


def turned(fuses: Fuses, blown: Ints, turns: Flags) -> Ints:
    """Return the fuses (L, F) with those breakers turned that `turns` (L, K) names."""
    blown = blown.copy()
    for column, fuse in enumerate(fuses.automatic):
        blown[:, fuse.number] ^= turns[:, column]
    return blown


def followed(
    slow: Slow,
    base: Floats,
    memories: tuple[Memory, Memory],
    solution: Solution,
    seconds: float,
    solve: Callable[[Memory, Ints], Solution],
) -> Memory:
    """Return the memory after a while, breakers that turned within it and what they did included.

    Parameters
    ----------
    base : float array (V, E, 13)
        With the limits of the steady state.
    memories : two of Memory
        Before the while, and after it as if no breaker had turned.
    solution : Solution
        As all stands when the while begins.
    seconds : float
    solve : callable
        (memory, lanes) -> how these lanes stand with other fuses.
    """
    before, after = memories
    fuses = slow.fuses
    if not fuses.automatic or seconds <= 0.0:
        return after
    closed = closed_times(fuses, base, solution.current)
    turns = to_go(fuses, closed, before.heat, before.blown) <= seconds
    open_now = any_of(_open(fuses, before.blown))
    lanes = np.flatnonzero(any_of(turns) | open_now)
    if not len(lanes):
        return after
    now = then = solution.only(lanes)
    if turns.any():
        then = solve(replace(before, blown=turned(fuses, before.blown, turns)), lanes)
    course = _Course.of(slow, base, before, lanes)
    course.run(_Two.of(slow, (now, then), open_now[lanes]), seconds)
    return course.put(after)


def any_of(flags: Flags) -> Flags:
    """Return in which lanes (L,) any of (L, K) is true."""
    return np.asarray(flags.any(axis=1))


def _open(fuses: Fuses, blown: Ints) -> Flags:
    """Return which breakers (L, K) are open."""
    found: Flags = blown[:, [fuse.number for fuse in fuses.automatic]] == 1
    return found


@dataclass(frozen=True, slots=True)
class _Two:
    """Currents (n, E) and steady rises (n, P) of some lanes, breakers closed, and some open."""

    closed: tuple[Floats, Floats]
    open: tuple[Floats, Floats]

    @classmethod
    def of(cls, slow: Slow, solutions: tuple[Solution, Solution], open_now: Flags) -> _Two:
        """Sort two solutions, as all stands and turned, by what is open in them."""
        now, then = [(one.current, slow.warmth.steady(one)) for one in solutions]
        swap = open_now[:, None]
        closed = [np.where(swap, b, a) for a, b in zip(now, then, strict=True)]
        opened = [np.where(swap, a, b) for a, b in zip(now, then, strict=True)]
        return cls((closed[0], closed[1]), (opened[0], opened[1]))


@dataclass(slots=True)
class _Course:
    """What some lanes remember while their breakers come and go; changed in place."""

    slow: Slow
    base: Floats
    lanes: Ints
    heat: Floats
    blown: Ints
    drawn: Floats
    risen: Floats
    hottest: Floats

    @classmethod
    def of(cls, slow: Slow, base: Floats, memory: Memory, lanes: Ints) -> _Course:
        """Begin where these lanes stand."""
        names = ("heat", "blown", "drawn", "risen", "hottest")
        return cls(slow, base[lanes], lanes, *(getattr(memory, name)[lanes] for name in names))

    def run(self, two: _Two, seconds: float) -> None:
        """Go from one turn to the next, every lane by its own clock."""
        fuses, left = self.slow.fuses, np.full(len(self.lanes), seconds)
        closed = closed_times(fuses, self.base, two.closed[0])
        opens = {fuse: fuse.opens_in(self.base, two.closed[0]) for fuse in fuses.fuses}
        beyond = {fuse: fuse.opens_in(self.base, two.open[0]) for fuse in fuses.fuses}
        while (left > 0.0).any():
            some = to_go(fuses, closed, self.heat, self.blown)
            stretch = np.minimum(left, some.min(axis=1))
            goes, opened = left > 0.0, _open(fuses, self.blown)
            off = any_of(opened)
            for fuse in fuses.fuses:
                self._heat(fuse, np.where(off, beyond[fuse], opens[fuse]), stretch, goes)
            self._flow(two, off, stretch, goes)
            turns = (some <= stretch[:, None]) & goes[:, None]
            for column, fuse in enumerate(fuses.automatic):
                mine = turns[:, column]
                self.heat[mine, fuse.number] = np.where(opened[mine, column], 0.0, 1.0)
            self.blown = turned(fuses, self.blown, turns)
            left = np.where(goes, left - stretch, left)

    def _heat(self, fuse: Fuse, opens: Floats, stretch: Floats, goes: Flags) -> None:
        """Warm or cool a fuse's strip, or a breaker's bimetal."""
        had = self.heat[:, fuse.number]
        cooled = had * np.exp(-stretch / STRIP_COOLING)
        new = np.where(np.isinf(opens), cooled, np.minimum(had + stretch / opens, 1.0))
        is_open = self.blown[:, fuse.number] == 1
        new = np.where(is_open, had - stretch / COOLING if fuse.automatic else 0.0, new)
        self.heat[:, fuse.number] = np.where(goes, new, had)

    def _flow(self, two: _Two, off: Flags, stretch: Floats, goes: Flags) -> None:
        """Let batteries give and parts warm up for a stretch."""
        which, batteries = off[:, None], self.slow.batteries
        amps = np.where(which, two.open[0], two.closed[0])[:, batteries]
        self.drawn = self.drawn - amps * np.where(goes, stretch, 0.0)[:, None]
        steady = np.where(which, two.open[1], two.closed[1])
        risen, hottest = self.slow.warmth.moved(self.risen, self.hottest, steady, stretch[:, None])
        self.risen = np.where(goes[:, None], risen, self.risen)
        self.hottest = np.where(goes[:, None], hottest, self.hottest)

    def put(self, memory: Memory) -> Memory:
        """Return a memory of all lanes with these in it."""
        slow, lanes = self.slow, self.lanes
        new = {
            "heat": self.heat,
            "drawn": slow.within(self.drawn, lanes),
            "risen": self.risen,
            "hottest": self.hottest,
        }
        arrays = {name: getattr(memory, name).copy() for name in (*new, "blown")}
        for name, array in new.items():
            arrays[name][lanes] = array
        for fuse in slow.fuses.automatic:
            arrays["blown"][lanes, fuse.number] = self.blown[:, fuse.number]
        return replace(memory, **arrays)
