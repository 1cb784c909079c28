"""Compiled: a lane that repeats itself, round after round, is not run again.

Where everything that swings comes back after a common period, and a whole round of it has ended in
the states it began with, what follows is that round over and over: its steps are read again at
the samples of as many whole rounds as there are up to the next event, and the clock goes on by
as much. Rounds begin after an event, end exactly a period later, and count only where no relay,
fuse, key or row has moved within. So what remains to be run is the way there, one round, and the
rest of one.

A state has come back where it differs by no more than `COMES_BACK` of its swing within the round
(or `NOTHING` of its peak, where it hardly swings), so that what still drifts drifts by less than
its swing in ten thousand rounds. What swings widely within a round forgets within a few; there it
is the noise of steps, each of which may err by `sim.solver.transient.STATE_ERROR`. Measured against
the same circuits run to their end: ten seconds at 1 kHz into a lamp are off by 1e-5 of the peak at
most, twenty at 100 Hz into a motor by 4e-5.

A filament that hardly swings and still warms up keeps its vehicle from being left out for seconds:
beside a turning alternator the charge lamp does.
"""

from __future__ import annotations

import math

from sim.compiled import compiled, inlined
from sim.network import Floats, Ints
from sim.solver.stage import AMPLITUDE, FREQUENCY, PEAK, SINE, STATE, SWITCHED, WAVE
from sim.solver.standing import AFTER, EDGE, LAP, LAPPED, PERIOD, SAMPLE, TIME, Course, Work
from sim.solver.transient import LEAST, next_edge, within

COMES_BACK = 1e-4  # of a state's swing within a round; ours
NOTHING = 1e-8  # of its peak; ours
WHOLE = 1e-12  # by which one frequency may miss a multiple of another; ours
SAME = 1e-9  # of a sample, below which two times are one; ours
EARLY = 1e-6  # of a round, by which the last one may miss the end; ours
ROOM = 4000  # steps of a round that are kept; ours
BEGINS, LASTS, METHOD, READ = 0, 1, 2, 3  # in a kept step: s, s, its kind, readings of three points
BEGUN_WITH, LEAST_OF, MOST_OF = 0, 1, 2  # in `lap`, of each state


@compiled
def common_period(own: Floats) -> float:
    """Return after how many s all that swings comes back; 0 if nothing swings, or not together."""
    slowest = math.inf
    for part in range(2):
        for b in range(len(own)):
            wave, swing, rate = own[b, WAVE], own[b, AMPLITUDE], own[b, FREQUENCY]
            alternates = wave == SINE and swing != 0.0
            switched = wave == SWITCHED and 0.0 < swing < 1.0
            if own[b, 0] == 0.0 or rate <= 0.0 or not (alternates or switched):
                continue
            if part == 0:
                slowest = min(slowest, rate)
            elif abs(rate / slowest - round(rate / slowest)) > WHOLE * rate / slowest:
                return 0.0
    return 1.0 / slowest if slowest < math.inf else 0.0


@inlined
def begin_lap(work: Work) -> None:
    """Begin a round where the clock stands."""
    for b in range(work.memory.shape[1]):
        for i in range(2):
            for k in range(3):
                work.lap[k, b, i] = work.memory[STATE, b, i]
    work.clock[LAP] = work.clock[TIME] + work.clock[PERIOD]
    work.tally[LAPPED] = 0


@inlined
def keep_step(course: Course, work: Work, begin: float, h: float, kind: int) -> None:
    """Keep a step of this round, as far as there is room; read it before the next begins."""
    if work.clock[PERIOD] == 0.0:
        return
    k, lap = work.tally[LAPPED], work.lap
    work.tally[LAPPED] += 1
    for b in range(lap.shape[1]):
        for i in range(2):
            state = work.memory[STATE + 2, b, i]
            lap[LEAST_OF, b, i] = min(lap[LEAST_OF, b, i], state)
            lap[MOST_OF, b, i] = max(lap[MOST_OF, b, i], state)
    if k >= len(work.steps):
        return
    step = work.steps[k]
    step[BEGINS], step[LASTS], step[METHOD] = begin, h, kind
    for point in range(3):
        for q in range(course.watched):
            step[READ + point * course.watched + q] = work.out[point, q]


@compiled
def comes_back(moves: Ints, memory: Floats, lap: Floats) -> bool:
    """Tell whether all states are what they were when this round began."""
    for b in range(len(moves)):
        for i in range(2):
            change = abs(memory[STATE, b, i] - lap[BEGUN_WITH, b, i])
            swing = lap[MOST_OF, b, i] - lap[LEAST_OF, b, i]
            nothing = NOTHING * (memory[PEAK, b, i] + LEAST)
            if moves[b, i] == 1 and change > max(COMES_BACK * swing, nothing):
                return False
    return True


@compiled
def read_again(course: Course, work: Work, last: int, samples: Floats) -> None:
    """Write the samples up to `last` from the steps of the round that ends now."""
    time, period, watched, at = work.clock[TIME], work.clock[PERIOD], course.watched, 0
    same = SAME * course.step  # s, by which a sample at the end of a step may miss it
    for k in range(work.tally[SAMPLE], last):
        since = k * course.step - time
        when = time + since - math.ceil((since - same) / period) * period
        if when <= work.steps[at, BEGINS] + same:
            at = 0
        while at < work.tally[LAPPED] - 1 and when > work.steps[at + 1, BEGINS] + same:
            at += 1
        step = work.steps[at]
        part = min(max((when - step[BEGINS]) / step[LASTS], 0.0), 1.0)
        for q in range(watched):
            begin, middle, end = (
                step[READ + q],
                step[READ + watched + q],
                step[READ + 2 * watched + q],
            )
            samples[q, k] = within(part, int(step[METHOD]), begin, middle, end)


@compiled
def differ(one: Floats, other: Floats) -> bool:
    """Tell whether two phases have different rows."""
    for n in range(len(one)):
        for column in range(one.shape[1]):
            if one[n, column] != other[n, column]:
                return True
    return False


@compiled
def next_change(course: Course, after: int, rows: Floats, events: Floats) -> float:
    """Return when rows change next, in s; infinite if they do not before the last sample."""
    for k in range(after, len(events)):
        if events[k] < (course.samples - 1) * course.step and differ(rows[k], rows[k + 1]):
            return float(events[k])
    return math.inf


@compiled
def end_lap(course: Course, work: Work, rows: Floats, events: Floats, samples: Floats) -> None:
    """End a round; if it has come back, go on by whole ones to before the next change or the end.

    To the end there may be one more, of which only the samples up to the last are read.
    """
    clock, tally = work.clock, work.tally
    period, end = clock[PERIOD], (course.samples - 1) * course.step
    kept = 0 < tally[LAPPED] <= len(work.steps)
    if kept and comes_back(work.moves, work.memory, work.lap):
        change = next_change(course, tally[AFTER], rows, events)
        rounds = math.ceil((min(change, end) - clock[TIME]) / period - EARLY)
        ahead = (rounds - 1 if change < math.inf else rounds) * period
        reached = math.floor((clock[TIME] + ahead) / course.step + SAME) + 1
        last: int = max(tally[SAMPLE], min(reached, samples.shape[1]))
        read_again(course, work, last, samples)
        tally[SAMPLE] = last
        clock[TIME] += ahead
        for k in range(len(work.times)):
            work.times[k] += ahead
        while tally[AFTER] < len(events) and events[tally[AFTER]] <= clock[TIME]:
            tally[AFTER] += 1
        clock[EDGE] = next_edge(work.own, clock[TIME])
    begin_lap(work)
