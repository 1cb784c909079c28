"""Fuses by the clock: how long each has carried too much, and when a breaker closes again.

Every fuse of a vehicle is an element with a limit. For an action of so many seconds the limit is
the current that opens the fuse within them, ``t = (1 - heat) t_open(I)``, by its time-current
curve (`sim.parts.fuse_curve`); afterwards its heat is ``heat + t / t_open(I)``. A current that it
holds for ever lets it cool, ``heat exp(-t / COOLING)``; above that the curve has the cooling in it,
so that a while in one go or in many makes the same heat. So a fuse of 10 A stands 14 A for a look,
and not for an hour.

A breaker with automatic reset closes when it has been open for `COOLED`; one that is held open
closes when there is next to no voltage across it to hold it. Instruments' fuses keep their limits.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from sim.circuit import Circuit, Part
from sim.network import SHAPE, Floats, Ints, Network
from sim.parts.breaker import COOLING as COOLED
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


@dataclass(frozen=True, slots=True)
class _Fuse:
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


@dataclass(frozen=True, slots=True)
class Fuses:
    """All fuses of a vehicle, breakers and links among them."""

    fuses: tuple[_Fuse, ...]

    @classmethod
    def of(cls, network: Network, circuit: Circuit) -> Fuses:
        """Find the fuses of a circuit."""
        found = []
        for number, name in enumerate(network.fuse_names):
            part = circuit.parts.get(name)
            if part is not None:
                found.append(_fuse(number, network.element(name), part))
        return cls(tuple(found))

    def set_limits(self, rows: Floats, heat: Floats, seconds: float) -> None:
        """Put into rows (V, E, 13) what opens each fuse within `seconds`; infinite leaves them."""
        if not np.isfinite(seconds):
            return
        time = min(max(seconds, LEAST_SECONDS), LONGEST_SECONDS)
        for fuse in self.fuses:
            column = rows[:, fuse.element, SHAPE]
            if not heat[:, fuse.number].any() and (column == column[0]).all():
                rows[:, fuse.element, SHAPE] = _cold_limit(fuse, float(column[0]), time)
                continue
            left = np.maximum(time / np.maximum(1.0 - heat[:, fuse.number], 1e-6), LEAST_SECONDS)
            for steady in np.unique(column).tolist():
                mine = column == steady
                rows[mine, fuse.element, SHAPE] = fuse.limit(steady, left[mine])

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
            amps = np.abs(solution.current[:, fuse.element])
            column = base[:, fuse.element, SHAPE]
            had = heat[:, fuse.number].copy()
            heat[:, fuse.number] = had * cooled
            if (amps > column * HOLDS_OF_LIMIT).any():
                for steady in np.unique(column).tolist():
                    mine = column == steady
                    opens = np.asarray(fuse.time(steady, amps[mine]))
                    heats = had[mine] + seconds / opens
                    heat[mine, fuse.number] = np.where(np.isinf(opens), had[mine] * cooled, heats)
            open_now = blown[:, fuse.number] == 1
            if fuse.reset:
                volts = np.abs(solution.drop[:, fuse.element])
                cold = (fuse.reset == "automatic") & (seconds >= COOLED)
                closes = cold | (volts < HELD_BY)
                blown[open_now & closes, fuse.number] = 0
            heat[open_now, fuse.number] = 0.0
        return np.minimum(heat, 1.0), blown


@functools.lru_cache(maxsize=4096)
def _cold_limit(fuse: _Fuse, steady: float, seconds: float) -> float:
    """Return the current in A that opens a cold fuse in so many seconds."""
    return float(fuse.limit(steady, seconds))


def _fuse(number: int, element: int, part: Part) -> _Fuse:
    area = float(part.values.get("area", 0.0))
    reset = str(part.values.get("reset", ""))
    size = "breaker" if part.kind == "circuit breaker" else str(part.values.get("size", "standard"))
    return _Fuse(number, element, size, area, reset)
