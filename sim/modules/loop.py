"""Circuit and rules brought to one state, over all variants; and carried on through time.

Solved with the contacts as the rules have them, the circuit gives the voltages at every module's
pins; from these the rules decide anew; until nothing changes. Only variants of which something has
changed are solved again, so that what one of them shows never depends on which others are beside
it. A variant whose rules chase each other is *oscillating*, and told with the decisions that never
rest.

An output that carries more than its pin may is shut down, and stays off until the unit has lost
its power, or `overloads clear while` begins or ceases to hold with nothing wanting it on: it tries
once each time. A unit that is asleep has all outputs off and doubts nothing; it wakes as soon as
`awake while` holds. A unit whose supply breaks down as soon as it works, and comes back as soon as
it does not, would start over for ever; it is taken as held off (ours).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Self

import numpy as np

from sim.errors import RulesError
from sim.modules.conditions import Floats
from sim.modules.counting import Moved, Solve
from sim.modules.decide import next_due
from sim.modules.held import Held
from sim.modules.pulses import Pulsed, merged_lanes, sourced, with_sources
from sim.modules.rounds import Rounds
from sim.modules.turns import Asked
from sim.modules.wiring import Modules
from sim.network import Ints
from sim.solver.lanes import Lanes, Solution
from sim.solver.laws import OSCILLATING, SOLVED
from sim.solver.steady import Solver

MOST_ROUNDS = 40  # solutions until rules are said to chase each other; ours
LAST_ROUNDS = 12  # of these, in which what still changes is named; ours
MOST_DROPS = 2  # times that a unit's supply may break down under its own load in one state; ours
MOST_EVENTS = 200  # things that are due in one stretch of time, until rules never rest; ours
#: What never rested, by lane.
Chased = defaultdict[int, set[str]]
STOOD = 24 * 3600.0  # s that a vehicle has stood as it is handed over; ours


@dataclass(frozen=True, slots=True)
class Settled(Solution):
    """Steady states with the rules satisfied; oscillating where they never rest.

    Attributes
    ----------
    held : Held
        What the modules remember then.
    low, high : float arrays (L, N)
        Least and most volts of every point; they differ where an output is pulsed.
    turning : float array (L, C)
        Speed in rad/s that counting inputs see.
    cycles : tuple of (RulesError or None)
        For every lane what chases what, or is due too often; None where all rests.
    """

    held: Held = field(kw_only=True)
    low: Floats = field(kw_only=True)
    high: Floats = field(kw_only=True)
    turning: Floats = field(kw_only=True)
    cycles: tuple[RulesError | None, ...] = field(kw_only=True)

    def only(self, which: slice | Ints) -> Self:
        """Return some of the lanes; how a bus stands is left out."""
        mine = Solution.only(self, which)
        lanes = np.arange(len(self.status))[which]
        return replace(
            mine,
            held=self.held.take(lanes),
            low=self.low[which],
            high=self.high[which],
            turning=self.turning[which],
            cycles=tuple(self.cycles[lane] for lane in lanes),
        )


def rules_error(solution: Solution, lane: int) -> RulesError | None:
    """Return what of a lane's rules never rests; None where nothing does not."""
    return solution.cycles[lane] if isinstance(solution, Settled) else None


def held_after(solution: Solution, before: Held | None) -> Held | None:
    """Return what modules remember after a solution; what they did before if it has no rules."""
    return solution.held if isinstance(solution, Settled) else before


def put_lanes(whole: Solution, which: Ints, new: Solution) -> Solution:
    """Return a solution of vehicles without a bus, with some lanes from another."""
    if isinstance(whole, Settled) and isinstance(new, Settled):
        return _joined(whole, which, new)
    return whole.put(which, new)


