"""What an oscilloscope sees of a bus: the bits of actual frames at their rate, through the circuit.

Each bit's level is solved: with all recessive, with each sender dominant, with those that
acknowledge it dominant. Who sends when is the timetable. Pairs that do not touch each other add up.
Edges are upright: drivers need some 50 ns (common practice, no source), less than the oscilloscope
resolves. Frames that collide are drawn one after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim.bus.counters import DOMINANT, Counted
from sim.bus.levels import Levels, solve_levels, spoken
from sim.bus.message import read_identifier
from sim.bus.standing import stand
from sim.bus.timetable import Speaker, timetable
from sim.circuit import Circuit
from sim.network import Floats
from sim.solver.lanes import Lanes, Solution
from sim.solver.steady import Solver

SEEN = 1e-3  # V or A, a swing below which a channel sees nothing of the bus; ours
FINE, MOST = 10, 60_000  # samples a bit, and samples in all; ours
BIT = 2e-6  # s at 500 kbit/s, for the samples

Probe = Callable[[Solution], Floats]


@dataclass(frozen=True, slots=True)
class Window:
    """From when, on the bench's clock, for how many s, in steps of how many s."""

    clock: float
    seconds: float
    step: float


def traced(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    circuit: Circuit,
    window: Window,
    probes: Sequence[Probe],
) -> tuple[Floats, Floats] | None:
    """Return time in s (T,) and curves (probes, L, T), or None where nothing of a bus is seen.

    Parameters
    ----------
    rows : array (V, E, 13)
    probes : functions of a Solution
        What each channel makes of it, (L,).
    """
    levels = solve_levels(solver, rows, lanes)
    standing = stand(solver, rows, lanes, levels)
    quiet = np.array([probe(levels.quiet) for probe in probes])
    moves = [[probe(bit) for bit in levels.bits] for probe in probes]
    if np.abs(np.array(moves) - quiet[:, None, :]).max(initial=0.0) < SEEN:
        return None
    step = max(min(window.step, BIT / FINE), window.seconds / MOST)
    time = np.arange(round(window.seconds / step) + 1, dtype=np.float64) * step
    values: Floats = np.repeat(quiet[:, :, None], len(time), axis=2)
    bits = _levels(solver, rows, lanes, levels, standing.counted)
    moved = np.array([[probe(bit) for bit in bits] for probe in probes]) - quiet[:, None, :]
    for lane, counted in enumerate(standing.counted):
        for pair in _pairs(circuit, levels, counted, lane):
            edges = timetable(pair, len(levels.ports), window.clock, window.clock + window.seconds)
            at = np.searchsorted(edges.times, window.clock + time, side="right") - 1
            who = np.array(edges.who)[at]
            on = who >= 0
            values[:, lane, on] += moved[:, who[on], lane]
    return time, values


def _levels(
    solver: Solver,
    rows: Floats,
    lanes: Lanes,
    levels: Levels,
    counted: tuple[Counted, ...],
) -> list[Solution]:
    """Return solutions: 2 n with transceiver n dominant, 2 n + 1 with those that acknowledge it."""
    settled = replace(lanes, closed=levels.quiet.closed, blown=levels.quiet.blown)
    found = []
    for number, bit in enumerate(levels.bits):
        groups = [one.heard[number] for one in counted]
        answered = levels.quiet
        for group in sorted(set(groups)):
            if any(group):
                ports = tuple(p for p, hears in zip(levels.ports, group, strict=True) if hears)
                wanted = np.array([one == group for one in groups])[None]
                (answered,) = spoken(solver, rows, settled, answered, [ports], wanted)
        found += [bit, answered]
    return found


def _pairs(circuit: Circuit, levels: Levels, counted: Counted, lane: int) -> list[list[Speaker]]:
    """Return the speakers of one lane, pair by pair."""
    reads = np.stack([levels.read(bit)[lane] for bit in levels.bits]) == DOMINANT
    groups: list[set[int]] = []
    for number in range(len(levels.ports)):
        mine = {number} | set(np.flatnonzero(reads[number] & levels.alive[lane]).tolist())
        apart = [group for group in groups if not group & mine]
        joined = set().union(mine, *(group for group in groups if group & mine))
        groups = [*apart, joined]
    found = [
        [one for n in sorted(group) if (one := _speaker(circuit, levels, counted, lane, n))]
        for group in groups
    ]
    return [speakers for speakers in found if speakers]


def _speaker(
    circuit: Circuit, levels: Levels, counted: Counted, lane: int, number: int
) -> Speaker | None:
    """Return what a transceiver sends, None if it sends nothing."""
    port, part = levels.ports[number], circuit.parts[levels.ports[number].unit]
    answered = any(counted.heard[number])
    if port.tester or not (answered or counted.repeats[number]):
        return None
    volts = levels.quiet.volts[lane]
    return Speaker(
        number,
        read_identifier(str(part.values["identifier"])),
        part.number("period"),
        1.0 / part.number("bit rate"),
        float(volts[port.five] - volts[port.minus]),
        acknowledged=answered and not counted.repeats[number],
        repeats=counted.repeats[number],
    )
