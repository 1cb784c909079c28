"""Curves in which breakers that close by themselves come and go (`sim.slowbreakers`).

A curve is made with what stands, the first moment is looked for in which a breaker turns by its
current along that curve, and the curve is made anew with it turning there; until none turns any
more. So what a load takes at the moment it is fed again (a motor's start, a cold filament) is in
the curve, and counts for when the breaker opens next. A bimetal does not cool between two overloads
of one curve (ours).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim.instruments.acting import Phases
from sim.network import CONDUCTANCE, SHAPE, Floats, Ints
from sim.parts.breaker import COOLING
from sim.slowfuses import HOLDS_OF_LIMIT, Fuse
from sim.solver.lanes import Lanes
from sim.solver.waveform import Trace
from sim.view import View

LONG_AGO = -math.inf  # when a breaker has turned that is open as a curve begins
MOST = 400  # turns of a lane in one curve; a shorted breaker makes some 20 in 100 s; ours

Run = Callable[[Phases, Lanes], Trace]


@dataclass(frozen=True, slots=True)
class Turn:
    """A breaker, by its element, opens or closes at a time in s."""

    time: float
    element: int
    opens: bool


#: For every lane, in the order of time.
Turns = tuple[tuple[Turn, ...], ...]


@dataclass(slots=True)
class _Breaker:
    """One breaker of one lane: since when it is as it is, and its heat then."""

    fuse: Fuse
    column: int
    limit: float
    heat: float
    is_open: bool
    since: float = 0.0

    def next_turn(self, time: Floats, amps: Floats) -> float:
        """Return when it turns along a curve of its current, in s; infinite where it does not."""
        if self.is_open:
            return self.since + self.heat * COOLING
        amps = np.abs(amps)
        if amps.max() <= self.limit * HOLDS_OF_LIMIT:
            return math.inf
        rate = 1.0 / np.asarray(self.fuse.time(self.limit, amps))
        return opens_at(time, rate, self.since, self.heat)

    def turn(self, time: float) -> Turn:
        """Turn it."""
        self.since, self.is_open = time, not self.is_open
        self.heat = 1.0 if self.is_open else 0.0
        return Turn(time, self.fuse.element, self.is_open)


def opens_at(time: Floats, rate: Floats, since: float, heat: float) -> float:
    """Return when a breaker's heat reaches 1, in s; infinite where it does not within a curve.

    Parameters
    ----------
    time, rate : float arrays (T,)
        s, and by how much its heat rises in 1/s.
    since, heat : float
        From when on, and from what heat.
    """
    gained = np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(time))))
    level = float(np.interp(since, time, gained)) + 1.0 - heat
    if level > gained[-1] or since > time[-1]:
        return math.inf
    # not np.interp, which may take either end of a while in which the heat stands
    after = int(np.searchsorted(gained, level))
    if after == 0:
        return float(max(time[0], since))
    rise = gained[after] - gained[after - 1]
    part = (level - gained[after - 1]) / rise
    return float(max(time[after - 1] + part * (time[after] - time[after - 1]), since))


def followed(
    view: View, phases: Phases, lanes: Lanes, columns: Sequence[int], run: Run
) -> tuple[Turns, Lanes, Trace]:
    """Return when breakers turn within a curve, the lanes without those open, and the curve.

    Parameters
    ----------
    phases : Phases
        Rows in which nothing opens.
    columns : sequence of int
        Which of the curve's currents those of the breakers are.
    run : callable
        Makes a curve of phases and lanes.
    """
    automatic = view.fleet.slow.fuses.automatic
    if not automatic:
        return ((),) * len(lanes.variant), lanes, run(phases, lanes)
    breakers = [_breakers(view, lane, columns) for lane in range(len(lanes.variant))]
    turns: list[tuple[Turn, ...]] = [
        tuple(Turn(LONG_AGO, one.fuse.element, opens=True) for one in mine if one.is_open)
        for mine in breakers
    ]
    blown = lanes.blown.copy()
    blown[:, [fuse.number for fuse in automatic]] = 0
    lanes = replace(lanes, blown=blown)
    curves = run(turned(phases, turns), lanes)
    for _turn in range(MOST):
        moved = [k for k, mine in enumerate(breakers) if _turn_next(mine, curves, k, turns)]
        if not moved:
            break
        some = np.array(moved)
        mine = tuple(turns[k] for k in moved)
        again = run(turned(taken(phases, some), mine), own_rows(lanes.only(some)))
        curves = put_curves(curves, some, again)
    return tuple(turns), lanes, curves


def _breakers(view: View, lane: int, columns: Sequence[int]) -> list[_Breaker]:
    memory, fuses = view.memory, view.fleet.slow.fuses
    return [
        _Breaker(
            fuse,
            column,
            float(view.base[lane, fuse.element, SHAPE]),
            float(memory.heat[lane, fuse.number]),
            bool(memory.blown[lane, fuse.number]),
        )
        for fuse, column in zip(fuses.automatic, columns, strict=True)
    ]


def _turn_next(
    mine: Sequence[_Breaker], curves: Trace, lane: int, turns: list[tuple[Turn, ...]]
) -> bool:
    """Turn the breaker of a lane that turns first from here on; tell whether one does."""
    times = [one.next_turn(curves.time, curves.current[lane, one.column]) for one in mine]
    first = min(times)
    if first > curves.time[-1] or curves.status[lane]:
        return False
    turns[lane] = (*turns[lane], mine[times.index(first)].turn(first))
    return True


def own_rows(lanes: Lanes) -> Lanes:
    """Return lanes that have rows of their own."""
    return replace(lanes, variant=np.arange(len(lanes.variant)))


def taken(phases: Phases, some: Ints) -> Phases:
    """Return the phases of some lanes; each lane has rows of its own."""
    later = tuple((when[some], rows[some]) for when, rows in phases.later)
    return Phases(phases.before[some], phases.after[some], later)


def turned(phases: Phases, turns: Sequence[Sequence[Turn]]) -> Phases:
    """Return phases in which breakers turn, each lane's at its own times."""
    if not any(turns):
        return phases
    before, after = phases.before.copy(), phases.after.copy()
    every = []
    for lane, mine in enumerate(turns):
        is_open = {turn.element for turn in mine if turn.time == LONG_AGO}
        for rows in (before, after):
            rows[lane, list(is_open), CONDUCTANCE] = 0.0
        comes: list[tuple[float, Floats | Turn]] = [(t.time, t) for t in mine if t.time > LONG_AGO]
        comes += [(float(w[lane]), r[lane]) for w, r in phases.later if np.isfinite(w[lane])]
        stands, due = phases.after[lane], list[tuple[float, Floats]]()
        for time, what in sorted(comes, key=lambda one: one[0]):
            if isinstance(what, Turn):
                (is_open.add if what.opens else is_open.discard)(what.element)
            else:
                stands = what
            now = stands.copy()
            now[list(is_open), CONDUCTANCE] = 0.0
            due.append((time, now))
        every.append(due)
    return Phases.of(before, after, every)


def put_curves(curves: Trace, some: Ints, others: Trace) -> Trace:
    """Return curves with some lanes (int array) from others of only these."""
    arrays = {}
    for name in ("volts", "current", "status", "closed", "blown"):
        arrays[name] = getattr(curves, name).copy()
        arrays[name][some] = getattr(others, name)
    return replace(curves, **arrays)
