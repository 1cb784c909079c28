"""How long a step may be, and what happens in it: errors, edges, relays, fuses, samples.

The length of a step follows from the error of its states, estimated by the third derivative that
the rates at its three points give (as in Hosea & Shampine), and from how well a parabola through
its three points fits what is read off; samples are taken from that parabola. Steps end exactly at
the edges of gated elements and at the event; where a relay or a fuse reaches its current within a
step, the step is done again up to there.
"""

from __future__ import annotations

import math

from sim.compiled import inlined
from sim.network import Floats, Ints
from sim.solver.advance import LAMP, MOTOR
from sim.solver.stage import (
    AMPLITUDE,
    CAPACITANCE,
    FREQUENCY,
    INDUCTANCE,
    PEAK,
    PHASE,
    RATE,
    SINE,
    STATE,
    SWITCHED,
    TRAPEZOID,
    WAVE,
    D,
)
from sim.solver.waveplan import BESIDE, KIND, LAW

CONTACT, FUSE, COIL = 3, 4, 5
STATE_ERROR = 1e-5  # of a state's peak, that a step may add
SHAPE_ERROR = 5e-4  # of a reading's peak, that the parabola may miss
LEAST = 1e-6  # A or V, states and readings below which count as nothing
PER_PERIOD = 50  # least steps in a period of a sine, and in the whole
NEAR = 1e-4  # of its limit, at which a current has arrived there


@inlined
def next_edge(own: Floats, time: float) -> float:
    """Return when the next gated element opens or closes after `time`, in s; infinite if none."""
    soonest = math.inf
    for b in range(len(own)):
        duty, rate, phase = own[b, AMPLITUDE], own[b, FREQUENCY], own[b, PHASE]
        if own[b, WAVE] != SWITCHED or own[b, 0] == 0.0 or rate <= 0.0 or not 0.0 < duty < 1.0:
            continue
        turns = math.floor(rate * time + phase)
        for count in range(3):
            for half in range(2):
                at = (turns + count + half * duty - phase) / rate
                if time + 1e-9 / rate < at < soonest:
                    soonest = at
    return soonest


@inlined
def gate(branches: Ints, own: Floats, open_: Ints, time: float, on: Ints) -> bool:
    """Set which branches can carry a current at a time; True if one changed.

    `open_` is 1 for open contacts and blown fuses; a capacitance beside them goes on.
    """
    changed = False
    for b in range(branches.shape[1]):
        now = 1 if own[b, 0] > 0.0 else 0
        if branches[KIND, b] != BESIDE:
            if open_[b] == 1:
                now = 0
            if own[b, WAVE] == SWITCHED:
                turns = own[b, FREQUENCY] * time + own[b, PHASE]
                if turns - math.floor(turns) >= own[b, AMPLITUDE]:
                    now = 0
        if on[b] != now:
            on[b] = now
            changed = True
    return changed


@inlined
def longest_step(own: Floats, span: float) -> float:
    """Return the longest step that a span and the sines in circuit allow."""
    longest = span / PER_PERIOD
    for b in range(len(own)):
        alternates = own[b, WAVE] == SINE and own[b, AMPLITUDE] != 0.0
        if alternates and own[b, 0] > 0.0 and own[b, FREQUENCY] > 0.0:
            longest = min(longest, 1.0 / (PER_PERIOD * own[b, FREQUENCY]))
    return longest


@inlined
def find_memories(bent: int, branches: Ints, own: Floats, moves: Ints) -> None:
    """Set which of the memories (B, 2) there are."""
    for b in range(branches.shape[1]):
        coil = own[b, INDUCTANCE] > 0.0
        inert = own[b, CAPACITANCE] > 0.0
        moves[b, 0], moves[b, 1] = 0, 0
        if branches[KIND, b] == BESIDE:
            moves[b, 0] = 1 if inert else 0
        elif b < bent:
            moves[b, 0] = 1 if coil else 0
        elif branches[LAW, b] == MOTOR:
            moves[b, 0] = 1 if coil else 0
            moves[b, 1] = 1 if inert else 0
        elif branches[LAW, b] == LAMP:
            moves[b, 1] = 1 if inert else 0


@inlined
def state_error(moves: Ints, on: Ints, memory: Floats, h: float, kind: int) -> float:
    """Return the step's error over what is allowed, the worst of all states.

    Of the first step after an event, whose beginning has no rates, only how far the rates turn.
    """
    worst, share = 0.0, 2.0 * D
    factor = (3.0 * share * share - 4.0 * share + 2.0) / (6.0 * (2.0 - share)) * h
    for b in range(len(on)):
        for i in range(2):
            if moves[b, i] == 0 or on[b] == 0:
                continue
            middle, end = memory[RATE + 1, b, i], memory[RATE + 2, b, i]
            if kind == TRAPEZOID:
                bend = (end - middle) / (1.0 - share) - (middle - memory[RATE, b, i]) / share
                error = factor * bend
            else:
                error = 0.07 * h * (end - middle) / 20.0
            size = max(memory[PEAK, b, i], abs(memory[STATE + 2, b, i])) + LEAST
            worst = max(worst, abs(error) / (STATE_ERROR * size))
    return worst