def settle(asked: Asked, held: Held, closed: Ints, blown: Ints, solve: Solve) -> Settled:
    """Bring circuit and rules to one state.

    Parameters
    ----------
    held : Held
        What the modules remember.
    closed, blown : int arrays (L, R), (L, F)
        As relays and fuses stand before.
    solve : callable
        (which variants, their relays, their fuses, shares) -> their steady states.
    """
    modules, still = asked.modules, np.arange(len(asked.clock))
    rounds = Rounds(asked, solve)
    first = whole = now = rounds.solved(still, closed, blown, held.shares)
    chased = defaultdict[int, set[str]](set)
    worked, drops = np.zeros_like(asked.dead), np.zeros(asked.dead.shape, dtype=np.int64)
    for left in reversed(range(MOST_ROUNDS)):
        every = len(still) == len(asked.clock)
        mine = held if every else held.take(still)
        starved = asked.dead[still] | (drops[still] >= MOST_DROPS)
        new = rounds.decided(starved, mine)
        drops[still] += worked[still] & ~new.works
        worked[still] = new.works
        if left < LAST_ROUNDS:
            _name_changes(chased, still, modules, mine, new.held)
        held = new.held if every else held.put(still, new.held)
        moves = (new.held.shares != mine.shares).any(axis=1) | ~new.rests
        still = still[moves]
        if not len(still) or not left:
            break
        relays, fuses = now.solution.closed[moves], now.solution.blown[moves]
        now = rounds.solved(still, relays, fuses, held.shares[still])
        whole = merged_lanes(whole, still, now, ours=whole is not first)
    return _finished(whole, held, still, chased, modules)


def _name_changes(chased: Chased, still: Ints, modules: Modules, old: Held, new: Held) -> None:
    """Keep, for each lane, the names of what has changed in this round."""
    for number, unit in enumerate(modules.units):
        module = unit.behaviour.module
        flips = old.states[number].on != new.states[number].on
        for place, decision in enumerate(unit.behaviour.decisions):
            for lane in still[flips[:, place]].tolist():
                chased[lane].add(f"{module}: {decision.name}")
        for column, one in zip(unit.columns, unit.driven, strict=True):
            moved = old.shares[:, column] != new.shares[:, column]
            for lane in still[moved].tolist():
                chased[lane].add(f"{module}: {one.follows or f'{one.pin} by its power'}")


def _finished(whole: Pulsed, held: Held, still: Ints, chased: Chased, modules: Modules) -> Settled:
    """Return what all has come to; lanes that are `still` moving oscillate."""
    s, status, worst = whole.solution, whole.solution.status.copy(), whole.solution.worst.copy()
    cycles: list[RulesError | None] = [None] * len(status)
    for lane in still.tolist():
        if status[lane] == SOLVED:
            status[lane], worst[lane] = OSCILLATING, _first(modules)
            cycles[lane] = RulesError(", ".join(sorted(chased[lane])))
    return Settled(
        s.volts, s.drop, s.current, s.closed, s.blown, status, s.solutions, worst, s.power,
        held=held, low=whole.low, high=whole.high, turning=whole.turning, cycles=tuple(cycles),
    )  # fmt: skip


def _first(modules: Modules) -> int:
    """Return the element that stands for all that rules drive."""
    return modules.driven[0].elements[0] if modules.driven else 0


def due(modules: Modules, held: Held, clock: Floats) -> Floats:
    """Return the clock (L,) of the next thing that any module waits for, or a tester ends."""
    found = held.ends(clock)
    for unit, state in zip(modules.units, held.states, strict=True):
        found = np.minimum(found, next_due(unit.behaviour, state, clock))
    return found


def pass_time(
    asked: Asked,
    settled: Settled,
    until: float,
    solve: Solve,
    drain: Callable[[Floats, Settled], Ints],
) -> Settled:
    """Carry modules on to a later clock, each variant from one thing that is due to the next.

    Parameters
    ----------
    asked : Asked
        With the clocks at which it begins.
    settled : Settled
        As all stands then.
    drain : callable
        Told (seconds (L,), settled) of every stretch in which nothing changes; returns the fuses
        (L, F) after it.

    Returns
    -------
    Settled
        Lanes in which more than `MOST_EVENTS` things were due count as oscillating.
    """
    clock, modules = asked.clock.copy(), asked.modules
    lately = defaultdict[int, set[str]](set)
    for left in reversed(range(MOST_EVENTS)):
        comes = due(modules, settled.held, clock)
        then = np.minimum(np.maximum(comes, clock), until) if left else np.full_like(clock, until)
        settled = replace(settled, blown=drain(then - clock, settled))
        clock = then
        rests = np.array([cycle is None for cycle in settled.cycles])
        ready = np.flatnonzero((comes <= then) & rests)  # what never rests is not tried again
        if not len(ready):
            return settled
        if not left:
            break
        before = settled.held.take(ready)
        settled = _settle_some(replace(asked, clock=clock), settled, ready, solve)
        if left <= LAST_ROUNDS:
            _name_changes(lately, ready, modules, before, settled.held.take(ready))
    return _given_up(settled, ready, lately, modules)


