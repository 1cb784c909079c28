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
from sim.solver.lanes import Solution
from sim.solver.laws import COIL, CONTACT, FUSE, NOT_CONVERGED, OSCILLATING, SOLVED
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
    made = 0
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for lanes in np.array_split(which, -(-len(which) // CHUNK) or 1):
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
        self.p, self.network, self.into, self.lanes = program, network, into, lanes
        self.lead, self.leak = siemens
        self.read, self.curves = read, Curves(program, read.bent)
        self.closed, self.blown = into.closed[lanes].T.copy(), into.blown[lanes].T.copy()
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
            moved = self._judge_relays(now, drops, converged)
            moved |= self._judge_fuses(now, drops, converged & ~moved)
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
        list by edge of arrays, bool array, int
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
            return list(np.array(tail.drops).T), converged, made
        tail.drops[0][-1] = np.zeros(len(self.lanes))
        return tail.drops[0], converged, made

    def _parts(self, now: Edgewise) -> list[Part]:
        """Return the edges with leaks, straight elements and leads; see `Part`."""
        count = len(self.lanes)
        if count > FEW:
            return [self._filled(now, list(self.read.emf), np.full(count, self.leak))]
        rows, pushes = np.array(now).T.tolist(), self.read.emf.T.tolist()
        return [
            self._filled(mine, push, self.leak) for mine, push in zip(rows, pushes, strict=True)
        ]

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
        network, now = self.network, list(self.read.siemens)
        _g, _emf, rests, stuck, *_rest = self.read.shifts
        for index, number in enumerate(self.p.shifting.tolist()):
            if network.laws[number] == CONTACT:
                at_rest = rests[index] == 1.0
                shut = (self.closed[network.relays[number]] == 1) != at_rest
                live = (stuck[index] == 1.0) | (shut & (stuck[index] == 0.0))
            else:
                live = self.blown[network.fuses[number]] == 0
            if not live.all():
                now[number] = np.where(live, now[number], 0.0)
        return now

    def _amps(self, index: int, now: Edgewise, drops: Edgewise) -> Floats:
        """Return the size of the current through one of those that are judged."""
        p = self.p
        i = int(p.judged[index])
        drop = p.straight_sign[i] * drops[p.straight_edge[i]]
        amps: Floats = np.abs(now[p.straight[i]] * (drop - self.read.limits[1, index]))
        return amps

    def _judge_relays(self, now: Edgewise, drops: Edgewise, asked: Flags) -> Flags:
        """Let relays follow their coil currents; True for lanes where one changed."""
        network, changed = self.network, np.zeros(len(asked), dtype=bool)
        for index, number in enumerate(self.p.limited.tolist()):
            if network.laws[number] == COIL:
                amps, closed = self._amps(index, now, drops), self.closed[network.relays[number]]
                upper, lower = self.read.limits[2:4, index]
                moves = asked & np.where(closed == 1, amps <= lower, amps >= upper)
                closed[moves] = 1 - closed[moves]
                changed |= moves
                self.into.worst[self.lanes[moves]] = number
        return changed

    def _judge_fuses(self, now: Edgewise, drops: Edgewise, asked: Flags) -> Flags:
        """Blow the fuse that is furthest above its limit; True for lanes where one blew."""
        network, worst, ratio = self.network, np.full(len(asked), -1), np.ones(len(asked))
        for index, number in enumerate(self.p.limited.tolist()):
            if network.laws[number] == FUSE:
                amps, limit = self._amps(index, now, drops), self.read.limits[2, index]
                over = asked & (now[number] > 0.0) & (amps > ratio * limit)
                if over.any():
                    worst[over] = network.fuses[number]
                    ratio[over] = amps[over] / limit[over]
        blows = worst >= 0
        self.blown[worst[blows], np.flatnonzero(blows)] = 1
        return blows

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
