"""Slow time: what changes between one look at the vehicle and the next, by the bench's clock.

What has a memory longer than a solution: the charge of each battery, the heat that a fuse's strip
has taken up, how warm each part is, and how long ago each unit that falls asleep was last woken.

- A battery's EMF follows its charge (`sim.parts.battery`), and its charge what it has given:
  ``q = q0 - integral of I dt``. While nothing is touched the circuit is solved again every few
  minutes, so that the discharge follows its own voltage. How often depends on the wait alone: a
  vehicle shows the same whether it is looked at alone or among others.
- A unit falls asleep a while after the last of these: a control that wakes it left its first
  position or came back to it, supply came back to its terminal 30, its wake terminal was live.
- How warm parts get, and cool, is `sim.slowheat`; how warm an engine makes its sensors,
  `sim.slowtemperature`.
- A fuse is judged by the current that would open it within the time an action takes, less the
  heat its strip has taken up before (see `sim.slowfuses`).

All arrays have a row for every variant of the vehicle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from sim.circuit import Circuit, Part
from sim.modules.loop import held_after
from sim.network import CONDUCTANCE, EMF, OTHER, TRIGGER, Floats, Ints, Network, owner_of
from sim.parts.battery import open_circuit_voltage
from sim.parts.family import Trigger
from sim.parts.sleeper import wakers
from sim.situation import Memory, Situation
from sim.slowfuses import Fuses
from sim.slowheat import Warmth
from sim.slowtemperature import Temperatures
from sim.solver.steady import Solution

STEP, STEP_WITH_UNITS = 600.0, 60.0  # s between two solutions; shorter where units fall asleep
MOST_STEPS = 400  # solutions for one wait
AWAKE_VOLTS = 6.0  # V at terminal 30; ISO 16750-2 code A: units work from 6 V
LONG_AGO = -1e12  # s, for a unit that fell asleep before hand-over


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit that falls asleep: elements that differ then, nodes it looks at, its habits.

    `wake` is -1 without a wake terminal; `after_seconds` infinite if it never sleeps by itself.
    """

    name: str
    elements: tuple[int, ...]
    supply: int
    wake: int
    after_seconds: float
    woken_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Slow:
    """What of a fleet changes slowly.

    Attributes
    ----------
    batteries : int array (B,)
        Their elements.
    charge, capacity : float arrays (V, B)
        State of charge (0 to 1) at hand-over, and capacity in C.
    units : tuple of Unit
    """

    batteries: Ints
    charge: Floats
    capacity: Floats
    units: tuple[Unit, ...]
    fuses: Fuses
    warmth: Warmth
    temperatures: Temperatures

    @classmethod
    def of(cls, network: Network, circuits: Sequence[Circuit]) -> Slow:
        """Find what changes slowly in these variants of a circuit."""
        names = [part.name for part in circuits[0].parts.values() if part.kind == "battery"]
        found = [[circuit.parts[name] for name in names] for circuit in circuits]
        shape = (len(circuits), len(names))
        return cls(
            np.array([network.element(name) for name in names], dtype=np.int64),
            np.array([[_charge(p) for p in row] for row in found]).reshape(shape),
            np.array([[p.number("capacity") for p in row] for row in found]).reshape(shape),
            _units(network, circuits[0]),
            Fuses.of(network, circuits[0]),
            Warmth.of(network, circuits),
            Temperatures.of(network, circuits),
        )

    def fresh(self, closed: Ints, blown: Ints) -> Memory:
        """Return the memory of vehicles just handed over: nothing drawn yet, all units asleep."""
        count = len(closed)
        return Memory(
            closed,
            blown,
            np.zeros(blown.shape),
            np.zeros((count, len(self.batteries))),
            np.full((count, len(self.units)), LONG_AGO),
            np.zeros((count, len(self.units)), dtype=np.int64),
            self.warmth.cold(count),
            np.zeros((count, len(self.warmth.parts))),
            self.temperatures.start,
        )

    def charge_now(self, memory: Memory) -> Floats:
        """Return the state of charge (V, B), from 0 to 1."""
        left: Floats = np.clip(self.charge - memory.drawn / self.capacity, 0.0, 1.0)
        return left

    def awake(
        self, circuit: Circuit, situation: Situation, memory: Memory
    ) -> npt.NDArray[np.bool_]:
        """Return which units (V, U) are awake at the clock of the situation."""
        awake = np.zeros(memory.woken.shape, dtype=bool)
        for number, unit in enumerate(self.units):
            recent = situation.clock - memory.woken[:, number] < unit.after_seconds
            awake[:, number] = recent | _held_awake(circuit, situation, unit)
        return awake

    def present(
        self,
        circuit: Circuit,
        rows: Floats,
        situation: Situation,
        memory: Memory,
        seconds: float = np.inf,
    ) -> Floats:
        """Return rows (V, E, 13) as they are at this hour: charge shows in EMF, sleep in siemens.

        The rows given are those of hand-over; they are not changed. Fuses open at what would open
        them within `seconds`; for ever by default.
        """
        rows = rows.copy()
        self.fuses.set_limits(rows, memory.heat, seconds)
        self.temperatures.present(rows, situation, memory)
        now = open_circuit_voltage(self.charge_now(memory))
        rows[:, self.batteries, EMF] += now - open_circuit_voltage(self.charge)
        asleep = ~self.awake(circuit, situation, memory)
        for number, unit in enumerate(self.units):
            for element in unit.elements:
                mine = asleep[:, number] & (rows[:, element, TRIGGER] == Trigger.ASLEEP)
                rows[mine, element, CONDUCTANCE] = rows[mine, element, OTHER]
        return rows

    def drained(
        self, rows: Floats, situation: Situation, memory: Memory, solution: Solution, seconds: float
    ) -> Memory:
        """Return the memory after currents have flowed for a while.

        A battery's current counts from + to -, so what it gives is negative. `rows` are those of
        hand-over. What a breaker that comes and goes makes of it is `sim.slowbreakers`.
        """
        drawn = self.within(memory.drawn - solution.current[:, self.batteries] * seconds)
        heat, blown = self.fuses.after(rows, memory.heat, memory.blown, solution, seconds)
        memory = replace(memory, drawn=drawn, heat=heat, blown=blown)
        memory = self.warmth.after(memory, solution, seconds)
        return self.temperatures.after(memory, situation, seconds)

    def within(self, drawn: Floats, lanes: Ints | slice = slice(None)) -> Floats:
        """Return what batteries of lanes have given, in C; none is emptied or filled too far."""
        charge, capacity = self.charge[lanes], self.capacity[lanes]
        return np.clip(drawn, (charge - 1.0) * capacity, charge * capacity)

    def powered(self, memory: Memory, solution: Solution) -> Memory:
        """Return the memory with which units have supply at hand-over."""
        nodes = [unit.supply for unit in self.units]
        return replace(memory, powered=(solution.volts[:, nodes] >= AWAKE_VOLTS).astype(np.int64))

    def woken(
        self,
        circuit: Circuit,
        before: Situation,
        after: Situation,
        memory: Memory,
        solution: Solution,
    ) -> Memory:
        """Return the memory with units woken by what has just been done."""
        if not self.units:
            return memory
        woken, powered = memory.woken.copy(), memory.powered.copy()
        for number, unit in enumerate(self.units):
            supplied = solution.volts[:, unit.supply] >= AWAKE_VOLTS
            touched = any(
                before.position(circuit, name) != after.position(circuit, name)
                for name in unit.woken_by
            )
            wakes = touched | (supplied & (powered[:, number] == 0))
            woken[wakes, number] = after.clock
            woken[_told(unit, solution), number] = after.clock
            powered[:, number] = supplied
        return replace(memory, woken=woken, powered=powered)

    def kept_awake(self, memory: Memory, solution: Solution, clock: float) -> Memory:
        """Return the memory at a later clock, units with a live wake terminal still awake."""
        woken = memory.woken.copy()
        for number, unit in enumerate(self.units):
            woken[_told(unit, solution), number] = clock
        return replace(memory, woken=woken)


