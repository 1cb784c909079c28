"""Readings in which a relay or fuse may change its state: the whole circuit with the meter in it.

Where the meter makes one coil surely change its relay, and nothing else, the whole circuit goes on
from there with that relay moved. So the lane is solved once more without a meter, with the relay
moved and everything else held as it is, and read like any other: where all states are then obeyed
with the meter in it, that is the reading. For all else, and without compiled code, the circuit is
solved with the meter in it, which takes a program for each pair of points.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim.network import Floats, Ints
from sim.solver.laws import COIL
from sim.solver.pairlane import REASONS
from sim.solver.pairway import Meter, Sheet, Solved, read_compiled


class Whole:
    """Reads what could not be read by a change of low rank.

    Parameters
    ----------
    solved : Solved
    tally : int array (4,)
        Is counted up; see `sim.solver.pairreading.read`.
    """

    def __init__(self, solved: Solved, tally: Ints) -> None:
        self.solved, self.solver, solution = solved, solved.solver, solved.solution
        self.lanes = replace(solved.lanes, closed=solution.closed, blown=solution.blown)
        self.tally, self.count, self.moved = tally, 0, 0
        program, network = self.solver.program, self.solver.network
        numbers = program.straight[program.judged]
        coils = [relay for relay in network.relays[numbers].tolist() if relay >= 0]
        alone = [
            network.laws[number] == COIL and coils.count(network.relays[number]) == 1
            for number in numbers.tolist()
        ]
        self.limited, self.alone = numbers, np.array([*alone, False])

    def volts(self, where: Ints, why: np.ndarray, meter: Meter) -> Floats:
        """Return what a voltmeter shows at (lane, pair)."""
        load = np.full(len(where), meter.input_resistance)
        return self.drops(where, load, 0.0, why // REASONS)

    def drops(self, where: Ints, series: Floats, emf: float, coil: Ints) -> Floats:
        """Return V between the jacks at (lane, pair), the meter being `series` ohms and an EMF.

        `coil` is which coil does not keep its state, the number of all if that is not known.
        """
        found = np.full(len(where), np.nan)
        if not self.solver.plain:
            some = np.flatnonzero(self.alone[coil])
            for ohms in np.unique(series[some]).tolist():
                mine = some[series[some] == ohms]
                found[mine] = self._moved(where[mine], ohms, emf, coil[mine])
        rest = np.flatnonzero(np.isnan(found))
        if len(rest):
            found[rest] = self._solved(where[rest], series[rest], emf)
        return found

    def _moved(self, where: Ints, series: float, emf: float, coil: Ints) -> Floats:
        """Return the same with the relays of coils moved; NaN where that is not obeyed."""
        network, coils = self.solver.network, len(self.limited)
        states, state = np.unique(where[:, 0] * coils + coil, return_inverse=True)
        lanes, each = self.lanes.only(states // coils), np.arange(len(states))
        relay = network.relays[self.limited[states % coils]]
        lanes.closed[each, relay] = 1 - lanes.closed[each, relay]
        held = self.solved.rows[lanes.variant]
        held[:, self.limited, 2], held[:, self.limited, 3] = np.inf, -1.0  # nothing moves
        solution = self.solver.solve(held, replace(lanes, variant=each))
        pairs, pair = np.unique(where[:, 1], return_inverse=True)
        sheet = Sheet.empty(len(states), len(pairs), ohms=False)
        meter = Meter(series, 0.0, (series,), (np.inf,), 0.0)
        red, black = self.solved.ends
        again = replace(
            self.solved, lanes=lanes, solution=solution, ends=(red[pairs], black[pairs])
        )
        read_compiled(again, meter, sheet, self.tally, emf=emf)
        drops: Floats = sheet.volts[state, pair]
        self.moved += int(np.isfinite(drops).sum())
        return drops

    def _solved(self, where: Ints, series: Floats, emf: float) -> Floats:
        lanes = self.lanes.only(where[:, 0])
        lanes.instruments[:, 0, :2] = np.stack([1.0 / series, np.full(len(series), emf)], axis=1)
        for lead, end in enumerate(self.solved.ends):
            lanes.attached[:, lead] = self.solved.points[end[where[:, 1]]]
        self.count += len(where)
        solution = self.solver.solve(self.solved.rows, lanes)
        return np.where(solution.status == 0, solution.drop[:, -4], np.nan)

    def ohms(self, where: Ints, why: np.ndarray, meter: Meter) -> Floats:
        """Return what an ohmmeter shows at (lane, pair) that finds its range with the last one."""
        series, scales = np.array(meter.series), np.array(meter.full_scale)
        coil, choice = why.astype(np.int64) // REASONS, why.astype(np.int64) % REASONS - 1

        def read(choice: Ints, some: Ints) -> Floats:
            drop = self.drops(where[some], series[choice], meter.test_voltage, coil[some])
            coil[some] = len(self.limited)  # in another range nothing is known of it
            with np.errstate(divide="ignore", invalid="ignore"):
                shown = series[choice] * drop / (meter.test_voltage - drop) - meter.zeroed
            return np.where(drop < meter.test_voltage * (1 - 1e-12), shown, np.inf)

        last, looking = len(scales) - 1, np.flatnonzero(choice < 0)
        guess = read(np.full(len(looking), last), looking)
        found = np.searchsorted(scales, np.maximum(guess, 0.0), side="right")
        choice[looking] = np.minimum(found, last)
        shown, again = np.empty(len(where)), np.arange(len(where))
        while len(again):
            shown[again] = read(choice[again], again)
            again = again[(shown[again] >= scales[choice[again]]) & (choice[again] < last)]
            choice[again] += 1
        return np.where(shown < scales[choice], shown, np.inf)
