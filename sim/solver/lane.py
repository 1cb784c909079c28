"""One lane through time, step after step; see `sim.solver.transient` for how long and when.

After each edge, and whenever a relay, a fuse or the key has moved, the next step is short and of
Alexander's method. What goes wrong is a status: a lane that finds no solution, or in which relays
never come to rest, keeps its last readings from there on.
"""

from __future__ import annotations

import math

from sim.compiled import compiled, inlined
from sim.network import Floats, Ints
from sim.solver.leaping import begin_anew, end_lap, take_back
from sim.solver.readout import read_out
from sim.solver.repeating import common_period, differ, keep_step
from sim.solver.stage import (
    DIFFERENCE,
    FIRST,
    ON,
    PEAK,
    POINT,
    RATE,
    SECOND,
    STATE,
    TRAPEZOID,
    D,
    stage,
)
from sim.solver.standing import (
    AFTER,
    BEGUN,
    EDGE,
    EXACT,
    LAP,
    LONGEST,
    MADE,
    MOVED,
    PERIOD,
    SAMPLE,
    SINCE,
    STALE,
    STATUS,
    STEP,
    STEPS,
    TIME,
    TRIED,
    UNTIL,
    Course,
    Work,
    renew,
)
from sim.solver.transient import (
    gate,
    judge,
    next_edge,
    shape_error,
    state_error,
    take_samples,
    too_late,
)
from sim.solver.waveplan import BENT, MOVING, Plan

SOLVED, NOT_CONVERGED, OSCILLATING = 0, 1, 2
FIRST_STEP = 0.1  # of a sample, the step after an event
GRAIN = 0.005  # of a sample, to which relays and fuses are timed
SHORTEST = 1e-8  # of a sample
WINDOW = 2.0  # samples in which changing too often means that nothing comes to rest
SAME = 1e-9  # of a sample, below which two events are one
MOST_GROWTH, WORTH_IT = 4.0, 1.2  # of a step; less is not worth a new matrix
FLIPS = 15  # changes in that window, of which no more belong to one event


@inlined
def predict(kind: int, bent: int, points: Floats, times: Floats, time: float, real: Floats) -> None:
    """Begin Newton where the last two points of each curved branch lead."""
    if kind == FIRST:
        for b in range(bent, points.shape[1]):
            real[POINT, b] = points[1, b]
    elif kind != SECOND:
        newest = 2 if kind == DIFFERENCE else 1
        share = (time - times[newest]) / (times[newest] - times[newest - 1])
        for b in range(bent, points.shape[1]):
            change = points[newest, b] - points[newest - 1, b]
            real[POINT, b] = points[newest, b] + share * change


@inlined
def two_stages(plan: Plan, course: Course, work: Work, first: int) -> bool:
    """Go through both stages of a step; False if one fails. `first` is TRAPEZOID or FIRST."""
    bounds, branches, real = plan.bounds, plan.branches, work.real
    begin, h = work.clock[TIME], work.clock[STEP]
    middle = begin + (2.0 * D if first == TRAPEZOID else D) * h
    fresh = h != work.clock[MADE]
    points, times = work.points, work.times
    for part in range(1, 3):
        kind = first + part - 1
        time = middle if part == 1 else begin + h
        predict(kind, bounds[BENT], points, times, time, real)
        solved = stage(
            plan.start,
            plan.pair_start,
            plan.pair_edge,
            bounds,
            branches,
            work.live,
            work.own,
            work.memory,
            real,
            work.edges,
            work.share,
            kind,
            time,
            D * h,
            fresh,
        )
        if not solved:
            return False
        read_out(
            bounds[MOVING],
            plan.start,
            branches,
            course.outputs,
            work.weight,
            real,
            work.edges[6],
            work.volts,
            work.out[part],
        )
        if part == 1:
            times[2] = time
            for b in range(bounds[BENT], points.shape[1]):
                points[2, b] = real[POINT, b]
    total = 0.0
    for value in work.out[2]:
        total += abs(value)
    return math.isfinite(total)


