"""The pair solved bit by bit: all recessive, and each transceiver dominant in turn, in one batch.

Receivers by ISO 11898-2 (as a component maker's data sheet states it, TCAN1469-Q1): a difference of
0.9 V and more is dominant, 0.5 V and less recessive, between them neither for sure; and so it is
where the mean of the two lines lies outside of -2 to 7 V against the receiver's own ground (common
mode range of ISO 11898-2:2003). What counts is at the unit's own side of its plug.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.bus.counters import DOMINANT, RECESSIVE, UNSURE
from sim.bus.ports import Port, dominant, ports_of
from sim.network import Floats, Ints
from sim.solver.lanes import Lanes, Solution
from sim.solver.steady import Solver

DOMINANT_FROM, RECESSIVE_TO = 0.9, 0.5  # V, see above
LOWEST, HIGHEST = -2.0, 7.0  # V, common mode, see above
SUPPLIED = 4.0  # V of the 5 V from which a transceiver works; common practice, no source

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Levels:
    """Solutions of L lanes with P transceivers.

    Attributes
    ----------
    ports : tuple of Port
    quiet : Solution
        With all of them recessive.
    bits : tuple of Solution, one a port
        With that one dominant; where it is not alive the quiet one.
    alive : bool array (L, P)
        Which have supply and are awake.
    """

    ports: tuple[Port, ...]
    quiet: Solution
    bits: tuple[Solution, ...]
    alive: Bools

    def read(self, solution: Solution) -> Ints:
        """Return what every transceiver reads (L, P): 1 dominant, 0 recessive, -1 neither."""
        return readings(self.ports, solution)


def readings(ports: tuple[Port, ...], solution: Solution) -> Ints:
    """Return what transceivers read in a solution (L, P): 1 dominant, 0 recessive, -1 neither."""
    high, low, minus = (
        solution.volts[:, [getattr(port, node) for port in ports]]
        for node in ("high", "low", "minus")
    )
    difference, common = high - low, (high + low) / 2 - minus
    found = np.full(difference.shape, UNSURE, dtype=np.int64)
    found[difference >= DOMINANT_FROM] = DOMINANT
    found[difference <= RECESSIVE_TO] = RECESSIVE
    found[(common < LOWEST) | (common > HIGHEST)] = UNSURE
    return found


def alive(ports: tuple[Port, ...], solution: Solution) -> Bools:
    """Return which transceivers have supply and are awake (L, P)."""
    five = solution.volts[:, [port.five for port in ports]]
    minus = solution.volts[:, [port.minus for port in ports]]
    on = solution.closed[:, [port.relay for port in ports]] == 1
    found: Bools = on & (five - minus >= SUPPLIED)
    return found


def solve_levels(
    solver: Solver, rows: Floats, lanes: Lanes, quiet: Solution | None = None
) -> Levels:
    """Solve the pair bit by bit.

    Parameters
    ----------
    rows : array (V, E, 5 or more)
    lanes : Lanes
        What is between the leads, and the states before.
    quiet : Solution or None
        With all of them recessive, if it is known.
    """
    ports = ports_of(solver.network)
    quiet = solver.solve(rows, lanes) if quiet is None else quiet
    awake = alive(ports, quiet)
    settled = replace(lanes, closed=quiet.closed, blown=quiet.blown)
    bits = spoken(solver, rows, settled, quiet, [(port,) for port in ports], awake.T)
    return Levels(ports, quiet, bits, awake)


def spoken(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    quiet: Solution,
    speakers: list[tuple[Port, ...]],
    wanted: Bools,
) -> tuple[Solution, ...]:
    """Return for each group of speakers the solution with them dominant.

    Parameters
    ----------
    quiet : Solution
        What stands where it is not wanted.
    wanted : bool array (groups, L)
        Which lanes are to be solved.
    """
    which = [np.flatnonzero(one) for one in wanted]
    kept = [np.unique(lanes.variant[one]) for one in which]
    stacked, starts, variants = [], 0, []
    for ports, chosen, variant in zip(speakers, which, kept, strict=True):
        stacked.append(dominant(rows[variant], *ports))
        variants.append(starts + np.searchsorted(variant, lanes.variant[chosen]))
        starts += len(variant)
    if not starts:
        return (quiet,) * len(speakers)
    every = np.concatenate(which)
    found = solver.solve(
        np.concatenate(stacked),
        Lanes(
            np.concatenate(variants),
            lanes.instruments[every],
            lanes.attached[every],
            lanes.closed[every],
            lanes.blown[every],
        ),
    )
    ends = np.cumsum([0, *(len(one) for one in which)])
    return tuple(
        _put(quiet, found, chosen, slice(a, b))
        for chosen, a, b in zip(which, ends[:-1], ends[1:], strict=True)
    )


def _put(quiet: Solution, found: Solution, chosen: Ints, part: slice) -> Solution:
    """Return the quiet solution with some lanes replaced by those found."""
    if not len(chosen):
        return quiet
    fields = {}
    for name in ("volts", "drop", "current", "closed", "blown", "status", "worst"):
        whole = getattr(quiet, name).copy()
        whole[chosen] = getattr(found, name)[part]
        fields[name] = whole
    return replace(quiet, **fields)
