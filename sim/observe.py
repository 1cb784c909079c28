"""(circuits, situation, memory, action) -> what each of them would show. Pure, batched.

The true vehicle is a fleet of one; a grader asks the same of every suspect at once. Nothing is
looked up: every reading comes from a solution with the instrument in the circuit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sim.access import Price, price
from sim.action import Action
from sim.circuit import Circuit
from sim.effects import HEATING_SECONDS, effect_holds, visible_signs, warmth
from sim.handling import check, handled
from sim.instruments import jumper, lamp, multimeter
from sim.network import (
    BLACK,
    JUMPER,
    METER,
    METER_FUSE,
    METER_LAMP,
    RED,
    Floats,
    Ints,
    configured,
    stack_rows,
)
from sim.situation import Memory, Situation
from sim.solver.laws import SOLVED
from sim.solver.steady import Lanes, Solution, Solver

FLOATING_SHARE = (
    0.9  # of a meter's own test voltage: behind more than 90 Mohm nothing holds the wire
)
FLOATING_VOLTS = 3.0  # V: behind more than 90 Mohm a 10 Mohm meter shows under a tenth of 30 V
NEVER_HARM = ("set", "listen", "wait", "plug", "insert")  # what then blows, the fault has blown


@dataclass(frozen=True, slots=True)
class Fleet:
    """Variants of one circuit (faults, values) that share a solver; `rows` is (V, E, 5)."""

    solver: Solver
    circuits: tuple[Circuit, ...]
    rows: Floats

    @classmethod
    def of(cls, circuits: Sequence[Circuit], solver: Solver | None = None) -> Fleet:
        """Gather variants; the solver is made from the first if none is given."""
        return cls(solver or Solver.of(circuits[0]), tuple(circuits), stack_rows(circuits))

    def fresh_memory(self, situation: Situation | None = None) -> Memory:
        """Return the memory of vehicles just handed over: what blows by itself has blown.

        `situation` is the bench at hand-over; every control in its first position if not given.
        """
        at_hand_over = (situation or Situation()).configuration
        rows = configured(self.circuits[0], self.solver.network, self.rows, at_hand_over)
        solution = self.solver.solve(rows, self.solver.lanes(np.arange(len(self.circuits))))
        return Memory(solution.closed, solution.blown)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What every variant shows: `numbers` in SI (inf for OL) or `words`; neither for mere handling.

    Attributes
    ----------
    numbers : float array (V,) or None
    floating : bool array (V,)
        Where a lead touches a wire that nothing holds at any voltage.
    words : tuple of str, one a variant, or None
    harm : tuple of tuples of str
        What each variant lost by this action.
    unsolved : int array
        Variants that have no steady state now.
    """

    numbers: Floats | None
    floating: np.ndarray
    words: tuple[str, ...] | None
    harm: tuple[tuple[str, ...], ...]
    unsolved: Ints


@dataclass(frozen=True, slots=True)
class Observation:
    """An action's price, how the bench and the vehicles stand after it, and what was shown."""

    price: Price
    situation: Situation
    memory: Memory
    outcome: Outcome


def observe(fleet: Fleet, situation: Situation, memory: Memory, action: Action) -> Observation:
    """Do one action on every variant.

    Raises
    ------
    ActionError
        The action cannot be done at the bench as it stands.
    """
    circuit = fleet.circuits[0]
    check(circuit, situation, action)
    cost = price(circuit, situation, action)
    after = handled(circuit, situation, action, cost)
    view = _View(fleet, after, memory, action)
    numbers, words = view.show()
    harm = _harm(fleet, view.fitted, view.memory, action)
    unsolved = np.flatnonzero(view.solution.status != SOLVED)
    outcome = Outcome(numbers, view.floating, words, harm, unsolved)
    return Observation(cost, after, view.memory, outcome)


def _harm(
    fleet: Fleet, before: Memory, after: Memory, action: Action
) -> tuple[tuple[str, ...], ...]:
    names = fleet.solver.network.fuse_names
    words = {METER_FUSE: "the meter's fuse has blown", JUMPER: "the jumper's fuse has blown"}
    lost = []
    for old, new in zip(before.blown, after.blown, strict=True):
        gone = [names[index] for index in np.flatnonzero(new & ~old & 1)]
        if action.verb in NEVER_HARM:
            gone = [name for name in gone if name in words]
        lost.append(tuple(words.get(name, f"{name} has blown") for name in gone))
    return tuple(lost)