@inlined
def shape_error(last: Floats, out: Floats, gap: float, h: float, top: Floats, count: int) -> float:
    """Return by how much the parabola misses over what is allowed, the worst of all readings.

    `last` was read `gap` before the step began; the third difference over it and the step's three
    points, times the most of s (s - 2D) (1 - s), 0.079.
    """
    worst, a = 0.0, 2.0 * D * h
    for q in range(count):
        one = (out[0, q] - last[q]) / gap
        two = (out[1, q] - out[0, q]) / a
        three = (out[2, q] - out[1, q]) / (h - a)
        third = ((three - two) / h - (two - one) / (a + gap)) / (h + gap)
        size = max(top[q], abs(out[2, q]))
        worst = max(worst, abs(0.079 * third * h * h * h) / (SHAPE_ERROR * size + LEAST))
    return worst


@inlined
def parabola(begin: float, middle: float, end: float) -> tuple[float, float]:
    """Return slope and bend of a reading's parabola through 0, 2D and 1 of a step."""
    slope = (middle - begin) / (2.0 * D)
    return slope, (end - middle) / (1.0 - 2.0 * D) - slope


@inlined
def within(part: float, kind: int, begin: float, middle: float, end: float) -> float:
    """Return a reading at a part of a step: on the parabola through 0, 2D and 1.

    The first step after an event jumps at its beginning; from D on it is a straight line.
    """
    if kind == TRAPEZOID:
        slope, bend = parabola(begin, middle, end)
        return begin + part * (slope + (part - 2.0 * D) * bend)
    if part <= D:
        return middle
    return middle + (end - middle) * (part - D) / (1.0 - D)


@inlined
def take_samples(
    step: float, out: Floats, kind: int, time: float, h: float, sample: int, samples: Floats
) -> int:
    """Write the samples that lie within a step; return the number of the next one."""
    last: int = min(math.floor((time + h) / step + 1e-9) + 1, samples.shape[1])
    for q in range(len(samples)):
        begin, middle, end = out[0, q], out[1, q], out[2, q]
        if kind != TRAPEZOID:
            for k in range(sample, last):
                samples[q, k] = within(min((k * step - time) / h, 1.0), kind, begin, middle, end)
            continue
        slope, bend = parabola(begin, middle, end)
        for k in range(sample, last):
            part = min((k * step - time) / h, 1.0)
            samples[q, k] = begin + part * (slope + (part - 2.0 * D) * bend)
    return max(sample, last)


@inlined
def crossing(out: Floats, q: int, kind: int, limit: float, rising: bool) -> float:  # noqa: FBT001
    """Return the part of a step after which |reading| has passed a limit, a little beyond it."""
    aim = limit * (1.0 + 0.2 * NEAR) if rising else limit * (1.0 - 0.2 * NEAR)
    low, high = 0.0, 1.0
    for _ in range(40):
        part = 0.5 * (low + high)
        value = abs(within(part, kind, out[0, q], out[1, q], out[2, q]))
        if (value > aim) == rising:
            high = part
        else:
            low = part
    return high


@inlined
def too_late(
    watched: int,
    outputs: Ints,
    info: Ints,
    row: Floats,
    out: Floats,
    kind: int,
    closed: Ints,
    blown: Ints,
) -> float:
    """Return the part of the step after which a relay or fuse should have moved; 1 if in time.

    `info` holds law, relay and fuse of each element.
    """
    part = 1.0
    for q in range(watched, outputs.shape[1]):
        n, amps = outputs[1, q], abs(out[2, q])
        if row[n, 0] == 0.0:
            continue
        limit, rising = row[n, 2], True
        if info[0, n] == COIL and closed[info[1, n]] == 1:
            limit, rising = row[n, 3], False
        elif info[0, n] == FUSE and blown[info[2, n]] == 1:
            continue
        if (rising and amps > limit * (1.0 + NEAR)) or (not rising and amps < limit * (1.0 - NEAR)):
            part = min(part, crossing(out, q, kind, limit, rising))
    return part


@inlined
def judge(
    watched: int, outputs: Ints, info: Ints, row: Floats, out: Floats, closed: Ints, blown: Ints
) -> int:
    """Let relays follow their currents, and else the fuse furthest above its limit; count them."""
    changed, worst, worst_ratio = 0, -1, 1.0
    for q in range(watched, outputs.shape[1]):
        n, amps = outputs[1, q], abs(out[2, q])
        relay, fuse = info[1, n], info[2, n]
        if info[0, n] == COIL:
            if closed[relay] == 0 and amps >= row[n, 2]:
                closed[relay] = 1
                changed += 1
            elif closed[relay] == 1 and amps <= row[n, 3]:
                closed[relay] = 0
                changed += 1
        elif row[n, 0] > 0.0 and blown[fuse] == 0 and amps / row[n, 2] > worst_ratio:
            worst, worst_ratio = n, amps / row[n, 2]
    if changed == 0 and worst >= 0:
        blown[info[2, worst]] = 1
        return 1
    return changed
