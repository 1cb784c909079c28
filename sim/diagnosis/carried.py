"""What the control units of every variant carry from one action to the next: codes, held outputs.

At hand-over the customer has driven: every unit has had two cycles of a minute with the key on (or,
where no control has a position "run", as the vehicle stands), so that what is wrong all the time is
confirmed. From then on each action's time is judged as the vehicle stood meanwhile, and a new cycle
begins whenever the key is turned on.

While a scan tool holds an output it says "tester present" by itself, so that the hold lasts for as
long as the unit is awake.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sim.circuit import Circuit
from sim.diagnosis.memory import FreezeFrame, begin_cycle, observe
from sim.diagnosis.sampling import Moment, Sample
from sim.diagnosis.unit import Hold, Session, UnitState, released
from sim.diagnosis.vehicle import SAMPLES, parts_with_unit
from sim.modules.loop import Settled
from sim.modules.told import ModuleTold, told
from sim.modules.wiring import Modules
from sim.network import Floats, Network
from sim.solver.lanes import Solution

Carried = tuple[tuple[UnitState, ...], ...]
DRIVEN, CYCLES = 60.0, 2  # s a cycle, and cycles before hand-over; ours
DRIVING = {("key", "run"), ("ignition", "on")}  # controls, and where they stand while one drives


@dataclass(frozen=True, slots=True)
class Solved:
    """All variants at one moment: what is solved, and what the control units with rules tell."""

    circuits: Sequence[Circuit]
    network: Network
    solution: Solution
    told: Mapping[str, ModuleTold]


def solved_at(
    circuits: Sequence[Circuit],
    modules: Modules,
    solver: tuple[Network, Floats],
    solution: Solution,
    clock: float,
) -> Solved:
    """Return all variants as solved, one lane each.

    Parameters
    ----------
    solver : Network, and float array (V, E, 13)
        What was solved, with which rows.
    clock : float
        Seconds on the bench's clock.
    """
    network, rows = solver
    found = told(modules, rows, solution, clock) if isinstance(solution, Settled) else {}
    return Solved(circuits, network, solution, found)


def samples(solved: Solved, lane: int, names: Sequence[str] = ()) -> tuple[Sample, ...]:
    """Return what each unit of one variant takes in, in the order of its parts.

    `names` are those of the units, if they are known: the same in all variants.
    """
    circuit = solved.circuits[lane]
    moment = Moment(circuit, solved.network, solved.solution, lane, solved.told)
    parts = [circuit.parts[name] for name in names] or parts_with_unit(circuit)
    return tuple(SAMPLES[part.kind](moment, part) for part in parts)


def filled(unit: UnitState, sample: Sample) -> UnitState:
    """Return a unit with what it takes in, reachable if it is awake."""
    return replace(
        unit,
        reachable=sample.awake,
        values={**unit.values, **sample.values},
        data=tuple(replace(d, value=sample.data.get(d.identifier, d.value)) for d in unit.data),
        outputs=tuple(
            replace(o, value=sample.outputs.get(o.identifier, o.value)) for o in unit.outputs
        ),
    )


def passed(carried: Carried, solved: Solved, seconds: float, clock: float) -> Carried:
    """Return what is carried after a while in which every variant stood as solved.

    Parameters
    ----------
    clock : float
        Seconds on the bench's clock at its end.
    """
    if not carried or seconds <= 0.0:
        return carried
    names = [part.name for part in parts_with_unit(solved.circuits[0])]
    return tuple(
        tuple(
            _judged(unit, sample, seconds, clock)
            for unit, sample in zip(units, samples(solved, lane, names), strict=True)
        )
        for lane, units in enumerate(carried)
    )


def _judged(unit: UnitState, sample: Sample, seconds: float, clock: float) -> UnitState:
    """Return a unit after a while; what it measures is kept in freeze frames alone."""
    if not sample.awake:
        return _asleep(unit, clock)
    fails = any(sample.failing.values())  # else nothing is frozen
    frame = FreezeFrame(max(clock, 0.0), {**unit.values, **sample.values} if fails else {})
    memory = observe(unit.memory, sample.failing, sample.holding, seconds, frame)
    heard = clock if unit.session is Session.EXTENDED else unit.last_heard
    if unit.reachable and heard == unit.last_heard and memory == unit.memory:
        return unit
    return replace(unit, reachable=True, memory=memory, last_heard=heard)


def _asleep(unit: UnitState, clock: float) -> UnitState:
    held = any(one.hold is not Hold.UNIT for one in unit.outputs)
    if held or unit.reachable or unit.session is not Session.DEFAULT or unit.running(clock):
        return released(replace(unit, reachable=False), clock)
    return unit


def begun(carried: Carried) -> Carried:
    """Return what is carried when the key is turned on."""
    return tuple(
        tuple(replace(unit, memory=begin_cycle(unit.memory)) for unit in units) for units in carried
    )


def driven(units: tuple[UnitState, ...], solved: Solved) -> Carried:
    """Return what units carry that have been driven with, as solved, before hand-over."""
    carried: Carried = tuple(units for _circuit in solved.circuits)
    for cycle in range(CYCLES):
        if cycle:
            carried = begun(carried)
        carried = passed(carried, solved, DRIVEN, 0.0)
    return carried


def driving(circuit: Circuit) -> dict[str, str]:
    """Return the controls that are not at rest while one drives: the key, or the ignition."""
    return {
        name: position
        for name, control in circuit.controls.items()
        for position in control.positions
        if (name, position) in DRIVING
    }
