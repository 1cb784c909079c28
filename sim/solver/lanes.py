"""What is solved and what comes of it: arrays over lanes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol, Self

from sim.network import Floats, Ints


class Hearing(Protocol):
    """How the bus of every lane stands; see `sim.bus.standing`."""

    def heard(self, lane: int, sender: str, receiver: str) -> bool:
        """Tell whether what a unit sends arrives at another."""

    def reaches(self, lane: int, one: str, other: str) -> bool:
        """Tell whether two units hear each other."""

    def awake(self, lane: int, unit: str) -> bool:
        """Tell whether a unit has power and ground and does not sleep."""


@dataclass(frozen=True, slots=True)
class Lanes:
    """What to solve: which row, what is between the leads, where the leads are, states before.

    Attributes
    ----------
    variant : int array (L,)
    instruments : float array (L, 4, 5)
        Rows of meter, meter lamp, meter shunt and jumper.
    attached : int array (L, 4)
        Node of red, black, jumper from, jumper to; -1 for nowhere.
    closed, blown : int arrays (L, R), (L, F)
        1 for a relay pulled in, 1 for a fuse blown.
    """

    variant: Ints
    instruments: Floats
    attached: Ints
    closed: Ints
    blown: Ints

    def only(self, which: Ints) -> Lanes:
        """Return some of the lanes."""
        return Lanes(
            self.variant[which],
            self.instruments[which],
            self.attached[which],
            self.closed[which],
            self.blown[which],
        )


@dataclass(frozen=True, slots=True)
class Solution:
    """Steady states of L lanes.

    Attributes
    ----------
    volts : float array (L, N)
        Against the body.
    drop, current : float arrays (L, E)
        From a to b of each element, V and A.
    closed, blown : int arrays (L, R), (L, F)
        States after.
    status : int array (L,)
        0 solved, 1 not converged, 2 oscillating.
    solutions : int
        Linear solutions made.
    worst : int array (L,)
        Where status is not 0: a curved element that did not settle, or a coil that never rests.
    power : float array (L, E) or None
        W in each element where voltage and current are means of something pulsed; drop times
        current if None.
    bus : Hearing or None
        How the bus stands, where there is one and its bits have been solved (`sim.bus.live`).
    """

    volts: Floats
    drop: Floats
    current: Floats
    closed: Ints
    blown: Ints
    status: Ints
    solutions: int
    worst: Ints
    power: Floats | None = None
    bus: Hearing | None = None

    def only(self, which: slice | Ints) -> Self:
        """Return some of the lanes; how a bus stands is left out."""
        return replace(
            self,
            volts=self.volts[which],
            drop=self.drop[which],
            current=self.current[which],
            closed=self.closed[which],
            blown=self.blown[which],
            status=self.status[which],
            worst=self.worst[which],
            power=None if self.power is None else self.power[which],
            bus=None,
        )

    def put(self, which: Ints, new: Solution) -> Self:
        """Return a solution with some lanes from another; for one without pulses and bus."""
        arrays = {}
        for name in ("volts", "drop", "current", "closed", "blown", "status", "worst"):
            arrays[name] = getattr(self, name).copy()
            arrays[name][which] = getattr(new, name)
        return replace(self, **arrays, solutions=self.solutions + new.solutions)
