"""One lane through time, step after step; see `sim.solver.transient` for how long and when.

What goes wrong is a status: a lane that finds no solution, or in which relays never come to rest,
keeps its last readings from there on.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.readout import Outputs, read_out, weigh
from sim.solver.stage import (
    DIFFERENCE,
    FIRST,
    SECOND,
    TRAPEZOID,
    D,
    Work,
    gate,
    put_still,
    stage,
)
from sim.solver.transient import (
    FIRST_STEP,
    GRAIN,
    NOT_CONVERGED,
    OSCILLATING,
    SHORTEST,
    FLIPS,
    SOLVED,
    WINDOW,
    Course,
    at_share,
    first_error,
    judge,
    longest_step,
    next_edge,
    set_shut,
    shape_error,
    state_error,
    too_late,
)
from sim.solver.waveplan import Plan


@compiled
def predict(plan: Plan, w: Work, points: Floats, times: Floats, newest: int, time: float) -> None:
    """Begin Newton where the last two points of each curved branch lead."""
    share = (time - times[newest]) / (times[newest] - times[newest - 1])
    for b in range(plan.curved, len(plan.element)):
        w.point[b] = points[newest, b] + share * (points[newest, b] - points[newest - 1, b])


@compiled
def two_stages(
    plan: Plan,
    w: Work,
    laws: Ints,
    row: Floats,
    outputs: Outputs,
    out: Floats,
    kind: int,
    time: float,
    h: float,
    fresh: bool,  # noqa: FBT001 -- compiled code takes what it is given
    points: Floats,
    times: Floats,
) -> bool:
    """Go through both stages of a step, TR-BDF2 or (FIRST) Alexander's; False if one fails.

    `points` and `times` are of curved branches: the middle of the last step, its end, this middle.
    """
    if kind == TRAPEZOID:
        second, middle = DIFFERENCE, time + 2.0 * D * h
        predict(plan, w, points, times, 1, middle)
    else:
        second, middle = SECOND, time + D * h
        w.point[:] = points[1]
    if not stage(plan, w, laws, row, kind, time, h, fresh):
        return False
    read_out(plan, w, outputs, out[1])
    points[2] = w.point
    times[2] = middle
    if kind == TRAPEZOID:
        predict(plan, w, points, times, 2, time + h)
    if not stage(plan, w, laws, row, second, time, h, False):
        return False
    read_out(plan, w, outputs, out[2])
    total = 0.0
    for value in out[2]:
        total += abs(value)
    return math.isfinite(total)


@compiled
def take_samples(
    course: Course, out: Floats, kind: int, time: float, h: float, sample: int, samples: Floats
) -> int:
    """Write the samples that lie within a step; return the number of the next one."""
    while sample < course.samples and sample * course.step <= time + h + 1e-9 * course.step:
        share = min(max((sample * course.step - time) / h, 0.0), 1.0)
        for q in range(course.watched):
            samples[q, sample] = at_share(share, out, q, kind)
        sample += 1
    return sample


@compiled
def accept(
    plan: Plan,
    w: Work,
    out: Floats,
    last: Floats,
    points: Floats,
    times: Floats,
    time: float,
    peak: Floats,
    top: Floats,
) -> None:
    """Let the end of a step be the beginning of the next."""
    last[:] = out[1]
    out[0] = out[2]
    points[0] = points[2]
    points[1] = w.point
    times[0], times[1] = times[2], time
    for b in range(len(plan.element)):
        for which in range(2):
            w.state[0, b, which] = w.state[2, b, which]
            w.rate[0, b, which] = w.rate[2, b, which]
            peak[b, which] = max(peak[b, which], abs(w.state[2, b, which]))
    for q in range(len(top)):
        top[q] = max(top[q], abs(out[2, q]))


@compiled
def growth(error: float) -> float:
    """Return by how much to lengthen a step whose error was this share of what is allowed."""
    if error <= 0.01:  # noqa: PLR2004 -- what gives 4 below
        return 4.0
    factor = 0.9 * error ** (-1.0 / 3.0)
    return 1.0 if 1.0 < factor < 1.2 else max(factor, 0.3)  # noqa: PLR2004 -- not worth a new matrix


@compiled
def fitted(h: float, room: float) -> float:
    """Return the step, stretched or halved so that no sliver is left before a stop."""
    if h >= 0.999 * room:  # noqa: PLR2004
        return room
    return 0.5 * room if h > 0.5 * room else h  # noqa: PLR2004


@compiled
def run_lane(
    plan: Plan,
    w: Work,
    course: Course,
    outputs: Outputs,
    before: Floats,
    after: Floats,
    closed: Ints,
    blown: Ints,
    out: Floats,
    points: Floats,
    samples: Floats,
) -> tuple[int, int]:
    """Take one lane from its beginning to its last sample; return (status, steps made).

    `out[0]`, `points[1]` and `w.state[0]` hold the steady state; `closed`, `blown` are changed.
    """
    laws, step = course.laws, course.step
    peak, top = np.abs(w.state[0]), np.abs(out[0])
    last, times = np.zeros(len(top)), np.zeros(3)
    shut, none = np.ones(len(laws), dtype=np.int64), np.zeros(len(w.d))
    time, end = course.begin, (course.samples - 1) * step
    row = before if time < 0.0 else after
    switched = not np.array_equal(before, after)
    sample = 0
    if time == 0.0:
        samples[:, 0] = out[0, : course.watched]
        sample = 1
    first, status = FIRST_STEP * step, SOLVED
    h, made_for, still, begun, exact = first, 0.0, True, False, False
    edge, longest = next_edge(plan, row, time), longest_step(plan, row, end - time)
    since, moved, steps = time, 0, 0
    most = 200 * (course.samples + int(-time / step)) + 100000
    while sample < course.samples:
        steps += 1
        if still:
            set_shut(course, row, closed, blown, shut)
            put_still(plan, w, laws, row, shut, course.lead, course.leak, course.leaky)
            weigh(plan, w, outputs, laws, row, shut, none)
            still, made_for = False, 0.0
        stop = min(edge, 0.0 if time < 0.0 else end)
        room = stop - time
        h = min(h, longest, room) if exact or not begun else fitted(min(h, longest), room)
        if gate(plan, laws, row, shut, time + 0.5 * h, w.on):
            made_for = 0.0
        kind = TRAPEZOID if begun else FIRST
        solved = two_stages(
            plan, w, laws, row, outputs, out, kind, time, h, h != made_for, points, times
        )
        made_for = h
        if not solved or steps > most:
            h *= 0.2
            made_for = 0.0
            if h < SHORTEST * step or steps > most:
                status = NOT_CONVERGED
                break
            continue
        if begun:
            error = state_error(plan, w, laws, row, h, peak)
            gap = time - times[0]
            error = max(error, shape_error(last, out, gap, h, top, course.watched))
        else:
            error = first_error(plan, w, row, h, peak)
        if error > 1.0 and h > (SHORTEST * step if begun else 1e-3 * first):
            h *= max(0.2, 0.8 * error ** (-1.0 / 3.0)) if begun else 0.25
            exact = False
            continue
        late = too_late(course, row, outputs, out, kind, closed, blown)
        if late < 1.0 and begun and h > GRAIN * step:
            h, exact = max(late * h, 0.5 * GRAIN * step), True
            continue
        sample = take_samples(course, out, kind, time, h, sample, samples)
        time = stop if h == room else time + h
        accept(plan, w, out, last, points, times, time, peak, top)
        flips = judge(course, row, outputs, out, closed, blown)
        if time - since > WINDOW * step:
            since, moved = time, 0
        moved += flips
        if moved > FLIPS:
            status = OSCILLATING
            break
        h *= growth(error)
        exact, begun = False, True
        if switched and time == 0.0:
            row, still, switched = after, True, False
            edge = time
        if flips > 0 or time >= edge:
            h, begun, still = first, False, still or flips > 0
            edge, longest = next_edge(plan, row, time), longest_step(plan, row, end - time)
    for k in range(sample, course.samples):
        samples[:, k] = out[0, : course.watched]
    return status, steps
