"""One lane through time: steps of the right length, events at their time, samples.

The length of a step follows from the error of its states, estimated by the third derivative that
the rates at its three points give, and from how well a parabola through its three points fits what
is read off; samples are taken from that parabola. Steps end exactly at the edges of gated
elements and at the event; where a relay or a fuse reaches its current within a step, the step is
done again up to there. After each of these the next step is short and of Alexander's method.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.readout import Outputs, read_out, weigh
from sim.solver.stage import (
    AMPLITUDE,
    BESIDE,
    CAPACITANCE,
    DIFFERENCE,
    FIRST,
    FREQUENCY,
    INDUCTANCE,
    PHASE,
    SECOND,
    SINE,
    SWITCHED,
    TRAPEZOID,
    WAVE,
    D,
    Work,
    gate,
    put_still,
    stage,
)
from sim.solver.stepping import CONTACT, FUSE
from sim.solver.waveplan import Plan

SOLVED, NOT_CONVERGED, OSCILLATING = 0, 1, 2
COIL = 5
STATE_ERROR = 5e-5  # of a state's peak, that a step may add
SHAPE_ERROR = 5e-4  # of a reading's peak, that the parabola may miss
LEAST = 1e-6  # A or V, states and readings below which count as nothing
FIRST_STEP = 0.1  # of a sample, the step after an event
GRAIN = 0.02  # of a sample, to which relays and fuses are timed
SHORTEST = 1e-8  # of a sample
PER_PERIOD = 50  # least steps in a period of a sine
NEAR = 1e-3  # of its limit, at which a current has arrived there
WINDOW = 2.0  # samples in which changing too often means that nothing comes to rest
FLIPS = 15  # changes in that window, of which no more belong to one event


class Course(NamedTuple):
    """What a lane goes through.

    Attributes
    ----------
    step, begin, samples : float, float, int
        Time between samples, begin (negative: ahead of the event), number of samples.
    lead, leak : float
        Conductances in S.
    leaky : int array (M,)
        1 for places in the order that leak to the body.
    laws, relays, fuses : int arrays (E,)
    watched : int
        How many of the outputs are sampled; the others, currents of coils and fuses, are judged.
    """

    step: float
    begin: float
    samples: int
    lead: float
    leak: float
    leaky: Ints
    laws: Ints
    relays: Ints
    fuses: Ints
    watched: int


@compiled
def set_shut(course: Course, row: Floats, closed: Ints, blown: Ints, shut: Ints) -> None:
    """Set which contacts are closed and which fuses are whole."""
    for n in range(len(shut)):
        if course.laws[n] == CONTACT:
            stuck = row[n, 3]
            drawn = (closed[course.relays[n]] == 1) != (row[n, 2] == 1.0)
            shut[n] = 1 if stuck == 1.0 or (drawn and stuck == 0.0) else 0
        elif course.laws[n] == FUSE:
            shut[n] = 1 - blown[course.fuses[n]]


@compiled
def next_edge(plan: Plan, row: Floats, time: float) -> float:
    """Return when the next gated element opens or closes after `time`, in s; infinite if none."""
    soonest = math.inf
    for b in range(len(plan.element)):
        n = plan.element[b]
        duty, rate, phase = row[n, AMPLITUDE], row[n, FREQUENCY], row[n, PHASE]
        if row[n, WAVE] != SWITCHED or row[n, 0] == 0.0 or rate <= 0.0:
            continue
        if duty <= 0.0 or duty >= 1.0:
            continue
        turns = math.floor(rate * time + phase)
        for count in range(3):
            for share in (0.0, duty):
                at = (turns + count + share - phase) / rate
                if time + 1e-9 / rate < at < soonest:
                    soonest = at
    return soonest


@compiled
def longest_step(plan: Plan, row: Floats, span: float) -> float:
    """Return the longest step that a span and the sines in it allow."""
    longest = span / PER_PERIOD
    for n in plan.element:
        if row[n, WAVE] == SINE and row[n, AMPLITUDE] != 0.0 and row[n, FREQUENCY] > 0.0:
            longest = min(longest, 1.0 / (PER_PERIOD * row[n, FREQUENCY]))
    return longest


@compiled
def state_error(plan: Plan, w: Work, laws: Ints, row: Floats, h: float, peak: Floats) -> float:
    """Return the step's error over what is allowed, the worst of all states."""
    worst, share = 0.0, 2.0 * D
    factor = (3.0 * share * share - 4.0 * share + 2.0) / (6.0 * (2.0 - share)) * h
    for b in range(len(plan.element)):
        n = plan.element[b]
        if w.on[b] == 0:
            continue
        for which in range(2):
            if plan.kind[b] == BESIDE or which == 1:
                moves = row[n, CAPACITANCE] > 0.0
            else:
                moves = row[n, INDUCTANCE] > 0.0
            if not moves or (which == 1 and b < plan.curved):
                continue
            one, two, three = w.rate[0, b, which], w.rate[1, b, which], w.rate[2, b, which]
            bend = (three - two) / (1.0 - share) - (two - one) / share
            size = max(peak[b, which], abs(w.state[2, b, which]))
            worst = max(worst, abs(factor * bend) / (STATE_ERROR * size + LEAST * STATE_ERROR))
    return worst


