"""Compiled: what happens at the end of a round: it is run again, or read again, or left out.

A state has come back where it differs by no more than `COMES_BACK` of its swing within the round
(or `NOTHING` of its peak, where it hardly swings), so that what still drifts drifts by less than
its swing in ten thousand rounds. What swings widely within a round forgets within a few; there it
is the noise of steps, each of which may err by `sim.solver.transient.STATE_ERROR`. Measured against
the same circuits run to their end: ten seconds at 1 kHz into a lamp are off by 1e-5 of the peak at
most, twenty at 100 Hz into a motor by 4e-5. Where all has come back the round stands for all that
follow (`sim.solver.repeating`).

Filaments and motors hardly swing, but their own law says where they drift (`sim.solver.drifting`).
They have come back where what is left of their way is `RESTS` of their peak. Else:

- *Ahead of the screen* all has long stood: they are put to rest at once, where a round changes them
  no more. The voltage that drives them moves along, behind a poor contact by much; from the second
  time on the way to rest is the one on which their change becomes zero (the secant method, each
  state by itself, as in shooting for a periodic state: Aprille & Trick, Proc. IEEE 60(1), 1972).
- *On the screen* they are led on to the last round before the next change, on trial: that round is
  run, and if it shows what the last one showed, so did all between; if not, all is taken back. A
  lamp that has gone out cools for seconds and shows nothing of it.
"""

from __future__ import annotations

import math

from sim.compiled import Number, compiled, inlined
from sim.network import CONDUCTANCE, Floats, Ints
from sim.solver.drifting import held_volts, led_on, rest, returning
from sim.solver.repeating import (
    BEGINS,
    BEGUN_WITH,
    EARLY,
    LASTS,
    LEAST_OF,
    METHOD,
    MOST_OF,
    READ,
    SAME,
    begin_lap,
    next_change,
    read_again,
    read_step,
)
from sim.solver.stage import PEAK, STATE, TRAPEZOID, D
from sim.solver.standing import (
    AFTER,
    EDGE,
    FAILED,
    LAPPED,
    LAPS,
    MADE,
    PERIOD,
    SAMPLE,
    SHOTS,
    STEPS,
    TIME,
    TRIED,
    UNTIL,
    Course,
    Work,
)
from sim.solver.transient import LEAST, SHAPE_ERROR, next_edge
from sim.solver.waveplan import LAW

COMES_BACK = 1e-4  # of a state's swing within a round; ours
NOTHING = 1e-8  # of its peak; ours
RESTS = 2e-5  # of its peak, by which a filament or a motor may miss where it drifts; ours
NEARLY = 1e-2  # of a state's swing, by which rounds differ that tell where others drift; ours
HARDLY = 1e-3  # of its peak, the same
QUICK = 0.5  # of its way to rest in a round; what goes more repeats or does not; ours
MOST_SHOTS = 8  # ours
FARTHEST = 30.0  # times the way that the law alone would go; ours
TURNED = 0.1  # of a change, what another is not sure to differ by; ours
STOOD, CHANGED = 3, 4  # in `lap`, of each state that drifts
WORTH_IT = 3  # rounds, fewer of which are run; ours
MOST_TRIALS, SHORTER = 2, 4  # until the next event; how many times shorter the second is; ours
SHOWS = 2.0 * SHAPE_ERROR  # of a reading's peak, by which two rounds may differ that show the same


@compiled
def begin_anew(work: Work) -> None:
    """Begin the first round after an event."""
    for b in range(work.lap.shape[1]):
        work.lap[CHANGED, b, 1] = math.inf
    work.tally[LAPS], work.tally[TRIED], work.tally[FAILED] = 0, 0, 0
    begin_lap(work)


@inlined
def changed(work: Work, b: int, i: int) -> float:
    """Return by how much a state has changed in this round."""
    return float(work.memory[STATE, b, i] - work.lap[BEGUN_WITH, b, i])


@compiled
def driven(branches: Ints, work: Work, b: int) -> float:
    """Return the voltage that has driven a filament or a motor in this round."""
    state, period = work.memory[STATE, b, 1], work.clock[PERIOD]
    return float(held_volts(branches[LAW, b], work.own[b], state, changed(work, b, 1), period))