def let_pass(
    slow: Slow,
    situation: Situation,
    memory: Memory,
    solve: Callable[[Situation, Memory, float], Solution],
    carry: Callable[[Memory, Solution, float, float], Memory],
    seconds: float,
) -> tuple[Memory, Solution]:
    """Let time pass with nothing touched; `situation` is the bench when it begins.

    Parameters
    ----------
    solve : callable
        (situation, memory, seconds) -> the steady state at that hour, for so long.
    carry : callable
        (memory, solution, clock, seconds) -> the memory after currents have flowed for so long.
    seconds : float

    Returns
    -------
    Memory, Solution
        As they are at the end.
    """
    quick = slow.units or slow.temperatures.sensors or memory.modules
    step = STEP_WITH_UNITS if quick else STEP
    steps = min(MOST_STEPS, math.ceil(seconds / step))
    each = seconds / steps
    solution = solve(situation, memory, each)
    for left in reversed(range(steps)):
        memory = after_solution(memory, solution)
        memory = carry(memory, solution, situation.clock, each)
        situation = replace(situation, clock=situation.clock + each)
        memory = slow.kept_awake(memory, solution, situation.clock)
        solution = solve(situation, memory, each if left else 0.0)
    return after_solution(memory, solution), solution


def after_solution(memory: Memory, solution: Solution) -> Memory:
    """Return the memory with relays, fuses and modules as a solution leaves them."""
    held = held_after(solution, memory.modules)
    return replace(memory, closed=solution.closed, blown=solution.blown, modules=held)


def _told(unit: Unit, solution: Solution) -> npt.NDArray[np.bool_]:
    """Return on which variants the unit's wake terminal is live."""
    if unit.wake < 0:
        return np.zeros(len(solution.volts), dtype=bool)
    live: npt.NDArray[np.bool_] = solution.volts[:, unit.wake] >= AWAKE_VOLTS
    return live


def _held_awake(circuit: Circuit, situation: Situation, unit: Unit) -> bool:
    """Tell whether a control that wakes the unit stands in another than its first position."""
    return any(
        situation.position(circuit, name) != circuit.controls[name].positions[0]
        for name in unit.woken_by
    )


def _charge(battery: Part) -> float:
    """Return a battery's state of charge at hand-over."""
    found = battery.severity("discharged")
    return battery.number("charge") if found is None else found


def _units(network: Network, circuit: Circuit) -> tuple[Unit, ...]:
    sleeping: dict[str, list[int]] = {}
    for number, element in enumerate(network.elements):
        if element.trigger is Trigger.ASLEEP:
            sleeping.setdefault(owner_of(element), []).append(number)
    units = []
    for name, elements in sleeping.items():
        part = circuit.parts[name]
        units.append(
            Unit(
                name,
                tuple(elements),
                network.node(f"{name}.30b"),
                network.node(f"{name}.wakeb") if part.values.get("wake pin") else -1,
                part.number("falls asleep after") or np.inf,
                tuple(word for word in wakers(part) if word in circuit.controls),
            )
        )
    return tuple(units)
