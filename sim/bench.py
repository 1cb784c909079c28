"""The vehicle in front of you: a thin mutable shell over situation and observe."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sim.action import Action, Reading
from sim.circuit import Circuit
from sim.display import shown
from sim.errors import SolveError
from sim.network import JUMPER, METER_FUSE
from sim.observe import Fleet, Observation, observe
from sim.situation import Memory, Situation
from sim.solver.steady import Solver


@dataclass(frozen=True, slots=True)
class Step:
    """One action done: what it took, what it showed, what it broke."""

    action: Action
    minutes: float
    clock: float
    reading: Reading | None
    harm: tuple[str, ...]


class Bench:
    """One vehicle with its instruments.

    Attributes
    ----------
    circuit : Circuit
        The vehicle with its faults.
    situation, memory
        How it stands; replaced, never changed in place.
    """

    def __init__(
        self, circuit: Circuit, solver: Solver | None = None, situation: Situation | None = None
    ) -> None:
        self.fleet = Fleet.of([circuit], solver)
        self.situation = situation or Situation()
        self.memory: Memory = self.fleet.fresh_memory(self.situation)

    @property
    def circuit(self) -> Circuit:
        """The vehicle with its faults."""
        return self.fleet.circuits[0]

    def try_out(self, action: Action) -> Observation:
        """Return what an action would show, leaving the bench as it stands."""
        return observe(self.fleet, self.situation, self.memory, action)

    def do(self, action: Action) -> Step:
        """Do an action.

        Raises
        ------
        ActionError
            It cannot be done as the bench stands; nothing has changed.
        SolveError
            The vehicle has no steady state after it; nothing has changed. It is a `RulesError`
            where rules of its control modules never rest.
        """
        seen = self.try_out(action)
        if len(seen.outcome.unsolved):
            restless = seen.outcome.restless
            if restless and restless[0]:
                raise restless[0]
            message = f"{self.circuit.name}: no steady state after {action.to_json()}"
            if action.verb == "scope":  # or a long curve of something fast: too many steps
                message += ", or more than a curve can follow; choose a shorter screen"
            raise SolveError(message)
        self.situation, self.memory = seen.situation, seen.memory
        reading = shown(action, seen.situation, seen.outcome)
        return Step(action, seen.price.minutes, seen.situation.clock, reading, seen.outcome.harm[0])

    def mend(self, circuit: Circuit) -> None:
        """Put another state of the same vehicle on the bench, with whole fuses.

        What the instruments have blown of their own stays blown.
        """
        self.fleet = Fleet.of([circuit], self.fleet.solver)
        names = self.fleet.solver.network.fuse_names
        blown = self.memory.blown.copy()
        blown[:, [name not in (METER_FUSE, JUMPER) for name in names]] = 0
        self.memory = replace(self.memory, blown=blown)