@compiled
def drifts(branches: Ints, work: Work, b: int) -> bool:
    """Tell whether a branch has a filament or a motor that goes little of its way in a round."""
    if work.moves[b, 1] == 0 or work.own[b, CONDUCTANCE] == 0.0:
        return False
    law, volts = branches[LAW, b], driven(branches, work, b)
    state, period = work.memory[STATE, b, 1], work.clock[PERIOD]
    return bool(returning(law, work.own[b], state, volts, period) < QUICK)


@compiled
def comes_back(branches: Ints, work: Work, of_swing: float, of_peak: float) -> bool:
    """Tell whether all states that do not drift are what they were when this round began."""
    for b in range(len(work.moves)):
        for i in range(2):
            if work.moves[b, i] == 0 or (i == 1 and drifts(branches, work, b)):
                continue
            swing = work.lap[MOST_OF, b, i] - work.lap[LEAST_OF, b, i]
            nothing = of_peak * (work.memory[PEAK, b, i] + LEAST)
            if abs(changed(work, b, i)) > max(of_swing * swing, nothing):
                return False
    return True


@compiled
def way_to_rest(branches: Ints, work: Work, b: int) -> float:
    """Return how far what drifts is from where it would change no more."""
    state, change = work.memory[STATE, b, 1], changed(work, b, 1)
    way = rest(branches[LAW, b], work.own[b], driven(branches, work, b)) - state
    if math.isinf(work.lap[CHANGED, b, 1]):  # not put to rest since all began anew
        return float(way)
    moved = state - work.lap[STOOD, b, 1]
    turned = change - work.lap[CHANGED, b, 1]
    if turned * moved >= 0.0 or abs(turned) <= TURNED * abs(work.lap[CHANGED, b, 1]):
        return float(way)
    farthest = FARTHEST * abs(way)
    return float(min(max(-change * moved / turned, -farthest), farthest))


@compiled
def farthest_drift(branches: Ints, work: Work, rounds: float) -> float:
    """Return how far what drifts still goes in so many rounds, of its peak; the farthest."""
    farthest = 0.0
    for b in range(len(work.moves)):
        if drifts(branches, work, b):
            way = min(abs(way_to_rest(branches, work, b)), rounds * abs(changed(work, b, 1)))
            farthest = max(farthest, way / (work.memory[PEAK, b, 1] + LEAST))
    return farthest


@compiled
def put_to_rest(branches: Ints, work: Work) -> None:
    """Put what drifts where it changes no more, and the clock back by this round."""
    for b in range(len(work.moves)):
        if drifts(branches, work, b):
            way = way_to_rest(branches, work, b)
            work.lap[STOOD, b, 1] = work.memory[STATE, b, 1]
            work.lap[CHANGED, b, 1] = changed(work, b, 1)
            work.memory[STATE, b, 1] += way
    work.tally[SHOTS] += 1
    go_by(work, -work.clock[PERIOD])


@compiled
def lead_on(branches: Ints, work: Work, seconds: float) -> None:
    """Lead on what drifts for a time."""
    for b in range(len(work.moves)):
        if drifts(branches, work, b):
            law, own, state = branches[LAW, b], work.own[b], work.memory[STATE, b, 1]
            volts = driven(branches, work, b)
            work.memory[STATE, b, 1] = led_on(law, own, state, volts, seconds)


@compiled
def go_by(work: Work, seconds: float) -> None:
    """Put the clock on by whole rounds."""
    work.clock[TIME] += seconds
    work.clock[UNTIL] += seconds
    for k in range(len(work.times)):
        work.times[k] += seconds
    work.clock[EDGE] = next_edge(work.own, work.clock[TIME])


@compiled
def leap(course: Course, work: Work, events: Floats, samples: Floats, rounds: float) -> None:
    """Read this round again for as many as follow, and go on behind them."""
    clock, tally = work.clock, work.tally
    ahead = rounds * clock[PERIOD]
    reached = math.floor((clock[TIME] + ahead) / course.step + SAME) + 1
    last: int = max(tally[SAMPLE], min(reached, samples.shape[1]))
    read_again(course, work, last, samples)
    tally[SAMPLE] = last
    go_by(work, ahead)
    while tally[AFTER] < len(events) and events[tally[AFTER]] <= clock[TIME]:
        tally[AFTER] += 1


@compiled
def copy(there: Number, here: Number) -> None:
    """Write one row of numbers over another."""
    for k in range(len(there)):
        here[k] = there[k]