@inlined
def set_length(course: Course, events: Floats, clock: Floats, tally: Ints) -> float:
    """Set the length of the step to come; return when it has to stop at the latest."""
    stop = (course.samples - 1) * course.step
    if tally[AFTER] < len(events):
        stop = min(stop, events[tally[AFTER]])
    if clock[EDGE] < stop - SAME * course.step:
        stop = clock[EDGE]
    if clock[PERIOD] > 0.0 and clock[LAP] < stop - SAME * course.step:
        stop = clock[LAP]
    room, h = stop - clock[TIME], min(clock[STEP], clock[LONGEST])
    if h >= 0.999 * room:
        h = room
    elif h > 0.5 * room and tally[EXACT] == 0 and tally[BEGUN] == 1:
        h = 0.5 * room
    clock[STEP] = h
    return stop


@inlined
def shorten(course: Course, clock: Floats, tally: Ints, factor: float) -> None:
    """Try again with a shorter step, or give the lane up."""
    clock[STEP] *= factor
    tally[EXACT] = 0
    if clock[STEP] < SHORTEST * course.step:
        tally[STATUS] = NOT_CONVERGED


@inlined
def good_enough(course: Course, work: Work, first: int) -> float:
    """Return the step's error over what is allowed; negative if the step has to be done again."""
    clock, tally = work.clock, work.tally
    h, step = clock[STEP], course.step
    error = state_error(work.moves, work.live[ON], work.memory, h, first)
    if first == TRAPEZOID:
        gap = clock[TIME] - work.times[0]
        count = course.watched
        error = max(error, shape_error(work.out[3], work.out, gap, h, work.top, count))
    if error > 1.0 and h > (10.0 * SHORTEST if first == TRAPEZOID else 1e-3 * FIRST_STEP) * step:
        clock[UNTIL] = clock[TIME] + h
        shorten(course, clock, tally, max(0.2, 0.8 * error ** (-1.0 / 3.0)))
        return -1.0
    return error


@inlined
def growth(error: float) -> float:
    """Return by how much to lengthen a step whose error was this part of what is allowed."""
    factor = min(0.9 * max(error, 1e-6) ** (-1.0 / 3.0), MOST_GROWTH)
    return 1.0 if 1.0 < factor < WORTH_IT else max(factor, 0.3)


@inlined
def go_on(work: Work, time: float) -> None:
    """Let the end of a step be the beginning of the next."""
    memory, out, points, real = work.memory, work.out, work.points, work.real
    for b in range(memory.shape[1]):
        points[0, b] = points[2, b]
        points[1, b] = real[POINT, b]
        for i in range(2):
            memory[STATE, b, i] = memory[STATE + 2, b, i]
            memory[RATE, b, i] = memory[RATE + 2, b, i]
            memory[PEAK, b, i] = max(memory[PEAK, b, i], abs(memory[STATE, b, i]))
    for q in range(out.shape[1]):
        out[3, q] = out[1, q]
        out[0, q] = out[2, q]
        work.top[q] = max(work.top[q], abs(out[0, q]))
    work.times[0], work.times[1] = work.times[2], time
    work.clock[TIME] = time


@inlined
def follow(course: Course, work: Work, flips: int, turned: bool, error: float) -> None:  # noqa: FBT001
    """Set what comes after a step: a longer one, or the first one after an event."""
    clock, tally = work.clock, work.tally
    if clock[TIME] - clock[SINCE] > WINDOW * course.step:
        clock[SINCE], tally[MOVED] = clock[TIME], 0
    tally[MOVED] += flips
    if tally[MOVED] > FLIPS:
        tally[STATUS] = OSCILLATING
    tally[EXACT], tally[BEGUN] = 0, 1
    longer = growth(error)
    clock[STEP] *= min(longer, 1.0) if clock[TIME] < clock[UNTIL] else longer
    if flips > 0 or turned:
        tally[STALE] = 1
    if tally[STALE] == 1 or clock[TIME] >= clock[EDGE] - SAME * course.step:
        clock[STEP], tally[BEGUN] = FIRST_STEP * course.step, 0
        clock[EDGE] = next_edge(work.own, clock[TIME])


