"""The same program in whole arrays, for where nothing is compiled: the same bits, more slowly.

A row of every array is one edge, a column one lane, as in the compiled kernel, but whole groups of
nodes and some hundred lanes are worked on by one numpy operation. Each number goes through the same
operations in the same order as there: every operation is rounded as IEEE 754 prescribes, so that
nothing depends on how many lanes are worked on together.
"""

from __future__ import annotations

import numpy as np

from sim.network import Floats, Ints, Network
from sim.solver.lanes import Solution
from sim.solver.laws import (
    COIL,
    CONTACT,
    FUSE,
    NOT_CONVERGED,
    OSCILLATING,
    SOLVED,
    WORKING,
)
from sim.solver.newton import KEPT, law_current
from sim.solver.program import Program
from sim.solver.sweeps import eliminate, go_back
from sim.solver.tailarrays import Tail
from sim.solver.writing import STIFF

CHUNK = 2048  # lanes at once: what numpy takes to begin an operation then counts little; ours


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
    room = np.empty((3, program.edges + 1, min(CHUNK, len(which))))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for start in range(0, len(which), CHUNK):
            lanes = which[start : start + CHUNK]
            chunk = _Chunk(program, network, (lead, leak), into, lanes, room)
            strange = chunk.gather(rows, variant[lanes], instruments[lanes])
            if strange >= 0:
                return made, strange
            made += chunk.solve()
            chunk.write()
    return made, -1


