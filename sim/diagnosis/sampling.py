"""What a control unit takes from the solved circuit at one moment: the vehicle's side of a server.

A family of parts with a diagnostic server says two things: which unit its part is (`UnitOf`), and
what that unit measures, finds wrong and works under in a solution (`SampleOf`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from sim.circuit import Circuit, Part
from sim.diagnosis.codes import Code
from sim.diagnosis.unit import UnitState
from sim.modules.told import ModuleTold
from sim.network import Network
from sim.solver.lanes import Solution


@dataclass(frozen=True, slots=True)
class Moment:
    """One variant at one moment.

    Attributes
    ----------
    circuit : Circuit
    network : Network
    solution : Solution
    lane : int
        Which lane of the solution.
    told : mapping of str to ModuleTold
        What the control units with rules tell, by name.
    """

    circuit: Circuit
    network: Network
    solution: Solution
    lane: int
    told: Mapping[str, ModuleTold] = field(default_factory=dict)

    def volts(self, point: str) -> float:
        """Return the voltage of a point against the body, in V."""
        return float(self.solution.volts[self.lane, self.network.node(point)])


@dataclass(frozen=True, slots=True)
class Sample:
    """What a unit takes in.

    Attributes
    ----------
    awake : bool
        Whether it has power and ground and does not sleep; if not it judges nothing.
    values : mapping
        Of service 01, as measured, in SI, by parameter id.
    data : mapping
        Of the maker's own data, in SI, by identifier.
    outputs : mapping
        What outputs do, in SI, by identifier.
    failing : mapping of Code to bool
        Results of the monitors that judge now.
    holding : frozenset of str
        Conditions that hold.
    """

    awake: bool
    values: Mapping[int, float] = field(default_factory=dict)
    data: Mapping[int, float] = field(default_factory=dict)
    outputs: Mapping[int, float] = field(default_factory=dict)
    failing: Mapping[Code, bool] = field(default_factory=dict)
    holding: frozenset[str] = frozenset()


#: From a circuit, a part, and its place among the units, the unit.
UnitOf = Callable[[Circuit, Part, int], UnitState]
SampleOf = Callable[[Moment, Part], Sample]
