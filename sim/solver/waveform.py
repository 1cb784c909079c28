"""Waveforms of many variants of one circuit: what an oscilloscope would see.

Each lane begins in the steady state of its rows `before` and goes on with those `after`. Elements
move as `sim.parts.family.Motion` says:

- ``v = i / g + L di/dt + emf`` for a straight element or a motor with inductance;
- a capacitance lies across the whole element; an element of conductance 0 is out of circuit with
  all it has, whereas an open contact or gate keeps its capacitance;
- a motor of conductance 1/R has ``v = R i + L di/dt + emf + e`` and ``C de/dt = i - load(e)``;
- a lamp of heat capacity C has the resistance of its temperature, ``C dT/dt = v i - P(T)``
  (`sim.solver.filament`); without, that of its voltage at once;
- a sine adds to the EMF, a gate opens the element for a part of each period; the steady state that
  a lane begins in knows neither, so give periodic signals time to settle (`lead_in`). Filaments
  and motors that drift meanwhile are put to rest at once (`sim.solver.leaping`).

Lamps, diodes and limiters have no inductance.

Relays and fuses follow their currents as in the steady state, at the time they are reached. A
coil whose current is cut off without any way round rises to what 1 Tohm makes of it, for less
time than any sample: give it the winding capacitance it has, as an element of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.errors import SolveError
from sim.network import (
    AMPLITUDE,
    CAPACITANCE,
    COLUMNS,
    CONDUCTANCE,
    EMF,
    FREQUENCY,
    INDUCTANCE,
    LEADS,
    ROW,
    SHAPE,
    WAVE,
    Floats,
    Ints,
    Network,
    element_row,
)
from sim.parts.family import CURVED as CURVED_LAWS
from sim.parts.family import Law, Wave
from sim.solver.filament import steady_kelvin
from sim.solver.lane import run_lane
from sim.solver.readout import AT_NODE, BRANCH_AMPS, SERIES_AMPS, STILL_AMPS
from sim.solver.repeating import READ, ROOM
from sim.solver.stage import STATE, TOWARDS
from sim.solver.standing import FAILED, UNTIL, Course, Spare, Work
from sim.solver.steady import Lanes, Solution, Solver
from sim.solver.waveplan import (
    BESIDE,
    CURVED,
    ELEMENT,
    KIND,
    LAW,
    MOVING,
    SERIES,
    SIGN,
    Plan,
    build_plan,
)

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Trace:
    """Waveforms of L lanes at T times.

    Attributes
    ----------
    time : float array (T,)
        s from the event.
    volts : float array (L, P, T)
        V against the body at each point asked for.
    current : float array (L, K, T)
        A from a to b through each element asked for.
    status : int array (L,)
        0 solved, 1 not converged, 2 oscillating; the last good values stand from there on (0 where
        there is no steady state to begin from).
    closed, blown : int arrays (L, R), (L, F)
        States at the end.
    """

    time: Floats
    volts: Floats
    current: Floats
    status: Ints
    closed: Ints
    blown: Ints


def waveform(
    solver: Solver,
    before: Floats,
    after: Floats,
    lanes: Lanes,
    *,
    duration: float,
    step: float,
    points: Sequence[int],
    elements: Sequence[int] = (),
    lead_in: float = 0.0,
    later: Sequence[tuple[Floats, Floats]] = (),
) -> Trace:
    """Return what happens from an event at t = 0 on.

    Parameters
    ----------
    solver : Solver
    before, after : float arrays (V, E, 13)
        Configured rows of the state that has lasted long, and from t = 0 on; they may be equal.
    lanes : Lanes
    duration, step : float
        s; samples are taken at 0, step, 2 step, ... to duration. Steps of the solution are as
        long as its error allows, whatever the samples are.
    points : sequence of int
        Nodes.
    elements : sequence of int
    lead_in : float
        s; where anything swings with the rows `before`, it does from t = -lead_in on, so that it
        has settled. What `before` has that takes longer begins as if it had stood so for ever.
    later : sequence of (float array (L,), float array (V, E, 13))
        When, in s after the event, each lane goes on with other rows: one after the other, and
        infinite where it does not.

    Raises
    ------
    SolveError
        Times that make no sense.
    """
    _check(duration, step, lead_in)
    steady = solver.solve(before, lanes)
    count = round(duration / step) + 1
    sampled = np.zeros((len(lanes.variant), len(points) + len(elements), count))
    status, closed, blown = steady.status.copy(), steady.closed.copy(), steady.blown.copy()
    rows = (before, after, *(row for _when, row in later))
    times = np.array([np.zeros(len(status)), *(when for when, _row in later)])
    task = _Task(solver, rows, times, lanes, steady, (*points,), (*elements,), step, lead_in)
    patterns, pattern_of = np.unique(lanes.attached, axis=0, return_inverse=True)
    for number, attached in enumerate(patterns):
        mine = np.flatnonzero(pattern_of.ravel() == number)
        task.run(tuple(attached.tolist()), mine, sampled, status, closed, blown)
    volts, current = np.split(sampled, [len(points)], axis=1)
    time = np.arange(count, dtype=np.float64) * step
    return Trace(time, volts, current, status, closed, blown)


def swinging(rows: Floats) -> Flags:
    """Return which elements of rows (V, E, 13) are in circuit, swing and have a rhythm: (V, E)."""
    swing, wave = rows[..., AMPLITUDE], rows[..., WAVE]
    alternates = (wave == Wave.SINE) & (swing != 0.0)
    switched = (wave == Wave.SWITCHED) & (swing > 0.0) & (swing < 1.0)
    in_circuit = (rows[..., CONDUCTANCE] > 0.0) & (rows[..., FREQUENCY] > 0.0)
    found: Flags = in_circuit & (alternates | switched)
    return found


def _differ(one: Floats, other: Floats) -> Flags:
    """Return which phases (L, N) of rows (L, N, E, 13) differ from others."""
    found: Flags = np.any(one != other, axis=(2, 3))
    return found


def _check(duration: float, step: float, lead_in: float) -> None:
    if not (step > 0.0 and duration >= step and lead_in >= 0.0):
        raise SolveError(
            f"a waveform of {duration!r} s in steps of {step!r} s after {lead_in!r} s: the step "
            "must be above 0, the duration no shorter than a step, the time ahead not negative"
        )


@dataclass(frozen=True, slots=True)
class _Task:
    """One call of `waveform`."""

    solver: Solver
    rows: tuple[Floats, ...]
    times: Floats
    lanes: Lanes
    steady: Solution
    points: tuple[int, ...]
    elements: tuple[int, ...]
    step: float
    lead_in: float

    def run(
        self,
        attached: tuple[int, ...],
        mine: Ints,
        sampled: Floats,
        status: Ints,
        closed: Ints,
        blown: Ints,
    ) -> None:
        """Run the lanes `mine`, whose leads are on the nodes `attached`."""
        network = self.solver.network
        rows = np.stack([self._rows(mine, each) for each in self.rows], axis=1)
        comes = np.isfinite(self.times[:, mine]).T
        moves = _differ(rows[:, 1:], rows[:, :1]) & comes
        rests: Flags = ~np.any(swinging(rows[:, 1]), axis=1) & ~np.any(moves, axis=1)
        self._hold(mine[rests], sampled)
        if rests.all():
            return
        plan = build_plan(network, attached, _branches(network, self.rows))
        ahead = self._course(plan, sampled.shape[2])
        swings: Flags = np.any(swinging(rows[:, 0]), axis=1)
        counts = len(network.elements), closed.shape[1], blown.shape[1]
        work = _work(plan, ahead, *counts)
        goes = np.flatnonzero((status[mine] == 0) & ~rests)
        starts = self._starts(plan, mine[goes], rows[goes, 0])
        for index, memory, points in zip(goes, *starts, strict=True):
            lane = int(mine[index])
            course = ahead if swings[index] else ahead._replace(begin=0.0)
            self._begin(plan, course, work, memory, points, lane)
            status[lane] = run_lane(
                plan,
                course,
                work,
                rows[index],
                self.times[:, lane].copy(),
                closed[lane],
                blown[lane],
                sampled[lane],
            )

    def _hold(self, lanes: Ints, sampled: Floats) -> None:
        """Let lanes in which nothing happens stand as they have long stood."""
        steady = self.steady
        stood = [steady.volts[lanes][:, self.points], steady.current[lanes][:, self.elements]]
        solved = steady.status[lanes] == 0
        sampled[lanes[solved]] = np.concatenate(stood, axis=1)[solved, :, None]

    def _rows(self, mine: Ints, rows: Floats) -> Floats:
        """Return the rows of some lanes, with what lies between their leads."""
        lanes = self.lanes
        stacked: Floats = rows[lanes.variant[mine]]
        stacked[:, -4:, : lanes.instruments.shape[2]] = lanes.instruments[mine]
        return stacked

    def _course(self, plan: Plan, samples: int) -> Course:
        network = self.solver.network
        leaky = np.zeros(len(plan.start) - 1, dtype=np.int64)
        leaky[plan.position[1 : len(network.nodes) - len(LEADS)]] = 1
        return Course(
            self.step,
            -self.lead_in,
            samples,
            len(self.points) + len(self.elements),
            1.0 / self.solver.lead,
            self.solver.leak,
            leaky,
            np.stack([network.laws, network.relays, network.fuses]),
            self._outputs(plan),
        )

    def _outputs(self, plan: Plan) -> Ints:
        """Return what is read off: points and elements, then coils and fuses that are judged."""
        laws, edge = self.solver.network.laws, plan.elements[0]
        judged = np.flatnonzero(((laws == Law.COIL) | (laws == Law.FUSE)) & (edge >= 0))
        moved = set(plan.branches[ELEMENT, plan.branches[KIND] != BESIDE].tolist())
        found = [(AT_NODE, int(plan.position[node])) for node in self.points]
        for numbers, kind in ((self.elements, BRANCH_AMPS), (judged.tolist(), SERIES_AMPS)):
            for n in numbers:
                place = n if edge[n] >= 0 else -1
                found.append((kind if n in moved else STILL_AMPS, place))
        return np.array(found, dtype=np.int64).reshape(-1, 2).T.copy()

    def _starts(self, plan: Plan, mine: Ints, rows: Floats) -> tuple[Floats, Floats]:
        """Return both memories (L, B, 2) and points (L, B) of branches in lanes' steady states.

        `rows` (L, E, 13) are those of the lanes.
        """
        n, kind, law = plan.branches[[ELEMENT, KIND, LAW]]
        drop, current = self.steady.drop[mine][:, n], self.steady.current[mine][:, n]
        own, memory = rows[:, n], np.zeros((len(mine), len(n), 2))
        memory[..., 0] = np.where(kind == BESIDE, drop, current)
        turning = (law == Law.MOTOR) & (np.abs(current) > own[..., SHAPE])
        resistance = 1.0 / np.maximum(own[..., CONDUCTANCE], 1e-300)
        memory[turning, 1] = (drop - own[..., EMF] - current * resistance)[turning]
        warm = (law == Law.LAMP) & (own[..., CAPACITANCE] > 0.0)
        volts = np.where(own[..., CONDUCTANCE] > 0.0, drop, 0.0)[warm]
        memory[warm, 1] = steady_kelvin(volts, *own[warm][:, SHAPE:COLUMNS].T)
        return memory, drop - own[..., EMF]

    def _begin(
        self, plan: Plan, course: Course, work: Work, memory: Floats, points: Floats, lane: int
    ) -> None:
        """Set the steady state of a lane."""
        for name in work._fields:
            if name not in ("steps", "spare"):  # which are written before they are read
                getattr(work, name)[...] = 0
        work.real[TOWARDS] = plan.branches[SIGN]
        work.memory[STATE], work.points[1] = memory, points
        work.out[0, : len(self.points)] = self.steady.volts[lane, list(self.points)]
        which = course.outputs[1, len(self.points) :]
        amps = np.where(which < 0, 0.0, self.steady.current[lane, which])
        work.out[0, len(self.points) :] = amps


def _branches(network: Network, each: Sequence[Floats]) -> list[tuple[int, int]]:
    """Return (element, kind) of all that is not still, sorted by kind.

    Known from the circuit and from the rows of all variants, so that the lanes of a call make no
    difference to each other.
    """
    own = element_row(network.elements)[None]
    rows = np.concatenate([own, *each])
    curved = np.isin(network.laws, CURVED_LAWS)
    inside = np.isin(network.laws, (Law.LAMP, Law.MOTOR))  # not across the ends
    beside = (rows[..., CAPACITANCE] > 0.0).any(axis=0) & ~inside
    moving = (rows[..., INDUCTANCE] > 0.0) | (rows[..., WAVE] != Wave.NONE)
    series = (moving.any(axis=0) | beside) & ~curved
    found = ((series, SERIES), (beside, BESIDE), (curved, CURVED))
    return [(int(n), kind) for which, kind in found for n in np.flatnonzero(which)]


def _work(plan: Plan, course: Course, elements: int, relays: int, fuses: int) -> Work:
    edges, nodes, count = len(plan.later), len(plan.start) - 1, plan.branches.shape[1]
    outputs, left = course.outputs.shape[1], nodes - int(plan.bounds[MOVING])
    return Work(
        edges=np.zeros((7, edges)),
        share=np.zeros(nodes),
        live=np.zeros((2, count), dtype=np.int64),
        own=np.zeros((count, ROW)),
        memory=np.zeros((8, count, 2)),
        moves=np.zeros((count, 2), dtype=np.int64),
        real=np.zeros((8, count)),
        siemens=np.zeros(elements),
        open_=np.zeros(count, dtype=np.int64),
        weight=np.zeros((outputs, left + 1)),
        volts=np.zeros(left),
        out=np.zeros((4, outputs)),
        top=np.zeros(outputs),
        points=np.zeros((3, count)),
        times=np.zeros(3),
        lap=np.zeros((5, count, 2)),
        steps=np.zeros((ROOM, READ + 3 * outputs)),
        clock=np.zeros(UNTIL + 1),
        tally=np.zeros(FAILED + 1, dtype=np.int64),
        spare=Spare(
            memory=np.zeros((8, count, 2)),
            real=np.zeros((8, count)),
            out=np.zeros((4, outputs)),
            top=np.zeros(outputs),
            points=np.zeros((3, count)),
            times=np.zeros(3),
            steps=np.zeros((ROOM, READ + 3 * outputs)),
            clock=np.zeros(UNTIL + 1),
            tally=np.zeros(FAILED + 1, dtype=np.int64),
            closed=np.zeros(relays, dtype=np.int64),
            blown=np.zeros(fuses, dtype=np.int64),
        ),
    )
