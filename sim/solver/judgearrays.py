"""Without compiled code: contacts and fuses as they stand, and relays and fuses that judge.

As in `sim.solver.judging`: relays are judged by coil current, before fuses; of several fuses above
their limit the one that is furthest above it blows, once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.modules.conditions import Flags
from sim.network import Floats, Ints, Network
from sim.solver.laws import COIL, CONTACT
from sim.solver.program import Program
from sim.solver.sweeps import Edgewise


@dataclass(frozen=True, slots=True)
class Switchgear:
    """What switches in a program, and what it is judged by.

    Attributes
    ----------
    contacts, links : int arrays
        Which of `Program.shifting` are contacts, and which fuses.
    coils, fuses : int arrays
        Which of `Program.limited` are coils, and which fuses.
    """

    p: Program
    network: Network
    contacts: Ints
    links: Ints
    coils: Ints
    fuses: Ints

    @classmethod
    def of(cls, p: Program, network: Network) -> Switchgear:
        """Return that of a program."""
        contact, coil = network.laws[p.shifting] == CONTACT, network.laws[p.limited] == COIL
        found = [np.flatnonzero(each) for each in (contact, ~contact, coil, ~coil)]
        return cls(p, network, *found)

    def live(self, shifts: Floats, closed: Ints, blown: Ints) -> Flags:
        """Return which of `Program.shifting` (n, L) conduct, by their rows (5, n, L)."""
        number, network = self.p.shifting, self.network
        live = np.empty(shifts.shape[1:], dtype=bool)
        rests, stuck = shifts[2:4, self.contacts]
        shut = (closed[network.relays[number[self.contacts]]] == 1) != (rests == 1.0)
        live[self.contacts] = (stuck == 1.0) | (shut & (stuck == 0.0))
        live[self.links] = blown[network.fuses[number[self.links]]] == 0
        return live

    def amps(self, limits: Floats, now: Edgewise, drops: Edgewise) -> Floats:
        """Return the size of the current in A of each of `Program.limited`.

        Parameters
        ----------
        limits : float array (5, n, L)
            Their rows of the network.
        now, drops : lists of float arrays (L,)
            Conductance in S of every element; V across every filled edge.
        """
        p, amps = self.p, np.empty(limits.shape[1:])
        edges, signs = p.straight_edge[p.judged].tolist(), p.straight_sign[p.judged].tolist()
        for row, edge, sign in zip(amps, edges, signs, strict=True):
            np.multiply(drops[edge], sign, row)
        amps -= limits[1]
        for row, number in zip(amps, p.limited.tolist(), strict=True):
            np.multiply(row, now[number], row)
        return np.abs(amps, amps)

    def judge_relays(self, amps: Floats, limits: Floats, closed: Ints, asked: Flags) -> Ints:
        """Let relays follow their coil currents; return a coil that changed plus 1, or 0."""
        changed = np.zeros(len(asked), dtype=np.int64)
        for index in self.coils.tolist():
            number = self.p.limited[index]
            mine = closed[self.network.relays[number]]
            upper, lower = limits[2:4, index]
            moves = np.where(mine == 1, amps[index] <= lower, amps[index] >= upper)
            moves &= asked
            if moves.any():
                mine[moves] = 1 - mine[moves]
                changed[moves] = number + 1
        return changed

    def judge_fuses(
        self, amps: Floats, limits: Floats, now: Edgewise, blown: Ints, asked: Flags
    ) -> Flags:
        """Blow the fuse that is furthest above its limit; True for lanes where one blew."""
        worst, ratio = np.full(len(asked), -1), np.ones(len(asked))
        limit = limits[2]
        for index in self.fuses[(amps[self.fuses] > limit[self.fuses]).any(axis=1)].tolist():
            number = self.p.limited[index]
            over = asked & (now[number] > 0.0) & (amps[index] > ratio * limit[index])
            worst[over] = self.network.fuses[number]
            ratio[over] = amps[index, over] / limit[index, over]
        blows: Flags = worst >= 0
        blown[worst[blows], np.flatnonzero(blows)] = 1
        return blows