@compiled
def first_error(plan: Plan, w: Work, row: Floats, h: float, peak: Floats) -> float:
    """Return how far the rates turn within the first step after an event, as `state_error`."""
    worst = 0.0
    for b in range(len(plan.element)):
        n = plan.element[b]
        for which in range(2):
            if plan.kind[b] == BESIDE or which == 1:
                moves = row[n, CAPACITANCE] > 0.0
            else:
                moves = row[n, INDUCTANCE] > 0.0
            if w.on[b] == 0 or not moves or (which == 1 and b < plan.curved):
                continue
            turn = 0.07 * h * (w.rate[2, b, which] - w.rate[1, b, which])
            size = max(peak[b, which], abs(w.state[2, b, which]))
            worst = max(worst, abs(turn) / (20.0 * STATE_ERROR * (size + LEAST)))
    return worst


@compiled
def shape_error(
    last: Floats, out: Floats, gap: float, h: float, top: Floats, count: int
) -> float:
    """Return by how much the parabola misses over what is allowed, the worst of all readings.

    `last` was read `gap` before the step began; the third difference over it and the step's three
    points, times the most of s (s - 2D) (1 - s), 0.079.
    """
    worst = 0.0
    a, b = 2.0 * D * h, h
    for q in range(count):
        one = (out[0, q] - last[q]) / gap
        two = (out[1, q] - out[0, q]) / a
        three = (out[2, q] - out[1, q]) / (b - a)
        third = ((three - two) / b - (two - one) / (a + gap)) / (b + gap)
        size = max(top[q], abs(out[2, q]))
        worst = max(worst, abs(0.079 * third * h * h * h) / (SHAPE_ERROR * size + LEAST))
    return worst


@compiled
def parabola(share: float, zero: float, middle: float, end: float) -> float:
    """Return the parabola through values at 0, 2D and 1 of a step, at a share of it."""
    m = 2.0 * D
    slope = (middle - zero) / m
    bend = ((end - middle) / (1.0 - m) - slope) / 1.0
    return zero + share * slope + share * (share - m) * bend


@compiled
def at_share(share: float, out: Floats, q: int, kind: int) -> float:
    """Return a reading within a step; the first after an event jumps at its beginning."""
    if kind == TRAPEZOID:
        return parabola(share, out[0, q], out[1, q], out[2, q])
    if share <= D:
        return float(out[1, q])
    return float(out[1, q] + (out[2, q] - out[1, q]) * (share - D) / (1.0 - D))


@compiled
def crossing(out: Floats, q: int, kind: int, limit: float, rising: bool) -> float:  # noqa: FBT001
    """Return the share of a step at which |reading| passes a limit, a little beyond it."""
    aim = limit * (1.0 + 0.2 * NEAR) if rising else limit * (1.0 - 0.2 * NEAR)
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        value = abs(at_share(middle, out, q, kind))
        if (value > aim) == rising:
            high = middle
        else:
            low = middle
    return high


@compiled
def too_late(
    course: Course,
    row: Floats,
    outputs: Outputs,
    out: Floats,
    kind: int,
    closed: Ints,
    blown: Ints,
) -> float:
    """Return the share of the step after which a relay or fuse should have moved; 1 if in time."""
    share = 1.0
    for q in range(course.watched, len(outputs.kind)):
        n = outputs.which[q]
        amps = abs(out[2, q])
        if row[n, 0] == 0.0:
            continue
        if course.laws[n] == COIL:
            if closed[course.relays[n]] == 1 and amps < row[n, 3] * (1.0 - NEAR):
                share = min(share, crossing(out, q, kind, row[n, 3], False))
            elif closed[course.relays[n]] == 0 and amps > row[n, 2] * (1.0 + NEAR):
                share = min(share, crossing(out, q, kind, row[n, 2], True))
        elif blown[course.fuses[n]] == 0 and amps > row[n, 2] * (1.0 + NEAR):
            share = min(share, crossing(out, q, kind, row[n, 2], True))
    return share


@compiled
def judge(
    course: Course, row: Floats, outputs: Outputs, out: Floats, closed: Ints, blown: Ints
) -> int:
    """Let relays follow their currents, and else the fuse furthest above its limit; count them."""
    changed, worst, worst_ratio = 0, -1, 1.0
    for q in range(course.watched, len(outputs.kind)):
        n = outputs.which[q]
        amps = abs(out[2, q])
        if course.laws[n] == COIL:
            relay = course.relays[n]
            if closed[relay] == 0 and amps >= row[n, 2]:
                closed[relay] = 1
                changed += 1
            elif closed[relay] == 1 and amps <= row[n, 3]:
                closed[relay] = 0
                changed += 1
        elif row[n, 0] > 0.0 and blown[course.fuses[n]] == 0 and amps / row[n, 2] > worst_ratio:
            worst, worst_ratio = n, amps / row[n, 2]
    if changed == 0 and worst >= 0:
        blown[course.fuses[worst]] = 1
        return 1
    return changed