class _View:
    """One action's solutions on every variant, and what they show."""

    def __init__(self, fleet: Fleet, situation: Situation, memory: Memory, action: Action) -> None:
        self.fleet, self.situation, self.before, self.action = fleet, situation, memory, action
        self.circuit, self.network = fleet.circuits[0], fleet.solver.network
        self.count = len(fleet.circuits)
        self.rows = configured(self.circuit, self.network, fleet.rows, situation.configuration)
        self.floating = np.zeros(self.count, dtype=bool)
        self.fitted = self._fit(memory)
        self.memory = self.fitted
        if action.verb not in ("measure", "lamp"):  # leads change nothing until they are on
            self.solution = self._solve(self.fitted)
            self.memory = Memory(self.solution.closed, self.solution.blown)

    def _fit(self, memory: Memory) -> Memory:
        """Put the new fuse in, if the action does: a whole one, whatever was there before."""
        if self.action.verb != "renew":
            return memory
        blown = memory.blown.copy()
        blown[:, self.network.fuse_names.index(self.action.target)] = 0
        return Memory(memory.closed, blown)

    def _solve(
        self,
        memory: Memory,
        element: str = "",
        row: Floats | None = None,
        variants: Ints | None = None,
    ) -> Solution:
        which = np.arange(self.count) if variants is None else variants
        lanes = self.fleet.solver.lanes(which)
        lanes = replace(lanes, closed=memory.closed[which], blown=memory.blown[which])
        self._put_jumper(lanes)
        if row is not None:
            index = (METER, METER_LAMP, METER_FUSE, JUMPER).index(element)
            lanes.instruments[:, index, : row.shape[-1]] = row
            for lead, point in ((RED, self.situation.red), (BLACK, self.situation.black)):
                lanes.attached[:, (RED, BLACK).index(lead)] = self.network.node(point)
        return self.fleet.solver.solve(self.rows, lanes)

    def _put_jumper(self, lanes: Lanes) -> None:
        if self.situation.bridge:
            lanes.instruments[:, 3, :3] = (1.0 / jumper.RESISTANCE, 0.0, jumper.FUSE)
            for end, point in enumerate(self.situation.bridge):
                lanes.attached[:, 2 + end] = self.network.node(point)

    def _with_instrument(self, element: str, row: Floats) -> Solution:
        """Solve with an instrument between the leads; what it blows stays blown."""
        solution = self._solve(self.memory, element, row)
        self.solution = solution
        self.memory = Memory(self.memory.closed, solution.blown)
        return solution

    def show(self) -> tuple[Floats | None, tuple[str, ...] | None]:
        """Return (numbers, words) of the action; both None for mere handling."""
        verb = self.action.verb
        if verb == "measure":
            return self._measure()
        shows = {
            "lamp": self._lamp,
            "look": self._look,
            "feel": self._feel,
            "listen": self._listen,
            "watch": self._watch,
        }
        if verb in shows:
            return None, shows[verb]()
        if verb == "clamp":
            half = self.network.element(f"{self.action.target} first half")
            return self.solution.current[:, half].copy(), None
        return None, None

    def _measure(self) -> tuple[Floats | None, tuple[str, ...] | None]:
        function = self.action.target
        if function == "volts":
            return self._volts(), None
        if function == "amps":
            row = np.array([1.0 / multimeter.SHUNT, 0.0, multimeter.SHUNT_FUSE])
            solution = self._with_instrument(METER_FUSE, row)
            return solution.current[:, self.network.element(METER_FUSE)].copy(), None
        if function == "diode":
            return self._tested(np.full(self.count, multimeter.DIODE_SERIES)), None
        ohms = self._ohms()
        if function == "ohms":
            return ohms, None
        return None, tuple("beeps" if value < multimeter.BEEP else "silent" for value in ohms)

    def _volts(self) -> Floats:
        siemens = 1.0 / multimeter.INPUT_RESISTANCE
        meter = self.network.element(METER)
        volts = self._with_instrument(METER, np.array([siemens, 0.0])).drop[:, meter].copy()
        low = np.flatnonzero(np.abs(volts) < FLOATING_VOLTS)
        pushed = self._solve(self.memory, METER, np.array([siemens, 1.0]), low).drop[:, meter]
        self.floating[low] = np.abs(pushed - volts[low]) > FLOATING_SHARE
        return volts

    def _tested(self, series: Floats) -> Floats:
        """Return the drop at the jacks, the meter's own voltage behind a series resistance."""
        rows = np.zeros((self.count, 2))
        rows[:, 0], rows[:, 1] = 1.0 / series, multimeter.TEST_VOLTAGE
        drop = self._with_instrument(METER, rows).drop[:, self.network.element(METER)]
        return drop.copy()

    def _ohms(self) -> Floats:
        """Find the range with the highest one, as a meter does, then read in it."""
        series, scales = np.array(multimeter.SERIES), np.array(multimeter.FULL_SCALE)
        top = np.full(self.count, series[-1])
        guess = multimeter.ohms_from_drop(self._tested(top), top)
        choice = np.searchsorted(scales, np.maximum(guess, 0.0), side="right")
        for _again in scales:
            reading = np.minimum(choice, len(scales) - 1)
            ohms = multimeter.ohms_from_drop(self._tested(series[reading]), series[reading])
            over = (ohms >= scales[reading]) & (choice < len(scales) - 1)
            if not over.any():
                break
            choice[over] += 1
        return np.where(ohms < scales[reading], ohms, np.inf)

    def _lamp(self) -> tuple[str, ...]:
        solution = self._with_instrument(METER_LAMP, np.array([1.0, 0.0, *lamp.SHAPE]))
        number = self.network.element(METER_LAMP)
        power = solution.drop[:, number] * solution.current[:, number]
        return tuple(lamp.glow(share) for share in power / lamp.POWER)

    def _look(self) -> tuple[str, ...]:
        names = np.array(self.network.fuse_names)
        return tuple(
            visible_signs(
                variant, self.action.target, set(names[blown == 1].tolist()), self.situation.renewed
            )
            for variant, blown in zip(self.fleet.circuits, self.memory.blown, strict=True)
        )

    def _feel(self) -> tuple[str, ...]:
        solution = self.solution
        if self.situation.rested < HEATING_SECONDS:
            solution = replace(solution, current=np.zeros_like(solution.current))
        return tuple(
            warmth(self.network, solution, variant, lane, self.action.target)
            for lane, variant in enumerate(self.fleet.circuits)
        )

    def _listen(self) -> tuple[str, ...]:
        relay = self.network.relay_names.index(self.action.target)
        moved = self.before.closed[:, relay] != self.memory.closed[:, relay]
        return tuple("clicks" if click else "silent" for click in moved)

    def _watch(self) -> tuple[str, ...]:
        effect = self.circuit.effects[self.action.target]
        holds = effect_holds(self.circuit, self.network, self.solution, effect)
        if self.situation.rested < effect.hold_seconds:
            holds = np.zeros_like(holds)
        return tuple("yes" if yes else "no" for yes in holds)
