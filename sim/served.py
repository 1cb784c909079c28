"""One vehicle that stands on the bench while other programs talk to its control units.

Before each request time passes as on the bench, the circuit is solved as it stands, with whatever
outputs a tester holds, and the units get what they measure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from sim.circuit import Circuit
from sim.diagnosis.bus import DiagnosticBus
from sim.diagnosis.unit import UnitState
from sim.doing import Doing
from sim.fleet import Fleet
from sim.presence import Entry, at_gateway, present
from sim.situation import Memory, Situation
from sim.view import View

ASKED = Doing("scan", "codes")


@dataclass(slots=True)
class Served:
    """A vehicle and how it stands; a thin mutable shell.

    Attributes
    ----------
    fleet : Fleet
        Of one variant.
    situation : Situation
        Controls and all; its clock is that of the last request.
    memory : Memory
    entry : Entry
        Where testers come in.
    begun : float or None
        Clock of the testers at the first request, which is that of the hand-over.
    """

    fleet: Fleet
    situation: Situation
    memory: Memory
    entry: Entry
    begun: float | None = field(default=None)

    @classmethod
    def of(cls, circuit: Circuit, situation: Situation) -> Served:
        """Put a vehicle on the bench."""
        fleet = Fleet.of([circuit])
        return cls(fleet, situation, fleet.fresh_memory(situation), at_gateway(circuit))

    def units(self) -> tuple[UnitState, ...]:
        """Return its control units as they are now."""
        return present(self._view(self.situation), self.entry)[0]

    def refresh(self, bus: DiagnosticBus, clock: float) -> None:
        """Bring the units on a bus up to the testers' clock."""
        begun = clock if self.begun is None else self.begun
        self.begun = begun
        carried = (_shifted(unit, -begun) for unit in self._carried(bus.units))
        self.memory = replace(self.memory, units=(tuple(carried),))
        self.memory = self._view(self.situation).commanded(self.memory)
        later = replace(self.situation, clock=max(clock - begun, self.situation.clock))
        view = self._view(later)
        view.pass_before_reading()
        self.situation, self.memory = later, view.memory
        for unit in present(view, self.entry)[0]:
            bus.put(_kept(_shifted(unit, begun), bus.unit(unit.name)))

    def _carried(self, units: Iterable[UnitState]) -> tuple[UnitState, ...]:
        by_name = {unit.name: unit for unit in units}
        return tuple(by_name[unit.name] for unit in self.memory.units[0])

    def _view(self, situation: Situation) -> View:
        return View(self.fleet, self.situation, situation, self.memory, ASKED, leads=False)


def _kept(unit: UnitState, before: UnitState) -> UnitState:
    """Return a unit with the session it is in: testers' clocks are not the bench's."""
    return replace(unit, session=before.session, last_heard=before.last_heard)


def _shifted(unit: UnitState, seconds: float) -> UnitState:
    """Return a unit whose routines are told by another clock."""
    if not any(one.started is not None for one in unit.routines):
        return unit
    moved = tuple(
        replace(
            one,
            started=None if one.started is None else one.started + seconds,
            stopped=None if one.stopped is None else one.stopped + seconds,
        )
        for one in unit.routines
    )
    return replace(unit, routines=moved)
