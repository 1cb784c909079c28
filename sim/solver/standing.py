"""What stands between two events: contacts, fuses, still nodes, and the arrays of a lane."""

from __future__ import annotations

from typing import NamedTuple

from sim.compiled import compiled
from sim.network import Floats, Ints
from sim.solver.advance import eliminate
from sim.solver.readout import weigh
from sim.solver.stage import EMF
from sim.solver.transient import CONTACT, FUSE, find_memories, longest_step, next_edge
from sim.solver.waveplan import BENT, ELEMENT, MOVING, STILL, Plan

#: In the clock: all in s. PERIOD is how long a round takes, LAP when this one ends; steps do not
#: grow UNTIL then.
TIME, STEP, MADE, EDGE, LONGEST, SINCE, PERIOD, LAP, UNTIL = 0, 1, 2, 3, 4, 5, 6, 7, 8
#: In the tally. AFTER counts the events that have passed, LAPPED the steps of this round, LAPS the
#: rounds since all began anew, SHOTS how often states were put to rest; TRIED is 1 while rounds are
#: left out on trial, FAILED how often that was taken back (`sim.solver.leaping`).
BEGUN, EXACT, STALE, AFTER, MOVED, SAMPLE, STATUS, STEPS, LAPPED = 0, 1, 2, 3, 4, 5, 6, 7, 8
LAPS, SHOTS, TRIED, FAILED = 9, 10, 11, 12


class Course(NamedTuple):
    """What all lanes of a call share.

    Attributes
    ----------
    step, begin : float
        Time between samples and of the beginning (negative: ahead of the event), s.
    samples, watched : int
        How many samples; how many of the outputs are sampled (the others, currents of coils and
        fuses, are judged).
    lead, leak : float
        Conductances, S.
    leaky : int array (M,)
        1 for places in the order that leak to the body.
    info : int array (3, E)
        Law, relay and fuse of each element.
    outputs : int array (2, Q)
        See `sim.solver.readout`.
    """

    step: float
    begin: float
    samples: int
    watched: int
    lead: float
    leak: float
    leaky: Ints
    info: Ints
    outputs: Ints


class Spare(NamedTuple):
    """What a lane goes back to: some arrays of `Work`, and the states of relays and fuses."""

    memory: Floats
    real: Floats
    out: Floats
    top: Floats
    points: Floats
    times: Floats
    steps: Floats
    clock: Floats
    tally: Ints
    closed: Ints
    blown: Ints


class Work(NamedTuple):
    """Arrays of one lane; see `sim.solver.stage` and `sim.solver.readout`.

    `siemens` are the conductances of all elements as contacts and fuses stand, `open_` is 1 for
    branches that these have opened; `out` (4, Q) is read at the beginning, middle and end of a step
    and in the middle of the last; `points` (3, B) and `times` are of the curved branches in the
    middle of the last step, at the beginning and in the middle of this one; `lap`
    (5, B, 2) and `steps` are what states began this round with, their least and most, what they
    were when last put to rest and how they had changed, and its steps (`sim.solver.repeating`).
    """

    edges: Floats
    share: Floats
    live: Ints
    own: Floats
    memory: Floats
    moves: Ints
    real: Floats
    siemens: Floats
    open_: Ints
    weight: Floats
    volts: Floats
    out: Floats
    top: Floats
    points: Floats
    times: Floats
    lap: Floats
    steps: Floats
    clock: Floats
    tally: Ints
    spare: Spare


@compiled
def close_contacts(info: Ints, row: Floats, closed: Ints, blown: Ints, siemens: Floats) -> None:
    """Set the conductance of every element as contacts and fuses stand."""
    for n in range(len(siemens)):
        siemens[n] = row[n, 0]
        if info[0, n] == CONTACT:
            stuck = row[n, 3]
            drawn = (closed[info[1, n]] == 1) != (row[n, 2] == 1.0)
            if not (stuck == 1.0 or (drawn and stuck == 0.0)):
                siemens[n] = 0.0
        elif info[0, n] == FUSE and blown[info[2, n]] == 1:
            siemens[n] = 0.0


@compiled
def renew(plan: Plan, course: Course, work: Work, row: Floats, closed: Ints, blown: Ints) -> None:
    """Eliminate the still nodes anew after a contact, a fuse or the key has moved."""
    close_contacts(course.info, row, closed, blown, work.siemens)
    g, j, start = work.edges[0], work.edges[1], plan.start
    for edge in range(len(g)):
        g[edge] = 0.0
        j[edge] = 0.0
    for k in range(len(course.leaky)):
        if course.leaky[k] == 1:
            g[start[k]] += course.leak
    for edge in plan.lead_edge:
        g[edge] += course.lead
    for n in plan.still:
        edge = plan.elements[0, n]
        g[edge] += work.siemens[n]
        j[edge] += plan.elements[1, n] * work.siemens[n] * row[n, EMF]
    for b in range(plan.branches.shape[1]):
        n = plan.branches[ELEMENT, b]
        work.open_[b] = 1 if work.siemens[n] == 0.0 else 0
        for column in range(row.shape[1]):
            work.own[b, column] = row[n, column]
    bounds, pair_start, pair_edge = plan.bounds, plan.pair_start, plan.pair_edge
    eliminate(bounds[STILL], bounds[MOVING], start, pair_start, pair_edge, g, j, work.share)
    weigh(
        bounds[MOVING],
        start,
        pair_start,
        pair_edge,
        plan.later,
        plan.elements,
        course.outputs,
        work.siemens,
        row,
        g,
        j,
        work.share,
        work.edges[6],
        work.weight,
    )
    find_memories(bounds[BENT], plan.branches, work.own, work.moves)
    time = work.clock[TIME]
    work.clock[EDGE] = next_edge(work.own, time)
    work.clock[LONGEST] = longest_step(work.own, (course.samples - 1) * course.step - course.begin)
    work.clock[MADE] = 0.0
    work.tally[STALE] = 0