class _Chunk:
    """Some hundred lanes on their way to a consistent state."""

    def __init__(
        self,
        program: Program,
        network: Network,
        siemens: tuple[float, float],
        into: Solution,
        lanes: Ints,
        room: Floats,
    ) -> None:
        self.room = room
        self.p, self.network, self.into, self.lanes = program, network, into, lanes
        self.lead, self.leak = siemens
        self.closed, self.blown = into.closed[lanes].T.copy(), into.blown[lanes].T.copy()
        self.status = np.full(len(lanes), WORKING)
        self.d = np.zeros((program.edges + 1, len(lanes)))

    def gather(self, rows: Floats, variant: Ints, instruments: Floats) -> int:
        """Copy what the lanes' rows say; return an element with an unforeseen EMF, or -1."""
        p = self.p
        read = _Reader(rows, variant, instruments)
        self.siemens, self.emf = read(p.straight, 0), read(p.straight, 1)
        self.now = self.siemens.copy()
        strange = np.setdiff1d(p.straight[self.emf.any(axis=1)], p.pushed)
        if len(strange):
            return int(strange[0])
        switching, judged = p.straight[p.switching], p.straight[p.judged]
        self.rests, self.stuck = read(switching, 2), read(switching, 3)
        self.upper, self.lower = read(judged, 2), read(judged, 3)
        self.kept = np.zeros((len(p.curved) * KEPT, len(self.lanes)))
        for column in range(5):
            self.kept[column::KEPT] = read(p.curved, column)
        return -1

    def solve(self) -> int:
        """Bring the lanes to a consistent state; return the linear solutions made."""
        made, states = 0, 8 + 4 * (len(self.closed) + len(self.blown))
        self.mark, self.until = 0, np.full(len(self.lanes), states)
        self.marked = np.zeros((len(self.closed) + len(self.blown), len(self.lanes)), np.int64)
        working = np.arange(len(self.lanes))
        for state in range(states):
            made += self._solve_states(working, again=state > 0)
            judged = working[self.status[working] == WORKING]
            moved = self._judge_relays(judged)
            moved[~moved] = self._judge_fuses(judged[~moved])
            self.status[judged[~moved]] = SOLVED
            working = self._go_round(judged[moved], state + 1, states)
            if not len(working):
                break
        return made

    def _go_round(self, on: Ints, age: int, states: int) -> Ints:
        """Return lanes that go on; of those that go round, see `sim.solver.judging`, none in vain.

        `age` is how many of at most `states` states they have been in.
        """
        stand = np.concatenate([self.closed[:, on], self.blown[:, on]])
        if age > 1:
            again = on[(stand == self.marked[:, on]).all(axis=0) & (self.until[on] == states)]
            self.until[again] = age + (states - age) % (age - self.mark)
        if age & (age - 1) == 0:
            self.mark, self.marked[:, on] = age, stand
        last = self.until[on] == age
        self.status[on[last]] = OSCILLATING
        left: Ints = on[~last]
        return left

    def _solve_states(self, on: Ints, *, again: bool) -> int:
        """Solve some lanes in their present states; set status where they do not converge."""
        p = self.p
        whole = len(on) == len(self.lanes)
        g, j, d = self.room[:, :, : len(on)]
        self._fill(on, g, j)
        lifted = eliminate(p.groups, g, j)
        tail = Tail(p, g[p.tail_edges], j[p.tail_edges], self.kept if whole else self.kept[:, on])
        converged, made = tail.iterate(again=again)
        d = self.d if whole else d
        d[-1] = 0.0
        d[p.tail_edges] = tail.drops
        go_back(p.groups, g, lifted, d)
        if not whole:
            self.kept[:, on], self.d[:, on] = tail.kept, d
        self.status[on[~converged]] = NOT_CONVERGED
        failed = tail.culprit[~converged] - 1
        self.into.worst[self.lanes[on[~converged]]] = p.curved[failed]
        return made

    def _fill(self, on: Ints, g: Floats, j: Floats) -> None:
        """Fill the edges with leaks, straight elements and leads."""
        p = self.p
        now = self._conductances(on)
        g[:], j[:] = 0.0, 0.0
        g[p.leak_edge] = self.leak
        for i, edge in enumerate(p.straight_edge.tolist()):
            g[edge] += now[i]
        for i in p.pushing.tolist():
            j[p.straight_edge[i]] += p.straight_sign[i] * now[i] * self.emf[i, on]
        for edge in p.lead_edge.tolist():
            g[edge] += self.lead

    def _conductances(self, on: Ints) -> Floats:
        p, network = self.p, self.network
        whole = len(on) == len(self.lanes)
        now: Floats = self.now if whole else self.siemens[:, on]
        for index, i in enumerate(p.switching.tolist()):
            number = p.straight[i]
            if network.laws[number] == CONTACT:
                at_rest, stuck = self.rests[index, on] == 1.0, self.stuck[index, on]
                shut = (self.closed[network.relays[number], on] == 1) != at_rest
                live = (stuck == 1.0) | (shut & (stuck == 0.0))
            else:
                live = self.blown[network.fuses[number], on] == 0
            now[i] = np.where(live, self.siemens[i, on], 0.0)
        if not whole:
            self.now[:, on] = now
        return now

    def _amps(self, i: int, on: Ints) -> Floats:
        p = self.p
        drop = p.straight_sign[i] * self.d[p.straight_edge[i], on]
        amps: Floats = np.abs(self.now[i, on] * (drop - self.emf[i, on]))
        return amps

    def _judge_relays(self, on: Ints) -> np.ndarray:
        """Let relays follow their coil currents; True for lanes where one changed."""
        p, network = self.p, self.network
        changed = np.zeros(len(on), dtype=bool)
        for index, i in enumerate(p.judged.tolist()):
            number = p.straight[i]
            if network.laws[number] == COIL:
                amps, closed = self._amps(i, on), self.closed[network.relays[number], on] == 1
                pulls = ~closed & (amps >= self.upper[index, on])
                drops = closed & (amps <= self.lower[index, on])
                self.closed[network.relays[number], on] = (closed | pulls) & ~drops
                changed |= pulls | drops
                self.into.worst[self.lanes[on[pulls | drops]]] = number
        return changed

    def _judge_fuses(self, on: Ints) -> np.ndarray:
        """Blow the fuse that is furthest above its limit; True for lanes where one blew."""
        p, network = self.p, self.network
        worst = np.full(len(on), -1)
        ratio = np.ones(len(on))
        for index, i in enumerate(p.judged.tolist()):
            number = p.straight[i]
            if network.laws[number] == FUSE:
                amps, limit = self._amps(i, on), self.upper[index, on]
                over = (self.now[i, on] > 0.0) & (amps > ratio * limit)
                worst[over] = network.fuses[number]
                ratio[over] = amps[over] / limit[over]
        blows = worst >= 0
        self.blown[worst[blows], on[blows]] = 1
        return blows

    def write(self) -> None:
        """Write what the lanes have come to."""
        p, into, lanes = self.p, self.into, self.lanes
        volts = self.d[p.ground_edge] + 0.0
        drop = p.element_sign[:, None] * self.d[p.element_edge] + 0.0
        current = np.zeros(drop.shape)
        numbers = p.straight
        current[numbers] = self.now * (drop[numbers] - self.emf) + 0.0
        for c, (number, law) in enumerate(
            zip(p.curved.tolist(), p.curved_law.tolist(), strict=True)
        ):
            g, emf, *shape = self.kept[c * KEPT : c * KEPT + 5]
            amps, _slope = law_current(law, drop[number] - emf, g, *shape)
            current[number] = np.where(g > 0.0, amps, 0.0) + 0.0
        self._write_owed(volts, current)
        sums = np.abs(drop).sum(axis=0) + np.abs(volts).sum(axis=0)
        self.status[~np.isfinite(sums)] = NOT_CONVERGED
        lost = self.status == NOT_CONVERGED
        for values, home in ((volts, into.volts), (drop, into.drop), (current, into.current)):
            values[:, lost] = 0.0
            home[lanes] = values.T
        into.status[lanes] = self.status
        into.closed[lanes], into.blown[lanes] = self.closed.T, self.blown.T

    def _write_owed(self, volts: Floats, current: Floats) -> None:
        p = self.p
        for index, number in enumerate(p.owed.tolist()):
            node = int(p.owed_node[index])
            amps = -self.leak * volts[node] if node > 0 else self.leak * volts[-node]
            for place in range(p.owed_at[index], p.owed_at[index + 1]):
                amps = amps + p.owed_sign[place] * current[p.owed_by[place]]
            stiff = self.now[p.owed_row[index]] >= STIFF
            current[number] = np.where(stiff, amps + 0.0, current[number])


class _Reader:
    """Reads columns of rows for some lanes, as arrays (elements, lanes)."""

    def __init__(self, rows: Floats, variant: Ints, instruments: Floats) -> None:
        self.flat, self.elements, self.columns = rows.ravel(), rows.shape[1], rows.shape[2]
        self.first, self.instruments = variant * (rows.shape[1] * rows.shape[2]), instruments

    def __call__(self, numbers: Ints, column: int) -> Floats:
        """Return one column of some elements."""
        place = numbers * self.columns + column
        read: Floats = self.flat.take(place[:, None] + self.first)
        for i in np.flatnonzero(numbers >= self.elements - 4):
            read[i] = self.instruments[:, numbers[i] - self.elements + 4, column]
        return read
