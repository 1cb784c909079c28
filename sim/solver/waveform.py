"""Waveforms of many variants of one circuit: what an oscilloscope would see.

Each lane begins in the steady state of its rows `before` and goes on with those `after`. Elements
move as `sim.parts.family.Motion` says:

- ``v = i / g + L di/dt + emf`` for a straight element or a motor with inductance;
- a capacitance lies across the whole element; an element of conductance 0 is out of circuit with
  all it has, whereas an open contact or gate keeps its capacitance;
- a motor of conductance 1/R has ``v = R i + L di/dt + emf + e`` and ``C de/dt = i - load(e)``;
- a sine adds to the EMF, a gate opens the element for a part of each period.

Relays and fuses follow their currents as in the steady state, at the time they are reached. A
coil whose current is cut off without any way round rises to what 1 Tohm makes of it, for less
time than any sample: give it the winding capacitance it has, as an element of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sim.errors import SolveError
from sim.network import (
    AMPLITUDE,
    CAPACITANCE,
    CONDUCTANCE,
    INDUCTANCE,
    LEADS,
    WAVE,
    Floats,
    Ints,
    Network,
)
from sim.parts.family import CURVED as CURVED_LAWS
from sim.parts.family import Law, Wave
from sim.solver.lane import run_lane
from sim.solver.readout import AMPS, BRANCH, VOLTS, Outputs
from sim.solver.stage import Work
from sim.solver.steady import LEAD_RESISTANCE, Lanes, Solution, Solver
from sim.solver.transient import Course
from sim.solver.waveplan import BESIDE, CURVED, SERIES, Plan, build_plan


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
        0 solved, 1 not converged, 2 oscillating; the last good values stand from there on.
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
        s; waves run from t = -lead_in on, with the rows `before`, so that they have settled.

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
    task = _Task(solver, before, after, lanes, steady, (*points,), (*elements,), step, lead_in)
    patterns, pattern_of = np.unique(lanes.attached, axis=0, return_inverse=True)
    for number, attached in enumerate(patterns):
        mine = np.flatnonzero(pattern_of.ravel() == number)
        task.run(tuple(attached.tolist()), mine, sampled, status, closed, blown)
    volts, current = np.split(sampled, [len(points)], axis=1)
    return Trace(np.arange(count) * step, volts, current, status, closed, blown)


def _check(duration: float, step: float, lead_in: float) -> None:
    if not (step > 0.0 and duration >= step and lead_in >= 0.0):
        raise SolveError(
            f"a waveform of {duration!r} s in steps of {step!r} s after {lead_in!r} s: the step must "
            "be above 0, the duration no shorter than a step, the time ahead not negative"
        )


@dataclass(frozen=True, slots=True)
class _Task:
    """One call of `waveform`."""

    solver: Solver
    before: Floats
    after: Floats
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
        network, lanes = self.solver.network, self.lanes
        first, second = self._rows(attached, mine, self.before), self._rows(attached, mine, self.after)
        plan = build_plan(network, attached, _branches(network, first, second))
        course, outputs = self._course(plan, sampled.shape[2]), self._outputs(plan)
        work = _work(plan)
        for index, lane in enumerate(mine):
            if status[lane] != 0:
                continue
            out, points = self._begin(plan, outputs, work, first[index], int(lane))
            status[lane], _steps = run_lane(
                plan,
                work,
                course,
                outputs,
                first[index],
                second[index],
                closed[lane],
                blown[lane],
                out,
                points,
                sampled[lane],
            )

    def _rows(self, attached: tuple[int, ...], mine: Ints, rows: Floats) -> Floats:
        """Return the rows of some lanes, with what lies between their leads."""
        stacked = rows[self.lanes.variant[mine]].copy()
        stacked[:, -4:, : self.lanes.instruments.shape[2]] = self.lanes.instruments[mine]
        return stacked

    def _course(self, plan: Plan, samples: int) -> Course:
        network = self.solver.network
        leaky = np.zeros(len(plan.start) - 1, dtype=np.int64)
        leaky[plan.position[1 : len(network.nodes) - len(LEADS)]] = 1
        return Course(
            self.step,
            -self.lead_in,
            samples,
            1.0 / LEAD_RESISTANCE,
            self.solver.leak,
            leaky,
            network.laws,
            network.relays,
            network.fuses,
            len(self.points) + len(self.elements),
        )

    def _outputs(self, plan: Plan) -> Outputs:
        laws = self.solver.network.laws
        judged = [int(n) for n in np.flatnonzero((laws == Law.COIL) | (laws == Law.FUSE))]
        judged = [n for n in judged if plan.edge[n] >= 0]
        moved = set(plan.element[plan.kind != BESIDE].tolist())
        beside = set(plan.element[plan.kind == BESIDE].tolist())
        kinds = [VOLTS for _ in self.points]
        which = [int(plan.position[node]) for node in self.points]
        for n in (*self.elements, *judged):
            kinds.append(BRANCH if n in moved else AMPS)
            which.append(n if plan.edge[n] >= 0 else -1)
        whole = len(self.points) + len(self.elements)
        count = [int(q < whole and n in beside) for q, n in enumerate(which)]
        size = (len(kinds), len(plan.start) - 1)
        return Outputs(
            np.array(kinds, dtype=np.int64),
            np.array(which, dtype=np.int64),
            np.array(count, dtype=np.int64),
            np.zeros(size),
            np.zeros(size[0]),
        )

    def _begin(
        self, plan: Plan, outputs: Outputs, work: Work, row: Floats, lane: int
    ) -> tuple[Floats, Floats]:
        """Set the states of the steady state; return what is read off and the curved points."""
        steady, emf = self.steady, row[:, 1]
        drop, current = steady.drop[lane], steady.current[lane]
        for array in work:
            array[...] = 0
        n = plan.element
        work.state[0, :, 0] = np.where(plan.kind == BESIDE, drop[n], current[n])
        with np.errstate(divide="ignore", invalid="ignore"):
            back = drop[n] - emf[n] - current[n] / row[n, CONDUCTANCE]
        turning = (plan.kind == CURVED) & (self.solver.network.laws[n] == Law.MOTOR)
        moving = turning & (row[n, CONDUCTANCE] > 0.0) & (np.abs(current[n]) > row[n, 2])
        work.state[0, :, 1] = np.where(moving, back, 0.0)
        points = np.zeros((3, len(n)))
        points[1] = drop[n] - emf[n]
        out = np.zeros((3, len(outputs.kind)))
        out[0, : len(self.points)] = [steady.volts[lane, node] for node in self.points]
        out[0, len(self.points) :] = [
            current[n] if n >= 0 else 0.0 for n in outputs.which[len(self.points) :]
        ]
        return out, points


def _branches(network: Network, before: Floats, after: Floats) -> list[tuple[int, int]]:
    """Return (element, kind) of all that is not still in any of the rows, sorted by kind."""
    rows = np.concatenate([before, after])
    used = (rows[..., CONDUCTANCE] > 0.0).any(axis=0)
    curved = np.isin(network.laws, CURVED_LAWS)
    waves = rows[..., WAVE]
    moving = (rows[..., INDUCTANCE] > 0.0) | (
        (waves == Wave.SWITCHED) | ((waves == Wave.SINE) & (rows[..., AMPLITUDE] != 0.0))
    )
    beside = (rows[..., CAPACITANCE] > 0.0) & (network.laws != Law.MOTOR)
    found = (
        (moving.any(axis=0) & ~curved & used, SERIES),
        (beside.any(axis=0) & used, BESIDE),
        (curved & used, CURVED),
    )
    return [(int(n), kind) for which, kind in found for n in np.flatnonzero(which)]


def _work(plan: Plan) -> Work:
    edges, nodes, count = len(plan.other), len(plan.start) - 1, len(plan.element)
    return Work(
        *(np.zeros(edges) for _ in range(7)),
        np.zeros(nodes),
        np.zeros(count, dtype=np.int64),
        *(np.zeros(count) for _ in range(7)),
        np.zeros(count, dtype=np.int64),
        np.zeros((count, 2)),
        np.zeros((3, count, 2)),
        np.zeros((3, count, 2)),
    )
