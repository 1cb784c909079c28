"""Compiled: a lane that repeats itself, round after round, is not run again.

Where everything that swings comes back after a common period, and a whole round of it has ended in
the states it began with, what follows is that round over and over: its steps are read again at
the samples of as many whole rounds as there are up to the next event, and the clock goes on by
as much. Rounds begin after an event, end exactly a period later, and count only where no relay,
fuse, key or row has moved within. So what remains to be run is the way there, one round, and the
rest of one.

What says that a round has come back, and what becomes of that which only drifts, is
`sim.solver.leaping`'s.
"""

from __future__ import annotations

import math

from sim.compiled import compiled, inlined
from sim.network import Floats
from sim.solver.stage import AMPLITUDE, FREQUENCY, SINE, STATE, SWITCHED, WAVE
from sim.solver.standing import LAP, LAPPED, PERIOD, SAMPLE, TIME, Course, Work
from sim.solver.transient import within

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


@compiled
def begin_lap(work: Work) -> None:
    """Begin a round where the clock stands."""
    for b in range(work.memory.shape[1]):
        for i in range(2):
            for k in range(3):
                work.lap[k, b, i] = work.memory[STATE, b, i]
    work.clock[LAP] = work.clock[TIME] + work.clock[PERIOD]
    work.tally[LAPPED] = 0


@inlined
def keep_step(work: Work, begin: float, h: float, kind: int) -> None:
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
    count = work.out.shape[1]
    for point in range(3):
        for q in range(count):
            step[READ + point * count + q] = work.out[point, q]


@inlined
def read_step(step: Floats, count: int, q: int, when: float) -> float:
    """Return one of so many readings at a time within a kept step."""
    part = min(max((when - step[BEGINS]) / step[LASTS], 0.0), 1.0)
    begin, middle, end = step[READ + q], step[READ + count + q], step[READ + 2 * count + q]
    return within(part, int(step[METHOD]), begin, middle, end)


@compiled
def read_again(course: Course, work: Work, last: int, samples: Floats) -> None:
    """Write the samples up to `last` from the steps of the round that ends now."""
    time, period, at = work.clock[TIME], work.clock[PERIOD], 0
    same = SAME * course.step  # s, by which a sample at the end of a step may miss it
    for k in range(work.tally[SAMPLE], last):
        since = k * course.step - time
        when = time + since - math.ceil((since - same) / period) * period
        if when <= work.steps[at, BEGINS] + same:
            at = 0
        while at < work.tally[LAPPED] - 1 and when > work.steps[at + 1, BEGINS] + same:
            at += 1
        for q in range(course.watched):
            samples[q, k] = read_step(work.steps[at], work.out.shape[1], q, when)


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