def _given_up(settled: Settled, lanes: Ints, lately: Chased, modules: Modules) -> Settled:
    """Return a solution in which lanes oscillate in which something is due without end."""
    status, worst = settled.status.copy(), settled.worst.copy()
    cycles = list(settled.cycles)
    for lane in lanes.tolist():
        if cycles[lane] is None and lately[lane]:
            status[lane], worst[lane] = OSCILLATING, _first(modules)
            cycles[lane] = RulesError(", ".join(sorted(lately[lane])), MOST_EVENTS)
    return replace(settled, status=status, worst=worst, cycles=tuple(cycles))


def _settle_some(asked: Asked, settled: Settled, which: Ints, solve: Solve) -> Settled:
    """Settle some of the lanes anew."""

    def solve_some(
        some: Ints, closed: Ints, blown: Ints, shares: Floats, moved: Moved | None = None
    ) -> Solution:
        return solve(which[some], closed, blown, shares, moved)

    again = settle(
        asked.take(which),
        settled.held.take(which),
        settled.closed[which],
        settled.blown[which],
        solve_some,
    )
    return _joined(settled, which, again)


def _joined(whole: Settled, which: Ints, new: Settled) -> Settled:
    """Return all lanes with some of them carried on."""
    one, two = (Pulsed(s, s.low, s.high, np.abs(s.current), s.turning) for s in (whole, new))
    merged = merged_lanes(one, which, two)
    s, cycles = merged.solution, list(whole.cycles)
    for lane, error in zip(which, new.cycles, strict=True):
        cycles[lane] = error
    return Settled(
        s.volts, s.drop, s.current, s.closed, s.blown, s.status, s.solutions, s.worst, s.power,
        held=whole.held.put(which, new.held), low=merged.low, high=merged.high,
        turning=merged.turning, cycles=tuple(cycles),
    )  # fmt: skip


def stood_long(asked: Asked, held: Held, closed: Ints, blown: Ints, solve: Solve) -> Settled:
    """Return vehicles that have stood like this for a day: whatever waited has happened.

    The clocks of `asked` are those at the end.
    """
    began = replace(asked, clock=asked.clock - STOOD)
    settled = settle(began, held, closed, blown, solve)
    until = float(asked.clock.max())
    return pass_time(began, settled, until, solve, lambda _seconds, now: now.blown)


def solve_standing(
    solver: Solver, modules: Modules, rows: Floats, lanes: Lanes, clock: float = 0.0
) -> Solution:
    """Solve vehicles that have stood like this for long, rules and all.

    Parameters
    ----------
    rows : float array (V, E, 13)
    lanes : Lanes
        Relays and fuses as they stand before.
    """
    if not modules.units:
        return solver.solve(rows, lanes)
    count = len(lanes.variant)
    asked = Asked.of(modules, rows, lanes.variant, np.full(count, clock))
    held = Held.fresh(modules, count)
    return stood_long(
        asked, held, lanes.closed, lanes.blown, solve_lanes(solver.solve, modules, rows, lanes)
    )


def solve_lanes(
    plainly: Callable[[Floats, Lanes], Solution], modules: Modules, rows: Floats, lanes: Lanes
) -> Solve:
    """Return what solves some of the lanes with other relays, fuses and sources.

    `plainly` solves rows and lanes as they are: a solver's own.
    """
    set_by_rules = any(one.source for one in modules.driven)

    def solve(
        which: Ints, closed: Ints, blown: Ints, shares: Floats, moved: Moved | None = None
    ) -> Solution:
        variant, here = lanes.variant[which], rows
        if moved:
            here = moved.rows(with_sources(modules, rows[variant], shares))
            variant = np.arange(len(which))
        elif set_by_rules:
            here, variant = sourced(modules, rows, variant, shares)
        mine = Lanes(variant, lanes.instruments[which], lanes.attached[which], closed, blown)
        return plainly(here, mine)

    return solve
