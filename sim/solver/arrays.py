"""The same program without compiled code: the same bits, more slowly.

A row of every array is one edge or element, a column one lane; some thousand lanes are worked on
by one numpy operation, a few lanes in plain numbers (`sim.solver.sweeps`). Each number goes through
the same operations in the same order as in the compiled kernel: every operation is rounded as
IEEE 754 prescribes, so that nothing depends on how many lanes are worked on together. Lanes that
have settled are written down and leave.
"""

from __future__ import annotations

import numpy as np

from sim.modules.conditions import Flags
from sim.network import LEADS, Floats, Ints, Network
from sim.solver.curves import Curves
from sim.solver.judgearrays import Switchgear
from sim.solver.lanes import Solution
from sim.solver.laws import NOT_CONVERGED, OSCILLATING, SOLVED
from sim.solver.program import Program
from sim.solver.rowarrays import Gathered, gather
from sim.solver.sweeps import Edgewise
from sim.solver.tailarrays import FEW, Part, Tail
from sim.solver.writearrays import Settled

CHUNK = 8192  # lanes at once: the last ones to rest count little then; ours, measured


def solve_in_arrays(
    program: Program,
    network: Network,
    rows: Floats,
    variant: Ints,
    instruments: Floats,
    which: Ints,
    lead: float,
    leak: float,
    into: Solution,
) -> tuple[int, int]:
    """Solve lanes in place; see `sim.solver.kernel.solve_lanes`."""
    made, chunks = 0, -(-len(which) // CHUNK)
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for lanes in np.array_split(which, chunks) if chunks else ():
            read = gather(program, rows, variant[lanes], instruments[lanes])
            if isinstance(read, int):
                return made, read
            made += _Chunk(program, network, (lead, leak), into, lanes, read).solve()
    return made, -1


class _Chunk:
    """Lanes on their way to a consistent state, until they settle."""

    def __init__(
        self,
        program: Program,
        network: Network,
        siemens: tuple[float, float],
        into: Solution,
        lanes: Ints,
        read: Gathered,
    ) -> None:
        self.p, self.into, self.lanes = program, into, lanes
        self.lead, self.leak = siemens
        self.read, self.curves = read, Curves(program, read.bent)
        self.closed, self.blown = into.closed[lanes].T.copy(), into.blown[lanes].T.copy()
        self.gear = Switchgear.of(program, network)
        self.mark, self.marked = 0, np.zeros(self._stand().shape, np.int64)

    def _stand(self) -> Ints:
        return np.concatenate([self.closed, self.blown])

    def solve(self) -> int:
        """Bring the lanes to a consistent state and write it; return the linear solutions made."""
        made, states = 0, 8 + 4 * (len(self.closed) + len(self.blown))
        self.until = np.full(len(self.lanes), states)
        for age in range(1, states + 1):
            now = self._conductances()
            drops, converged, solutions = self._solve_state(now, again=age > 1)
            made += solutions
            moved = self._judge(now, drops, converged)
            status = np.where(converged, SOLVED, NOT_CONVERGED)
            goes = self._go_round(moved, status, age, states)
            self._write(np.flatnonzero(~goes), now, drops, status)
            if not goes.any():
                break
            self._take(np.flatnonzero(goes))
        return made

    def _go_round(self, moved: Flags, status: Ints, age: int, states: int) -> Flags:
        """Return lanes that go on; of those that go round, see `sim.solver.judging`, none in vain.

        `age` is how many of at most `states` states they have been in.
        """
        stand = self._stand()
        if age > 1:
            again = moved & (stand == self.marked).all(axis=0) & (self.until == states)
            self.until[again] = age + (states - age) % (age - self.mark)
        if age & (age - 1) == 0:
            self.mark, self.marked = age, stand
        last = moved & (self.until == age)
        status[last] = OSCILLATING
        goes: Flags = moved & ~last
        return goes

    def _take(self, on: Ints) -> None:
        """Go on with some of the lanes."""
        if len(on) == len(self.lanes):
            return
        self.lanes, self.until = self.lanes[on], self.until[on]
        self.read = self.read.only(on)
        self.curves = self.curves.only(on, self.curves.lines.take(on, axis=2))
        self.curves.amps = np.zeros(self.curves.lines.shape[1:])
        self.closed, self.blown = self.closed[:, on], self.blown[:, on]
        self.marked = self.marked[:, on]

    def _solve_state(self, now: Edgewise, *, again: bool) -> tuple[Edgewise, Flags, int]:
        """Solve the lanes in their present states.

        Returns
        -------
        arrays by edge, bool array, int
            V across the filled edges; which lanes converged; the linear solutions made.
        """
        p, stars, parts = self.p, self.p.stars, self._parts(now)
        lifted = [part.eliminate(stars.early) for part in parts]
        late = p.tail_edges.tolist()
        tail = Tail(p, [part.only(late) for part in parts], self.curves)
        converged, made = tail.iterate(again=again)
        for part, up, drops in zip(parts, lifted, tail.drops, strict=True):
            part.go_back(stars.early, up, drops)
        failed = np.flatnonzero(~converged)
        self.into.worst[self.lanes[failed]] = p.curved[tail.culprit[failed] - 1]
        if parts[0].plain:
            return np.array(tail.drops).T, converged, made
        tail.drops[0][-1] = np.zeros(len(self.lanes))
        return tail.drops[0], converged, made

    def _parts(self, now: Edgewise) -> list[Part]:
        """Return the edges with leaks, straight elements and leads; see `Part`."""
        count = len(self.lanes)
        if count > FEW:
            return [self._filled(now, list(self.read.emf), np.full(count, self.leak))]
        lanes = zip(np.array(now).T.tolist(), self.read.emf.T.tolist(), strict=True)
        return [self._filled(mine, push, self.leak) for mine, push in lanes]

    def _filled(self, now: Edgewise, emf: Edgewise, leak: float | Floats) -> Part:
        p, plain = self.p, isinstance(leak, float)
        g: Edgewise = [0.0 if plain else None] * (p.edges + 1)
        j: Edgewise = g.copy()
        for edge in p.leak_edge.tolist():
            g[edge] = leak
        for number, edge in zip(p.straight.tolist(), p.straight_edge.tolist(), strict=True):
            g[edge] = now[number] if g[edge] is None else g[edge] + now[number]
        ends = p.straight_edge[p.pushing].tolist(), p.straight_sign[p.pushing].tolist()
        for edge, sign, number, push in zip(*ends, p.pushed.tolist(), emf, strict=True):
            more = sign * now[number] * push
            j[edge] = more if j[edge] is None else j[edge] + more
        for edge in p.lead_edge.tolist():
            g[edge] = self.lead + (0.0 * leak if g[edge] is None else g[edge])
        for edge in p.ground_edge[-len(LEADS) :].tolist():
            g[edge] = 0.0 * leak if g[edge] is None else g[edge]  # a lead's end has no leak
        return Part(g, j, plain)

    def _conductances(self) -> Edgewise:
        """Return the conductance of every element with relays and fuses as they stand."""
        siemens = self.read.siemens
        now: Edgewise = siemens.copy() if len(self.lanes) <= FEW else list(siemens)
        live = self.gear.live(self.read.shifts, self.closed, self.blown)
        for index in np.flatnonzero(~live.all(axis=1)).tolist():
            number = self.p.shifting[index]
            now[number] = np.where(live[index], now[number], 0.0)
        return now

    def _judge(self, now: Edgewise, drops: Edgewise, converged: Flags) -> Flags:
        """Let relays and fuses judge; return lanes where one of them changed."""
        limits = self.read.limits
        amps = self.gear.amps(limits, now, drops)
        changed = self.gear.judge_relays(amps, limits, self.closed, converged)
        moved: Flags = changed > 0
        self.into.worst[self.lanes[moved]] = changed[moved] - 1
        moved |= self.gear.judge_fuses(amps, limits, now, self.blown, converged & ~moved)
        return moved

    def _write(self, on: Ints, now: Edgewise, drops: Edgewise, status: Ints) -> None:
        """Write what some of the lanes have come to."""
        if not len(on):
            return
        lanes, siemens, emf = self.lanes, self.read.siemens, self.read.emf
        amps, some = self.curves.currents(), None
        if len(on) < len(lanes):
            some, lanes, status = on, lanes[on], status[on]
            siemens, emf, amps = (each.take(on, axis=1) for each in (siemens, emf, amps))
        for number in self.p.shifting.tolist():
            siemens[number] = now[number] if some is None else now[number].take(some)
        into = self.into
        Settled(self.p, self.leak, lanes, status, siemens, emf, amps).write(drops, some, into)
        into.closed[lanes], into.blown[lanes] = self.closed[:, on].T, self.blown[:, on].T
