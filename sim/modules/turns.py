"""Whom the rules are asked of, and one turn of every module, over all variants."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from sim.modules.bus import received, sent
from sim.modules.conditions import Flags, Floats
from sim.modules.counting import frequencies
from sim.modules.held import Held
from sim.modules.pulses import Pulsed
from sim.modules.unit import Shut, Turn, contact_shares, take_turn
from sim.modules.wiring import Modules, dead
from sim.network import WAVE, Ints
from sim.parts.family import Wave


@dataclass(frozen=True, slots=True)
class Asked:
    """Whom the rules are asked of: clocks (L,), and who is dead inside (L, M).

    `often` (L, S) is how often sensors of rotation move, in Hz; they alternate where it `sways`.
    """

    modules: Modules
    clock: Floats
    dead: Flags
    often: Floats
    sways: Flags

    @classmethod
    def of(cls, modules: Modules, rows: Floats, variant: Ints, clock: Floats) -> Asked:
        """Look at rows (V, E, 13) as they are now; `variant` (L,) says which is each lane's."""
        gone = np.array([dead(rows, unit) for unit in modules.units]).T[variant]
        sways = (rows[:, modules.sensors, WAVE] == Wave.SINE)[variant]
        often = frequencies(rows, modules.sensors)[variant]
        return cls(modules, clock, gone, often, sways)

    def take(self, which: Ints) -> Asked:
        """Return some of the variants."""
        some = (self.clock[which], self.dead[which], self.often[which], self.sways[which])
        return Asked(self.modules, *some)


def take_turns(asked: Asked, held: Held, pulsed: Pulsed) -> tuple[list[Turn], Held]:
    """Give every module its turn; return the turns, and what the modules remember then."""
    states, shares = list(held.states), held.shares.copy()
    tripped, cleared = held.tripped.copy(), held.cleared.copy()
    messages, turns = dict[tuple[int, str], Floats](), dict[int, Turn]()
    imposed_now = held.told(asked.clock)
    units = sorted(enumerate(asked.modules.units), key=lambda pair: bool(pair[1].hears))
    for number, unit in units:  # who hears comes last
        alive, columns = ~asked.dead[:, number], unit.columns
        heard = received(unit, pulsed, shares, messages)
        for column, one in enumerate(asked.modules.counters):
            if one.unit == number:
                heard[one.item.name] = pulsed.turning[:, column]
        volts, imposed = pulsed.solution.volts, imposed_now[:, columns]
        turn = take_turn(unit, volts, held.states[number], asked.clock, alive, heard)
        before = Shut(shares[:, columns], tripped[:, columns], cleared[:, columns])
        shares[:, columns], tripped[:, columns], cleared[:, columns] = contact_shares(
            unit, turn, before, imposed, pulsed.peak
        )
        messages |= sent(number, unit, turn, imposed)
        states[number], turns[number] = turn.state, turn
    new = replace(held, states=tuple(states), shares=shares, tripped=tripped, cleared=cleared)
    return [turns[number] for number in range(len(turns))], new


@dataclass(frozen=True, slots=True)
class Decided:
    """What comes of a turn of every module.

    Attributes
    ----------
    held : Held
        What they remember then.
    rests : bool array (L,)
        Whether another look at the same pins would change nothing.
    works : bool array (L, M)
        Who has power.
    """

    held: Held
    rests: Flags
    works: Flags

    @classmethod
    def of(cls, asked: Asked, held: Held, pulsed: Pulsed) -> Decided:
        """Let every module take its turn."""
        turns, new = take_turns(asked, held, pulsed)
        rests = np.ones(len(asked.clock), dtype=bool)
        for turn in turns:
            rests &= turn.rests
        return cls(new, rests, np.stack([turn.view.working for turn in turns], axis=1))

    def take(self, which: Ints) -> Self:
        """Return some of the variants."""
        return replace(
            self, held=self.held.take(which), rests=self.rests[which], works=self.works[which]
        )