@inlined
def one_step(
    plan: Plan,
    course: Course,
    work: Work,
    rows: Floats,
    events: Floats,
    closed: Ints,
    blown: Ints,
    samples: Floats,
) -> None:
    """Make one step, or find that it has to be shorter."""
    row = rows[work.tally[AFTER]]
    clock, tally = work.clock, work.tally
    tally[STEPS] += 1
    stop = set_length(course, events, clock, tally)
    time, h = clock[TIME], clock[STEP]
    if gate(plan.branches, work.own, work.open_, time + 0.5 * h, work.live[ON]):
        clock[MADE] = 0.0
    first = TRAPEZOID if tally[BEGUN] == 1 else FIRST
    solved = two_stages(plan, course, work, first)
    clock[MADE] = h if solved else 0.0
    if not solved:
        shorten(course, clock, tally, 0.2)
        return
    error = good_enough(course, work, first)
    if error < 0.0:
        return
    out, info, outputs, watched = work.out, course.info, course.outputs, course.watched
    part = too_late(watched, outputs, info, row, out, first, closed, blown)
    if part < 1.0 and first == TRAPEZOID and h > GRAIN * course.step:
        clock[STEP], tally[EXACT] = max(part * h, 0.5 * GRAIN * course.step), 1
        return
    tally[SAMPLE] = take_samples(course.step, out, first, time, h, tally[SAMPLE], samples)
    keep_step(work, time, h, first)
    go_on(work, stop if h == stop - time else time + h)
    flips = judge(watched, outputs, info, row, out, closed, blown)
    turned = False
    while tally[AFTER] < len(events) and clock[TIME] >= events[tally[AFTER]]:
        turned = differ(row, rows[tally[AFTER] + 1]) or turned
        tally[AFTER] += 1
    follow(course, work, flips, turned, error)
    if tally[TRIED] == 1 and (tally[STALE] == 1 or tally[STATUS] != SOLVED):
        take_back(work, closed, blown)
    elif (
        clock[PERIOD] > 0.0 and tally[STALE] == 0 and clock[TIME] >= clock[LAP] - SAME * course.step
    ):
        end_lap(plan.branches, course, work, rows, events, closed, blown, samples)


@compiled
def begin_lane(course: Course, work: Work, events: Floats, samples: Floats) -> None:
    """Set the clock, and take the first sample if the event is at the beginning."""
    clock, tally = work.clock, work.tally
    for b in range(work.memory.shape[1]):
        for i in range(2):
            work.memory[PEAK, b, i] = abs(work.memory[STATE, b, i])
    clock[TIME], clock[SINCE], clock[STEP] = course.begin, course.begin, FIRST_STEP * course.step
    clock[UNTIL] = course.begin
    tally[STALE] = 1
    while tally[AFTER] < len(events) and events[tally[AFTER]] <= course.begin:
        tally[AFTER] += 1
    if tally[AFTER] > 0:
        tally[SAMPLE] = 1
        for q in range(course.watched):
            samples[q, 0] = work.out[0, q]


@compiled
def run_lane(
    plan: Plan,
    course: Course,
    work: Work,
    rows: Floats,
    events: Floats,
    closed: Ints,
    blown: Ints,
    samples: Floats,
) -> int:
    """Take one lane from its beginning to its last sample; return its status.

    `rows` (N + 1, E, 13) are those before and after each of N events, `events` their times in s.
    `work` holds the steady state in `out[0]`, `points[1]` and `memory[STATE]`, all else being 0;
    `closed` and `blown` are changed.
    """
    tally = work.tally
    begin_lane(course, work, events, samples)
    most = 200 * (course.samples + int(-course.begin / course.step)) + 100000
    while tally[SAMPLE] < course.samples and tally[STATUS] == SOLVED:
        if tally[STALE] == 1:
            renew(plan, course, work, rows[tally[AFTER]], closed, blown)
            work.clock[PERIOD] = common_period(work.own)
            begin_anew(work)
        one_step(plan, course, work, rows, events, closed, blown, samples)
        if tally[STEPS] > most:
            tally[STATUS] = NOT_CONVERGED
    for q in range(course.watched):
        for k in range(tally[SAMPLE], course.samples):
            samples[q, k] = work.out[0, q]
    return int(tally[STATUS])
