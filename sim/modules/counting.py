"""Edges at a pin: whether what a sensor of rotation does carries the pin across both thresholds.

A steady state knows no edges. A sensor that turns is put into its other state (a Hall sensor's
output lets go; a reluctance sensor gives the peak of its EMF either way), the circuit is solved
again, and where the volts at a counting pin lie above the one threshold in one state and below the
other in another there is an edge a period: the unit then knows ::

    speed = 2 pi f / edges in one turn

So an open wire, a short, a sensor without supply or with too weak a signal, each take the speed
away, for its own electrical reason. Inductances are left out; so is noise (ours).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sim.circuit import Circuit
from sim.modules.behaviour import Counted
from sim.modules.conditions import Flags
from sim.network import (
    AMPLITUDE,
    CONDUCTANCE,
    EMF,
    FREQUENCY,
    WAVE,
    Floats,
    Ints,
    Network,
    owner_of,
)
from sim.parts.family import Wave
from sim.solver.lanes import Solution
from sim.solver.laws import SOLVED

SENSORS = ("Hall sensor", "reluctance sensor")


@dataclass(frozen=True, slots=True)
class Moved:
    """A sensor's element in its other state: let go, or at the peak of its EMF (`sign` 1 or -1)."""

    element: int
    sign: float

    def rows(self, rows: Floats) -> Floats:
        """Return rows (L, E, 13) with it so."""
        moved = rows.copy()
        mine = moved[:, self.element]
        if self.sign:
            mine[:, EMF] += self.sign * mine[:, AMPLITUDE]
        else:
            mine[:, CONDUCTANCE] = 0.0
        return moved


class Solve(Protocol):
    """(which lanes, their relays, their fuses, shares of what is driven) -> their steady states."""

    def __call__(
        self, which: Ints, closed: Ints, blown: Ints, shares: Floats, moved: Moved | None = None, /
    ) -> Solution:
        """Solve some lanes; with a sensor's element in its other state if given."""


@dataclass(frozen=True, slots=True)
class Counter:
    """A counting input: whose, with the nodes of its pin and of the unit's ground and supply."""

    unit: int
    item: Counted
    pin: int
    ground: int
    supply: int

    def above_and_below(self, volts: Floats) -> tuple[Flags, Flags]:
        """Return where (L,) volts of all points (L, N) lie beyond the one and the other limit."""
        here, scale = volts[:, self.pin] - volts[:, self.ground], np.ones(len(volts))
        if self.item.relative:
            scale = np.maximum(volts[:, self.supply] - volts[:, self.ground], 0.0)
        return here > self.item.rises * scale, here < self.item.falls * scale


def sensor_elements(network: Network, circuit: Circuit) -> Ints:
    """Return the elements that sensors of rotation move."""
    found = [
        number
        for number, element in enumerate(network.elements)
        if (part := circuit.parts.get(owner_of(element))) is not None
        and part.kind in SENSORS
        and element.name.split()[-1] != "supply"
        and not element.joint
    ]
    return np.array(found, dtype=np.int64)


def frequencies(rows: Floats, sensors: Ints) -> Floats:
    """Return how often (L, S) each sensor's element moves now, in Hz; 0 where it does not."""
    mine = rows[:, sensors]
    moves = (mine[..., CONDUCTANCE] > 0.0) & (mine[..., AMPLITUDE] != 0.0)
    found: Floats = np.where(moves & (mine[..., WAVE] != Wave.NONE), mine[..., FREQUENCY], 0.0)
    return found


def counted(
    counters: tuple[Counter, ...],
    sensors: Ints,
    often: Floats,
    sways: Flags,
    seen: tuple[Ints, Solution, Floats],
    solve: Solve,
) -> Floats:
    """Return the speed (L, C) in rad/s that each counting input makes of its edges; 0 for none.

    Parameters
    ----------
    often : float array (L, S)
        From `frequencies`.
    sways : bool array (L, S)
        Whether a sensor alternates about what is solved, or lets go of it.
    seen : (which lanes, how they stand, shares of what is driven)
    """
    which, solution, shares = seen
    speeds = np.zeros((len(which), len(counters)))
    for number, element in enumerate(sensors.tolist()):
        for sine in (True, False):
            lanes = np.flatnonzero((often[:, number] > 0.0) & (sways[:, number] == sine))
            if not len(lanes):
                continue
            states = [solution.volts[lanes]]
            solved = solution.status[lanes] == SOLVED
            for sign in (1.0, -1.0) if sine else (0.0,):
                closed, blown = solution.closed[lanes], solution.blown[lanes]
                moved = Moved(element, sign)
                other = solve(which[lanes], closed, blown, shares[lanes], moved)
                states.append(other.volts)
                solved &= other.status == SOLVED
            for column, one in enumerate(counters):
                sides = [one.above_and_below(volts) for volts in states]
                high = np.logical_or.reduce([above for above, _below in sides])
                low = np.logical_or.reduce([below for _above, below in sides])
                speed = math.tau * often[lanes, number] / one.item.edges
                edges = np.where(high & low & solved, speed, 0.0)
                speeds[lanes, column] = np.maximum(speeds[lanes, column], edges)
    return speeds