@compiled
def keep_or_take(work: Work, closed: Ints, blown: Ints, back: bool) -> None:  # noqa: FBT001
    """Keep what a trial may have to be taken back to, or take it back."""
    spare = work.spare
    for mine, kept in (
        (work.memory.reshape(-1), spare.memory.reshape(-1)),
        (work.real.reshape(-1), spare.real.reshape(-1)),
        (work.out.reshape(-1), spare.out.reshape(-1)),
        (work.points.reshape(-1), spare.points.reshape(-1)),
        (work.top, spare.top),
        (work.times, spare.times),
        (work.clock, spare.clock),
    ):
        copy(kept if back else mine, mine if back else kept)
    for mine_too, kept_too in (
        (work.tally, spare.tally),
        (closed, spare.closed),
        (blown, spare.blown),
    ):
        copy(kept_too if back else mine_too, mine_too if back else kept_too)


@compiled
def put_away(work: Work, closed: Ints, blown: Ints) -> None:
    """Keep what a trial may have to be taken back to, and the steps of the round before it."""
    keep_or_take(work, closed, blown, False)  # noqa: FBT003
    size = work.tally[LAPPED] * work.steps.shape[1]
    copy(work.steps.reshape(-1)[:size], work.spare.steps.reshape(-1))


@compiled
def take_back(work: Work, closed: Ints, blown: Ints) -> None:
    """Take a trial back."""
    steps = work.tally[STEPS]
    keep_or_take(work, closed, blown, True)  # noqa: FBT003
    work.tally[STEPS], work.tally[TRIED] = steps, 0
    work.tally[FAILED] += 1
    work.clock[MADE] = 0.0
    begin_lap(work)


@compiled
def shows_the_same(work: Work) -> bool:
    """Tell whether this round shows, and lets be judged, what the one before the trial did."""
    spare, at, count = work.spare, 0, work.out.shape[1]
    since = work.clock[TIME] - spare.clock[TIME]
    for k in range(work.tally[LAPPED]):
        step = work.steps[k]
        part = 2.0 * D if int(step[METHOD]) == TRAPEZOID else D
        when = step[BEGINS] + part * step[LASTS] - since
        while at < spare.tally[LAPPED] - 1 and when > spare.steps[at + 1, BEGINS]:
            at += 1
        for q in range(count):
            missed = abs(read_step(spare.steps[at], count, q, when) - step[READ + count + q])
            if missed > SHOWS * work.top[q] + LEAST:
                return False
    return True


@compiled
def end_lap(
    branches: Ints,
    course: Course,
    work: Work,
    rows: Floats,
    events: Floats,
    closed: Ints,
    blown: Ints,
    samples: Floats,
) -> None:
    """End a round; go on by whole ones to before the next change or the end, where that is sure.

    To the end there may be one more, of which only the samples up to the last are read.
    """
    clock, tally = work.clock, work.tally
    kept = 0 < tally[LAPPED] <= len(work.steps)
    if tally[TRIED] == 1 and not (kept and shows_the_same(work)):
        take_back(work, closed, blown)
        return
    tally[TRIED] = 0
    tally[LAPS] += 1
    if not kept:
        begin_lap(work)
        return
    end = (course.samples - 1) * course.step
    change = next_change(course, tally[AFTER], rows, events)
    rounds = math.ceil((min(change, end) - clock[TIME]) / clock[PERIOD] - EARLY)
    before = max(rounds - 1 if change < math.inf else rounds, 0)
    settled = comes_back(branches, work, COMES_BACK, NOTHING)
    drift = farthest_drift(branches, work, float(rounds))
    if settled and drift <= RESTS:
        lead_on(branches, work, before * clock[PERIOD])
        leap(course, work, events, samples, float(before))
    elif tally[SAMPLE] == 0 and tally[SHOTS] < MOST_SHOTS:
        if tally[LAPS] > 1 and comes_back(branches, work, NEARLY, HARDLY) and drift > 0.1 * RESTS:
            put_to_rest(branches, work)
    elif settled and tally[FAILED] < MOST_TRIALS:
        tries = rounds - 2 if tally[FAILED] == 0 else (rounds - 2) // SHORTER
        if tries >= WORTH_IT:
            put_away(work, closed, blown)
            lead_on(branches, work, tries * clock[PERIOD])
            leap(course, work, events, samples, float(tries))
            tally[TRIED] = 1
    begin_lap(work)
