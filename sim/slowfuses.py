"""Fuses by the clock: how long each has carried too much, and when a breaker closes again.

Every fuse of a vehicle is an element with a limit. For an action of so many seconds the limit is
the current that opens the fuse within them, ``t = (1 - heat) t_open(I)``, by its time-current
curve (`sim.parts.fuse_curve`); afterwards its heat is ``heat + t / t_open(I)``. A current that it
holds for ever lets it cool, ``heat exp(-t / COOLING)``; above that the curve has the cooling in it,
so that a while in one go or in many makes the same heat. So a fuse of 10 A stands 14 A for a look,
and not for an hour.

A breaker that is held open closes when there is next to no voltage across it to hold it; one with
automatic reset comes and goes by the clock (`sim.slowbreakers`). Instruments' fuses keep their
limits.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit, Part
from sim.network import SHAPE, Floats, Ints, Network
from sim.parts.fuse import OPENING_FACTOR
from sim.parts.fuse_curve import (
    HOLDS,
    Numbers,
    link_opening_current,
    link_opening_time,
    opening_current,
    opening_time,
)
from sim.solver.steady import Solution

COOLING = 60.0  # s, ours
LEAST_SECONDS = 1.0  # s, the shortest look at anything; ours
LONGEST_SECONDS = 360e3  # s, 100 h: what ISO 8820-3 wants a fuse to hold at its rating
HOLDS_OF_LIMIT = HOLDS / OPENING_FACTOR  # of the steady limit, which no fuse minds
HELD_BY = 1.0  # V across a breaker that its heater needs to hold it open; ours
NEVER_OPENS = 1e9  # A


@dataclass(frozen=True, slots=True)
class Fuse:
    """One fuse of the vehicle: its number among the fuses, its element, its curve."""

    number: int
    element: int
    size: str
    area: float
    reset: str

    def limit(self, steady: float, seconds: Numbers) -> Numbers:
        """Return the current in A that opens it in so many seconds; `steady` is its row's limit."""
        if self.area > 0.0:
            return link_opening_current(self.area, seconds)
        return opening_current(steady / OPENING_FACTOR, seconds, self.size)

    def time(self, steady: float, amps: Numbers) -> Numbers:
        """Return the seconds that it carries a current in A."""
        if self.area > 0.0:
            return link_opening_time(self.area, amps)
        return opening_time(steady / OPENING_FACTOR, amps, self.size)

    def opens_in(self, base: Floats, current: Floats) -> Floats:
        """Return the seconds (L,) in which currents (L, E) open it cold; infinite for never.

        `base` (L, E, 13) has the limits of the steady state.
        """
        amps, column = np.abs(current[:, self.element]), base[:, self.element, SHAPE]
        found = np.full(len(amps), np.inf)
        if (amps > column * HOLDS_OF_LIMIT).any():
            for steady in np.unique(column).tolist():
                mine = column == steady
                found[mine] = self.time(steady, amps[mine])
        return found

    @property
    def automatic(self) -> bool:
        """Whether it is a breaker that closes again by itself."""
        return self.reset == "automatic"


@dataclass(frozen=True, slots=True)
class Fuses:
    """All fuses of a vehicle, breakers and links among them."""

    fuses: tuple[Fuse, ...]

    @classmethod
    def of(cls, network: Network, circuit: Circuit) -> Fuses:
        """Find the fuses of a circuit."""
        found = []
        for number, name in enumerate(network.fuse_names):
            part = circuit.parts.get(name)
            if part is not None:
                found.append(_fuse(number, network.element(name), part))
        return cls(tuple(found))

    def set_limits(
        self, rows: Floats, heat: Floats, seconds: float, least: float = LEAST_SECONDS
    ) -> None:
        """Put into rows (V, E, 13) what opens each fuse within `seconds`; infinite leaves them.

        No less than `least` seconds count.
        """
        if not np.isfinite(seconds):
            return
        time = min(max(seconds, least), LONGEST_SECONDS)
        for fuse in self.fuses:
            column = rows[:, fuse.element, SHAPE]
            if not heat[:, fuse.number].any() and (column == column[0]).all():
                rows[:, fuse.element, SHAPE] = _cold_limit(fuse, float(column[0]), time)
                continue
            left = np.maximum(time / np.maximum(1.0 - heat[:, fuse.number], 1e-6), least)
            for steady in np.unique(column).tolist():
                mine = column == steady
                rows[mine, fuse.element, SHAPE] = fuse.limit(steady, left[mine])

    def limits(self, rows: Floats) -> Floats:
        """Return the current in A (V, F) that opens each fuse in rows (V, E, 13)."""
        found: Floats = rows[:, [fuse.element for fuse in self.fuses], SHAPE]
        return found

    def after(
        self, base: Floats, heat: Floats, blown: Ints, solution: Solution, seconds: float
    ) -> tuple[Floats, Ints]:
        """Return (heat, blown) after currents have flowed for a while.

        Parameters
        ----------
        base : float array (V, E, 13)
            Rows with the limits of the steady state.
        heat, blown : arrays (V, F)
        solution : Solution
        seconds : float
        """
        heat, blown = heat.copy(), blown.copy()
        cooled = math.exp(-seconds / COOLING)
        for fuse in self.fuses:
            open_now = blown[:, fuse.number] == 1
            had = heat[:, fuse.number].copy()
            opens = fuse.opens_in(base, solution.current)
            heats = had + seconds / opens
            heat[:, fuse.number] = np.where(np.isinf(opens), had * cooled, heats)
            if fuse.automatic:  # an open one cools by its own clock
                heat[open_now, fuse.number] = had[open_now]
                continue
            if fuse.reset:
                volts = np.abs(solution.drop[:, fuse.element])
                blown[open_now & (volts < HELD_BY), fuse.number] = 0
            heat[open_now, fuse.number] = 0.0
        return np.minimum(heat, 1.0), blown

    @property
    def automatic(self) -> tuple[Fuse, ...]:
        """The breakers that close by themselves."""
        return tuple(fuse for fuse in self.fuses if fuse.automatic)

    def held(self, rows: Floats, *, all_of_them: bool = True) -> Floats:
        """Return rows (V, E, 13) in which no fuse of the vehicle, or no breaker here, opens."""
        rows = rows.copy()
        for fuse in self.fuses if all_of_them else self.automatic:
            rows[:, fuse.element, SHAPE] = NEVER_OPENS
        return rows


@functools.lru_cache(maxsize=4096)
def _cold_limit(fuse: Fuse, steady: float, seconds: float) -> float:
    """Return the current in A that opens a cold fuse in so many seconds."""
    return float(fuse.limit(steady, seconds))


def _fuse(number: int, element: int, part: Part) -> Fuse:
    area = float(part.values.get("area", 0.0))
    reset = str(part.values.get("reset", ""))
    size = "breaker" if part.kind == "circuit breaker" else str(part.values.get("size", "standard"))
    return Fuse(number, element, size, area, reset)
